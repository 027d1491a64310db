package importing

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func root(t *testing.T) string {
	path, err := filepath.Abs("../..")
	require.NoError(t, err)
	return path
}

// page is a file of Markdown.
type page struct{ path, text string }

func readPage(t *testing.T, path string) page {
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return page{path, string(text)}
}

func (p page) name(t *testing.T) string {
	name, err := filepath.Rel(root(t), p.path)
	require.NoError(t, err)
	return filepath.ToSlash(name)
}

// pages returns all pages of the project.
func pages(t *testing.T) []page {
	var all []page
	require.NoError(t, filepath.WalkDir(root(t), func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (strings.HasPrefix(d.Name(), ".") || strings.HasPrefix(d.Name(), "earnest-demo")):
			return fs.SkipDir
		case strings.HasSuffix(path, ".md"):
			all = append(all, readPage(t, path))
		}
		return nil
	}))
	require.Greater(t, len(all), 8)
	return all
}

var (
	fence = regexp.MustCompile("(?ms)^```(\\w*)\n(.*?)^```$")
	link  = regexp.MustCompile(`\[[^\]]*\]\(([^)\s]+)\)`)
	code  = regexp.MustCompile("`[^`\n]*`")
)

// blocks are the blocks of code of a language.
func (p page) blocks(language string) []string {
	var found []string
	for _, m := range fence.FindAllStringSubmatch(p.text, -1) {
		if m[1] == language {
			found = append(found, m[2])
		}
	}
	return found
}

// prose is the page without code.
func (p page) prose() string { return code.ReplaceAllString(fence.ReplaceAllString(p.text, ""), "") }

// anchors returns the names of headings in links: small letters, words joined by hyphens.
func (p page) anchors() map[string]bool {
	found := map[string]bool{}
	for _, line := range strings.Split(fence.ReplaceAllString(p.text, ""), "\n") {
		if heading := strings.TrimLeft(line, "#"); heading != line && strings.HasPrefix(heading, " ") {
			found[strings.Map(func(r rune) rune {
				switch {
				case r == ' ':
					return '-'
				case r == '-' || r == '_' || unicode.IsLetter(r) || unicode.IsDigit(r):
					return unicode.ToLower(r)
				}
				return -1
			}, strings.TrimSpace(heading))] = true
		}
	}
	return found
}

func TestLinksLeadSomewhere(t *testing.T) {
	reached := map[string]bool{}
	for _, p := range pages(t) {
		for _, m := range link.FindAllStringSubmatch(p.prose(), -1) {
			to, anchor, _ := strings.Cut(m[1], "#")
			if strings.Contains(to, ":") {
				continue // elsewhere: no network in tests
			}
			target := p
			if to != "" {
				path := filepath.Join(filepath.Dir(p.path), filepath.FromSlash(to))
				if !assert.FileExists(t, path, "%s links to %s", p.name(t), m[1]) || !strings.HasSuffix(path, ".md") {
					continue
				}
				target = readPage(t, path)
				reached[target.name(t)] = true
			}
			if anchor != "" {
				assert.True(t, target.anchors()[anchor], "%s links to %s: there is no such heading in %s", p.name(t), m[1], target.name(t))
			}
		}
	}
	for _, p := range pages(t) {
		if name := p.name(t); strings.HasPrefix(name, "examples/") {
			assert.True(t, reached[name], "no page links to %s", name)
		}
	}
}
