package importing

import (
	"example.com/earnest/internal/testing/long"
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// source is a package of the module as its source shows it.
type source struct {
	name     string // of its folder
	files    *token.FileSet
	doc      *doc.Package
	syntax   []*ast.File
	examples []*doc.Example
	shown    map[string]bool // the names that files with examples use
}

// packages reads all packages of the module.
func packages(t *testing.T) []source {
	var all []source
	require.NoError(t, filepath.WalkDir(root(t), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if name := d.Name(); strings.HasPrefix(name, ".") || name == "testdata" {
			return fs.SkipDir
		}
		if s, ok := readSource(t, path); ok {
			all = append(all, s)
		}
		return nil
	}))
	require.Greater(t, len(all), 20)
	return all
}

func readSource(t *testing.T, folder string) (source, bool) {
	name, err := filepath.Rel(root(t), folder)
	require.NoError(t, err)
	s := source{name: filepath.ToSlash(name), files: token.NewFileSet()}
	paths, err := filepath.Glob(filepath.Join(folder, "*.go"))
	require.NoError(t, err)
	var tests []*ast.File
	for _, path := range paths {
		f, err := parser.ParseFile(s.files, path, nil, parser.ParseComments)
		require.NoError(t, err)
		if strings.HasSuffix(path, "_test.go") {
			tests = append(tests, f)
		} else {
			s.syntax = append(s.syntax, f)
		}
	}
	if len(s.syntax) == 0 {
		return s, false // tests alone, which nobody imports
	}
	s.examples = doc.Examples(tests...)
	s.shown = map[string]bool{}
	for _, f := range tests {
		if len(doc.Examples(f)) > 0 {
			ast.Inspect(f, func(n ast.Node) bool {
				if name, ok := n.(*ast.Ident); ok {
					s.shown[name.Name] = true
				}
				return true
			})
		}
	}
	s.doc, err = doc.NewFromFiles(s.files, s.syntax, "example.com/earnest/"+s.name, doc.PreserveAST)
	require.NoError(t, err)
	return s, true
}

// says reports a comment that is missing or does not begin with the documented name.
func (s source) says(t *testing.T, comment, name, what string, at token.Pos) {
	place := strings.TrimPrefix(s.files.Position(at).String(), root(t)+"/")
	if !assert.NotEmpty(t, strings.TrimSpace(comment), "%s: %s %s has no comment", place, what, name) {
		return
	}
	begins := regexp.MustCompile(`^(Deprecated: |(An?|The) )?` + regexp.QuoteMeta(name) + `\b`)
	assert.Regexp(t, begins, comment, "%s: the comment of %s begins with its name", place, name)
}

func TestEveryExportedNameIsDocumented(t *testing.T) {
	for _, s := range packages(t) {
		assert.NotEmpty(t, s.doc.Doc, "%s has no package comment", s.name)
		for _, f := range s.doc.Funcs {
			s.says(t, f.Doc, f.Name, "function", f.Decl.Pos())
		}
		s.values(t, s.doc.Consts)
		s.values(t, s.doc.Vars)
		for _, typ := range s.doc.Types {
			s.says(t, typ.Doc, typ.Name, "type", typ.Decl.Pos())
			s.values(t, typ.Consts)
			s.values(t, typ.Vars)
			for _, f := range typ.Funcs {
				s.says(t, f.Doc, f.Name, "function", f.Decl.Pos())
			}
			for _, m := range typ.Methods {
				if m.Level == 0 && !wellKnown[m.Name] {
					s.says(t, m.Doc, m.Name, "method "+typ.Name+".", m.Decl.Pos())
				}
			}
			s.fields(t, typ)
		}
	}
}

// wellKnown are methods of interfaces that every reader knows.
var wellKnown = map[string]bool{"Error": true, "Unwrap": true}

// values checks constants and variables: each has a comment, or its group has one.
func (s source) values(t *testing.T, groups []*doc.Value) {
	for _, g := range groups {
		for _, spec := range g.Decl.Specs {
			v := spec.(*ast.ValueSpec)
			for _, name := range v.Names {
				if name.IsExported() {
					assert.True(t, g.Doc != "" || v.Doc.Text() != "" || v.Comment.Text() != "", "%s: %s has no comment", s.files.Position(name.Pos()), name.Name)
				}
			}
		}
	}
}

