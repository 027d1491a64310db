package checked

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// row is a line of the table: the computations, and the tests that compare them with something from
// outside.
type row struct {
	computations, tests []string
	line                string
}

var (
	packageHeading = regexp.MustCompile("^## `([a-z/]+)`$")
	quoted         = regexp.MustCompile("`([^`]+)`")
)

// readTable reads the rows of checks.md, by package.
func readTable(t *testing.T) map[string][]row {
	t.Helper()
	text, err := os.ReadFile("checks.md")
	require.NoError(t, err)
	table, name := map[string][]row{}, ""
	for _, line := range strings.Split(string(text), "\n") {
		if m := packageHeading.FindStringSubmatch(line); m != nil {
			name = m[1]
			continue
		}
		cells := strings.Split(strings.Trim(line, "| "), "|")
		if name == "" || !strings.HasPrefix(line, "|") || strings.HasPrefix(line, "|---") || strings.HasPrefix(line, "| computation") {
			continue
		}
		require.Len(t, cells, 4, "%s: computation, outside, tolerance and test: %s", name, line)
		for k, cell := range cells {
			require.NotEmpty(t, strings.TrimSpace(cell), "%s: cell %d of %s", name, k+1, line)
		}
		table[name] = append(table[name], row{inQuotes(cells[0]), inQuotes(cells[3]), line})
	}
	return table
}

func inQuotes(cell string) (names []string) {
	for _, m := range quoted.FindAllStringSubmatch(cell, -1) {
		names = append(names, m[1])
	}
	return names
}

// Every computation that the library exports is in checks.md with its check from outside, and every
// name in checks.md exists.
func TestEveryComputationHasAnOutsideCheck(t *testing.T) {
	s, table := parse(t, library...), readTable(t)
	for name := range table {
		assert.Contains(t, library, name, "a heading of the table")
	}
	for _, name := range library {
		t.Run(name, func(t *testing.T) {
			var listed []string
			for _, r := range table[name] {
				require.NotEmpty(t, r.computations, "names what is computed: %s", r.line)
				require.NotEmpty(t, r.tests, "names a test: %s", r.line)
				listed = append(listed, r.computations...)
				checkRow(t, s, name, r)
			}
			for _, c := range s.computations(name) {
				assert.Contains(t, listed, c, "is exported and returns numbers: check it against something from outside and say so in checks.md")
			}
			slices.Sort(listed)
			assert.Len(t, slices.Compact(slices.Clone(listed)), len(listed), "each stands in one row")
		})
	}
}

// checkRow finds the computations and tests of a row, and checks that each computation is named in
// at least one of the tests.
func checkRow(t *testing.T, s source, name string, r row) {
	t.Helper()
	reached := map[string]bool{}
	for _, test := range r.tests {
		in := name
		if dot := strings.LastIndexByte(test, '.'); dot >= 0 {
			in, test = test[:dot], test[dot+1:]
		}
		p, known := s.packages[in]
		if !assert.True(t, known, "package %s: %s", in, r.line) || !assert.True(t, p.tests[test] != nil, "%s is a test that is not there: %s", test, r.line) {
			continue
		}
		assert.True(t, strings.HasPrefix(test, "Test"), "%s is no test: %s", test, r.line)
		for _, c := range r.computations {
			word := c[max(0, strings.LastIndexByte(c, '.')):] // a function, or a method where it is called
			if s.packages[name].fields[c] {
				word = word[1:]
			}
			reached[c] = reached[c] || p.mentions(test, word)
		}
	}
	for _, c := range r.computations {
		if assert.True(t, s.packages[name].exported[c] != nil || s.packages[name].fields[c], "%s is not exported by %s: %s", c, name, r.line) {
			assert.True(t, reached[c], "none of the tests named uses %s: %s", c, r.line)
		}
	}
}

// The rules find the right names in small cases of this package.
func TestComputationsAreFoundBySyntax(t *testing.T) {
	s := parse(t, "response", "smoothing", "sweep")
	found := s.computations("response")
	for _, c := range []string{"Curve.At", "NewCurve", "Transfer.At", "Impulse.Delay", "Impulse.Decays", "Figure.Interval", "Noise.Averaged", "LogGrid"} {
		assert.Contains(t, found, c)
	}
	for _, c := range []string{"Band.Contains", "Band.String", "Impulse.Peak", "Figure.Known", "Scope.String", "WriteCurve", "DefaultWindow"} {
		assert.NotContains(t, found, c)
	}
	assert.Contains(t, s.computations("sweep"), "Sweep.InverseSpectrum")
	assert.Contains(t, s.packages["response"].fields, "Deconvolved.Unexplained")
	p := s.packages["response"]
	assert.True(t, p.mentions("TestCurveEqualsOctave", "MeanOver"), "in the test itself")
	assert.True(t, p.mentions("TestGroupDelayOfABiquad", "Frequency"), "in transferOf, a function that it uses")
	assert.False(t, p.mentions("TestCurveEqualsOctave", "GroupDelay"))
}
