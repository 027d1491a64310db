package importing

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tools are common programs that pages use.
var tools = []string{"cd", "mkdir", "find", "sort", "grep", "jq", "split", "printf", "xargs", "parallel", "true", "cat", "sqlite3"}

// shell splits a block into simple commands of words; quotes hold words together, a hash begins a
// comment.
func shell(block string) [][]string {
	var commands [][]string
	var words []string
	word, inWord, quote := "", false, rune(0)
	endWord := func() {
		if inWord {
			words = append(words, word)
		}
		word, inWord = "", false
	}
	end := func() {
		if endWord(); len(words) > 0 {
			commands = append(commands, words)
		}
		words = nil
	}
	comment := false
	for _, r := range strings.ReplaceAll(block, "\\\n", " ") {
		switch {
		case comment && r != '\n':
		case quote != 0 && r == quote:
			quote = 0
		case quote == 0 && (r == '\'' || r == '"'):
			quote, inWord = r, true
		case quote != 0:
			word += string(r)
		case r == '#' && !inWord:
			comment = true
		case strings.ContainsRune("\n|&;", r):
			comment = false
			end()
		case r == '>' || r == '<':
			endWord()
			words = append(words, string(r))
		case r == ' ' || r == '\t':
			endWord()
		default:
			word, inWord = word+string(r), true
		}
	}
	end()
	return commands
}

// flagsOf returns the flags of the program in a folder.
func flagsOf(t *testing.T, folder string) []string {
	paths, err := filepath.Glob(filepath.Join(folder, "*.go"))
	require.NoError(t, err)
	var flags []string
	main := false
	for _, path := range paths {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		main = main || f.Name.Name == "main"
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			method, ok := call.Fun.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			on, ok := method.X.(*ast.Ident)
			if !ok || on.Name != "flags" && on.Name != "flag" {
				return true
			}
			at := 0
			if strings.HasSuffix(method.Sel.Name, "Var") {
				at = 1
			}
			if len(call.Args) > at+1 {
				if name, ok := call.Args[at].(*ast.BasicLit); ok {
					text, err := strconv.Unquote(name.Value)
					require.NoError(t, err)
					flags = append(flags, text)
				}
			}
			return true
		})
	}
	require.True(t, main, "%s holds no program", folder)
	return flags
}

// reader follows the commands of a page.
type reader struct {
	t     *testing.T
	root  string
	page  string
	built map[string]string // programs by name, their folders
}

func (r *reader) program(folder string, arguments []string) {
	known := flagsOf(r.t, folder)
	for _, a := range arguments {
		if name, _, _ := strings.Cut(strings.TrimLeft(a, "-"), "="); strings.HasPrefix(a, "-") {
			assert.Contains(r.t, known, name, "%s: %s has no flag %s", r.page, folder, a)
		}
	}
}

func (r *reader) command(words []string) {
	for len(words) > 0 && strings.Contains(words[0], "=") {
		words = words[1:] // a variable of the environment
	}
	if to := slices.IndexFunc(words, func(w string) bool { return w == ">" || w == "<" }); to >= 0 {
		words = words[:to]
	}
	if !assert.NotEmpty(r.t, words, r.page) {
		return
	}
	switch name := words[0]; {
	case name == "go":
		r.golang(words[1:])
	case r.built[name] != "":
		r.program(r.built[name], words[1:])
	case slices.Contains(tools, name):
	default:
		about, err := os.Stat(filepath.Join(r.root, name))
		if assert.NoError(r.t, err, "%s: who is %s?", r.page, name) {
			assert.NotZero(r.t, about.Mode()&0o111, "%s: %s cannot be run", r.page, name)
		}
	}
}

// golang checks a call of the go command: that there are such a subcommand and such flags, and the
// packages named.
func (r *reader) golang(words []string) {
	topic := []string{"help", words[0]}
	words = words[1:]
	if topic[1] == "mod" {
		topic = append(topic, words[0])
		words = words[1:]
	}
	help, err := exec.Command("go", topic...).CombinedOutput()
	require.NoError(r.t, err, "%s: go %s: %s", r.page, strings.Join(topic[1:], " "), help)
	if topic[1] != "mod" { // flags that all of these share
		for _, more := range []string{"build", "testflag"} {
			shared, err := exec.Command("go", "help", more).Output()
			require.NoError(r.t, err)
			help = append(help, shared...)
		}
	}
	output, tested := "", ""
	for i := 0; i < len(words); i++ {
		switch w := words[i]; {
		case strings.HasPrefix(w, "-"):
			name, _, _ := strings.Cut(w, "=")
			assert.True(r.t, strings.Contains(string(help), name) || topic[1] == "test" && testHasFlag(r.t, tested, strings.TrimLeft(name, "-")),
				"%s: go %s has no flag %s", r.page, topic[1], w)
			if w == "-o" {
				i++
				output = words[i]
			}
		case w == ".": // the reader's own
		case strings.HasPrefix(w, "./") && strings.HasSuffix(w, "..."):
			assert.DirExists(r.t, filepath.Join(r.root, strings.TrimSuffix(w, "...")), r.page)
		case strings.HasPrefix(w, "./"):
			folder := filepath.Join(r.root, w)
			if topic[1] == "run" {
				r.program(folder, words[i+1:])
				return
			}
			assert.DirExists(r.t, folder, r.page)
			tested = folder
			if output != "" {
				r.built["./"+output] = folder
			}
		}
	}
}

// testHasFlag reports whether the tests in a folder define a flag.
func testHasFlag(t *testing.T, folder, name string) bool {
	files, err := filepath.Glob(filepath.Join(folder, "*_test.go"))
	require.NoError(t, err)
	return slices.ContainsFunc(files, func(file string) bool {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		return regexp.MustCompile(`flag\.\w+\("` + regexp.QuoteMeta(name) + `"`).Match(text)
	})
}

// Every command on a page names programs, folders and flags that exist.
func TestCommandsOnPagesExist(t *testing.T) {
	count := 0
	for _, p := range pages(t) {
		r := &reader{t, root(t), p.name(t), map[string]string{}}
		for _, block := range p.blocks("sh") {
			for _, words := range shell(block) {
				r.command(words)
				count++
			}
		}
	}
	assert.Greater(t, count, 20, "commands were found")
}

func TestShellIsSplit(t *testing.T) {
	for block, want := range map[string][][]string{
		"go run . a > b   # why\n":  {{"go", "run", ".", "a", ">", "b"}},
		"mkdir x && cd x\n":         {{"mkdir", "x"}, {"cd", "x"}},
		"jq -r 'a | b' c | sort -n": {{"jq", "-r", "a | b", "c"}, {"sort", "-n"}},
		"# all\n\n":                 nil,
		"go build \\\n  -o x ./y":   {{"go", "build", "-o", "x", "./y"}},
	} {
		assert.Equal(t, want, shell(block))
	}
}