// fields checks the fields of a structure. Each has a comment, shares that of the field above, is
// named in the structure's comment, or has a type whose name explains it. What examples write as
// JSON is described by a schema.
func (s source) fields(t *testing.T, typ *doc.Type) {
	if strings.HasPrefix(s.name, "examples/report") || strings.HasPrefix(s.name, "examples/pipeline") {
		return
	}
	for _, spec := range typ.Decl.Specs {
		structure, ok := spec.(*ast.TypeSpec).Type.(*ast.StructType)
		if !ok {
			continue
		}
		shared := 0 // the line of the last documented field
		for _, f := range structure.Fields.List {
			line := s.files.Position(f.End()).Line
			said := f.Doc.Text() != "" || f.Comment.Text() != "" || shared > 0 && line == shared+1
			for _, name := range f.Names {
				if name.IsExported() && name.Name != "Name" && !speaks(f.Type) {
					assert.True(t, said || strings.Contains(typ.Doc, name.Name), "%s: %s.%s has no comment", s.files.Position(name.Pos()), typ.Name, name.Name)
				}
			}
			if shared = 0; said {
				shared = line
			}
		}
	}
}

// speaks reports whether a type has a name and a comment, or consists of such types.
func speaks(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.Ident:
		return e.IsExported()
	case *ast.SelectorExpr:
		return true
	case *ast.StarExpr:
		return speaks(e.X)
	case *ast.ArrayType:
		return speaks(e.Elt)
	}
	return false
}

// entries are how the names of functions begin with which people start.
var entries = regexp.MustCompile(`^(New|Read|Decode|Compare|Measure|Inspect|Find|Fit|Rank|Align|Harmonics|Analyse|Write)`)

func TestEveryPackageHasExamples(t *testing.T) {
	for _, s := range packages(t) {
		if s.doc.Name == "main" || strings.HasPrefix(s.name, "internal/") {
			continue
		}
		if !assert.NotEmpty(t, s.examples, "%s has no example", s.name) {
			continue
		}
		for _, e := range s.examples {
			assert.True(t, e.Output != "" || e.EmptyOutput, "%s: Example%s has no output, so it does not run", s.name, e.Name)
		}
		for _, f := range s.functions() {
			if entries.MatchString(f.Name) {
				assert.True(t, s.shown[f.Name], "%s: no example shows %s", s.name, f.Name)
			}
		}
	}
}

// The README's table of packages has a row for each package of the library.
func TestReadmeListsEveryPackage(t *testing.T) {
	readme := readPage(t, filepath.Join(root(t), "README.md"))
	for _, s := range packages(t) {
		if s.doc.Name != "main" && !strings.HasPrefix(s.name, "internal/") && !strings.HasPrefix(s.name, "examples/") {
			assert.Contains(t, readme.text, "\n| `"+s.name+"` |")
		}
	}
}

// An example of a package of the library can be pasted: its files with examples compile in a module
// of somebody else, where internal packages and the simulated rig are out of reach.
func TestPackageExamplesCanBePasted(t *testing.T) {
	long.Skip(t)
	elsewhere := newStranger(t)
	for _, s := range packages(t) {
		if s.doc.Name == "main" || strings.HasPrefix(s.name, "internal/") || strings.HasPrefix(s.name, "examples/") {
			continue
		}
		folder := filepath.Join(elsewhere.folder, filepath.FromSlash(s.name))
		require.NoError(t, os.MkdirAll(folder, 0o755))
		paths, err := filepath.Glob(filepath.Join(root(t), s.name, "*_test.go"))
		require.NoError(t, err)
		for _, path := range paths {
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			if regexp.MustCompile(`(?m)^func Example`).Match(text) {
				assert.NotContains(t, string(text), `"example.com/earnest/examples/`, path)
				require.NoError(t, os.WriteFile(filepath.Join(folder, filepath.Base(path)), text, 0o644))
			}
		}
	}
	elsewhere.run("vet", "./...")
}

// functions returns all functions of the package, including those that make a type.
func (s source) functions() []*doc.Func {
	all := s.doc.Funcs
	for _, typ := range s.doc.Types {
		all = append(all, typ.Funcs...)
	}
	return all
}
