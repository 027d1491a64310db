package importing

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// saying is the part of a sentence of the library's that holds no figures, and where it stands.
type saying struct{ text, place string }

// sayings collects the texts of findings and errors of packages: findings, and the exported errors.
type sayings struct {
	files *token.FileSet
	all   []saying
}

var verb = regexp.MustCompile(`%[^a-zA-Z%]*[a-zA-Z%]`)

// add takes the longest piece between figures of a sentence, which may be a literal, a format, or a
// literal and what follows it.
func (s *sayings) add(e ast.Expr) {
	switch e := e.(type) {
	case *ast.BinaryExpr:
		s.add(e.X)
		if _, literal := e.X.(*ast.BasicLit); !literal {
			s.add(e.Y)
		}
	case *ast.CallExpr:
		if f, ok := e.Fun.(*ast.SelectorExpr); ok && (f.Sel.Name == "Sprintf" || f.Sel.Name == "New") {
			s.add(e.Args[0])
		}
	case *ast.BasicLit:
		text, err := strconv.Unquote(e.Value)
		if err != nil {
			return
		}
		longest := ""
		for _, piece := range verb.Split(text, -1) {
			if piece = strings.Trim(piece, " ,;:()"); len(piece) > len(longest) {
				longest = piece
			}
		}
		if longest != "" {
			s.all = append(s.all, saying{longest, s.files.Position(e.Pos()).String()})
		}
	}
}

// visit picks the sentences out of the syntax.
func (s *sayings) visit(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.KeyValueExpr: // Finding{What: …}
		if k, ok := n.Key.(*ast.Ident); ok && k.Name == "What" {
			s.add(n.Value)
		}
	case *ast.AssignStmt: // f.What = …, what := …
		for i, left := range n.Lhs {
			field, isField := left.(*ast.SelectorExpr)
			name, isName := left.(*ast.Ident)
			if i < len(n.Rhs) && n.Tok != token.ADD_ASSIGN && (isField && field.Sel.Name == "What" || isName && name.Name == "what") {
				s.add(n.Rhs[i])
			}
		}
	case *ast.CallExpr:
		name, ok := n.Fun.(*ast.Ident)
		if !ok || len(n.Args) < 2 {
			return true
		}
		to, appended := n.Args[0].(*ast.SelectorExpr)
		if name.Name == "append" && appended && to.Sel.Name == "Findings" || name.Name == "silent" || name.Name == "fault" || name.Name == "remark" || name.Name == "add" {
			s.add(n.Args[1])
		}
	case *ast.ValueSpec: // ErrSilent = errors.New(…)
		if len(n.Values) == len(n.Names) && strings.HasPrefix(n.Names[0].Name, "Err") {
			s.add(n.Values[0])
		}
	}
	return true
}

func (s *sayings) read(t *testing.T, pattern string) {
	paths, err := filepath.Glob(pattern)
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(s.files, path, nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, s.visit)
	}
}

// kindsOfFinding are the constants of type response.FindingKind.
func kindsOfFinding(t *testing.T, pattern string) (kinds []string) {
	paths, err := filepath.Glob(pattern)
	require.NoError(t, err)
	for _, path := range paths {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			if v, ok := n.(*ast.ValueSpec); ok && len(v.Values) == 1 {
				if kind, ok := v.Type.(*ast.SelectorExpr); ok && kind.Sel.Name == "FindingKind" {
					word, err := strconv.Unquote(v.Values[0].(*ast.BasicLit).Value)
					require.NoError(t, err)
					kinds = append(kinds, word)
				}
			}
			return true
		})
	}
	return kinds
}

// Every finding and error is on the page that says what to do, in the same words.
func TestEverythingThatCanGoWrongIsOnThePage(t *testing.T) {
	root := root(t)
	s := &sayings{files: token.NewFileSet()}
	for _, folder := range []string{"capture", "capture/placement", "capture/fitness", "programme", "level"} {
		s.read(t, filepath.Join(root, "response", folder, "*.go"))
	}
	s.read(t, filepath.Join(root, "response/*.go"))
	s.read(t, filepath.Join(root, "internal/wav/errors.go"))
	for _, file := range []string{"crosschecks.go", "pair.go"} {
		s.read(t, filepath.Join(root, "target/review", file))
	}
	require.Greater(t, len(s.all), 60, "findings and refusals were found in the source")

	page, err := os.ReadFile(filepath.Join(root, "examples/review/what-can-go-wrong.md"))
	require.NoError(t, err)
	text := strings.Join(strings.Fields(string(page)), " ")
	kinds := append(kindsOfFinding(t, filepath.Join(root, "response/capture/fitness/*.go")), kindsOfFinding(t, filepath.Join(root, "target/review/crosschecks.go"))...)
	require.Greater(t, len(kinds), 20, "kinds of finding were found in the source")
	for _, k := range kinds {
		assert.Contains(t, text, "**"+k+"**", "this kind of finding is not on the page")
	}
	for _, said := range s.all {
		assert.Contains(t, text, said.text, "a text of %s is not on the page", strings.TrimPrefix(said.place, root+"/"))
	}
}
