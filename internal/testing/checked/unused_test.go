package checked

import (
	"encoding/json"
	"example.com/earnest/internal/testing/long"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const module = "example.com/earnest/"

// kept are exported names that only tests use, with the reason why they stay. A name that ends in a
// dot means all names that begin with it.
var kept = map[string]string{
	"response/capture.Decode":               "importers read from streams",
	"response/capture.FromBuffer":           "importers hand over buffers of go-audio",
	"response/capture.Recording.Buffer":     "importers take over buffers of go-audio",
	"target/correction.Filter.Coefficients": "importers build the filters",
	"target/correction.Filter.Level":        "importers draw each filter",
}

// An exported function, type or method of the library that only tests use has to be used by the
// job, or to be removed. Methods that implement an interface are used through it.
func TestNoExportedNameIsForTestsOnly(t *testing.T) {
	long.Skip(t)
	u := newUsage(t)
	stays := func(name string) bool {
		for prefix := range kept {
			if name == prefix || strings.HasSuffix(prefix, ".") && strings.HasPrefix(name, prefix) {
				return true
			}
		}
		return false
	}
	unused := u.unused()
	for _, name := range unused {
		assert.True(t, stays(name), "%s is used by tests only: use it, unexport it or remove it", name)
	}
	for name := range kept {
		assert.True(t, slices.ContainsFunc(unused, func(s string) bool { return strings.HasPrefix(s, name) }), "%s is used, or gone: take it off the list", name)
	}
	assert.NotEmpty(t, u.declared, "the library exports something")
	assert.Contains(t, u.declared, "response.Curve.At")
	assert.NotContains(t, unused, "response.Curve.At")
	assert.Contains(t, unused, "target/correction.Filter.Coefficients", "the rule sees what it is for")
}

// usage holds the exported names that the library declares, and those that code other than tests
// uses outside of their own declaration.
type usage struct {
	fset           *token.FileSet
	importer       types.Importer
	declared, used map[string]bool
}

// newUsage type-checks every package of the module without its tests.
func newUsage(t *testing.T) *usage {
	t.Helper()
	list := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Dir,Export,GoFiles", "./...")
	list.Dir = root
	list.Stderr = os.Stderr
	out, err := list.Output()
	require.NoError(t, err)
	type listed struct {
		ImportPath, Dir, Export string
		GoFiles                 []string
	}
	var own []listed
	export := map[string]string{}
	for d := json.NewDecoder(strings.NewReader(string(out))); d.More(); {
		var p listed
		require.NoError(t, d.Decode(&p))
		export[p.ImportPath] = p.Export
		if strings.HasPrefix(p.ImportPath, module) && !strings.HasPrefix(p.ImportPath, module+"internal/testing") {
			own = append(own, p)
		}
	}
	u := &usage{fset: token.NewFileSet(), declared: map[string]bool{}, used: map[string]bool{}}
	u.importer = importer.ForCompiler(u.fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(export[path]) })
	for _, p := range own {
		var files []*ast.File
		for _, name := range p.GoFiles {
			f, err := parser.ParseFile(u.fset, filepath.Join(p.Dir, name), nil, parser.SkipObjectResolution)
			require.NoError(t, err)
			files = append(files, f)
		}
		u.add(t, p.ImportPath, files)
	}
	return u
}

// add enters the names that a package declares and uses.
func (u *usage) add(t *testing.T, path string, files []*ast.File) {
	t.Helper()
	info := &types.Info{Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	checker := types.Config{Importer: u.importer}
	p, err := checker.Check(path, u.fset, files, info)
	require.NoError(t, err)
	if name := strings.TrimPrefix(path, module); slices.Contains(library, name) {
		for _, o := range info.Defs {
			if n := exportedName(o); n != "" && o.Exported() && !implements(p, o) {
				u.declared[n] = true
			}
		}
	}
	for _, f := range files {
		for _, d := range f.Decls {
			self := declares(info, d)
			ast.Inspect(d, func(n ast.Node) bool {
				if id, ok := n.(*ast.Ident); ok {
					if name := exportedName(info.Uses[id]); !self[name] {
						u.used[name] = true
					}
				}
				return true
			})
		}
	}
}

func (u *usage) unused() []string {
	return slices.DeleteFunc(slices.Sorted(maps.Keys(u.declared)), func(name string) bool { return u.used[name] })
}

// declares returns the names of a declaration: a use inside it does not count. A method belongs to
// the declaration of its type.
func declares(info *types.Info, d ast.Decl) map[string]bool {
	names := map[string]bool{}
	switch d := d.(type) {
	case *ast.FuncDecl:
		o := info.Defs[d.Name]
		names[exportedName(o)] = true
		if r := receiver(o); r != nil {
			names[exportedName(r)] = true
		}
	case *ast.GenDecl:
		for _, s := range d.Specs {
			if s, ok := s.(*ast.TypeSpec); ok {
				names[exportedName(info.Defs[s.Name])] = true
			}
		}
	}
	return names
}

// exportedName returns package.Name or package.Type.Name of a function, type or method of the
// module.
func exportedName(o types.Object) string {
	if o == nil || o.Pkg() == nil || !strings.HasPrefix(o.Pkg().Path(), module) {
		return ""
	}
	p := strings.TrimPrefix(o.Pkg().Path(), module)
	switch o := o.(type) {
	case *types.Func:
		o = o.Origin()
		if o.Signature().Recv() == nil {
			return p + "." + o.Name()
		}
		if r := receiver(o); r != nil && r.Exported() {
			return p + "." + r.Name() + "." + o.Name()
		}
	case *types.TypeName:
		if o.Parent() == o.Pkg().Scope() {
			return p + "." + o.Name()
		}
	}
	return ""
}

// receiver returns the named type of a method, or nil for everything else.
func receiver(o types.Object) types.Object {
	f, ok := o.(*types.Func)
	if !ok || f.Signature().Recv() == nil {
		return nil
	}
	r := f.Signature().Recv().Type()
	if p, ok := r.(*types.Pointer); ok {
		r = p.Elem()
	}
	if n, ok := r.(*types.Named); ok {
		return n.Obj()
	}
	return nil
}

// implements reports whether a method belongs to an interface of its package, or to those of the
// standard library for text and errors.
func implements(p *types.Package, o types.Object) bool {
	r := receiver(o)
	if r == nil {
		return false
	}
	if slices.Contains([]string{"String", "Error", "Unwrap", "Is"}, o.Name()) {
		return true
	}
	for _, name := range p.Scope().Names() {
		i, ok := p.Scope().Lookup(name).Type().Underlying().(*types.Interface)
		if !ok || !types.Implements(types.NewPointer(r.Type()), i) {
			continue
		}
		for m := range i.Methods() {
			if m.Name() == o.Name() {
				return true
			}
		}
	}
	return false
}
