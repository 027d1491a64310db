package checked

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const root = "../../.."

// library lists every package whose computations have to be checked.
var library = []string{
	"sweep", "sweep/recognise", "smoothing", "response", "response/capture", "response/capture/placement", "response/capture/fitness",
	"response/level", "response/programme", "response/programme/loudness", "response/programme/excerpt",
	"distortion", "distortion/tone", "target", "target/claim", "target/correction", "target/change", "target/review",
}

// goPackage holds the declarations of a package, by syntax alone, which is quick.
type goPackage struct {
	exported map[string]*ast.FuncDecl   // functions by name, methods as Type.Method
	fields   map[string]bool            // of exported structs, as Type.Field: results that are computed once
	tests    map[string]map[string]bool // the words in each function of the test files
}

// source holds all packages, and every type by "package.Name".
type source struct {
	packages map[string]goPackage
	types    map[string]ast.Expr
}

func parse(t *testing.T, packages ...string) source {
	t.Helper()
	s := source{map[string]goPackage{}, map[string]ast.Expr{}}
	for _, name := range packages {
		p := goPackage{map[string]*ast.FuncDecl{}, map[string]bool{}, map[string]map[string]bool{}}
		files, err := filepath.Glob(filepath.Join(root, name, "*.go"))
		require.NoError(t, err)
		require.NotEmpty(t, files, "package %s", name)
		for _, file := range files {
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
			require.NoError(t, err)
			s.declare(p, path.Base(name), f, strings.HasSuffix(file, "_test.go"))
		}
		s.packages[name] = p
	}
	return s
}

// declare enters the declarations of a file.
func (s source) declare(p goPackage, name string, f *ast.File, test bool) {
	for _, d := range f.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if test {
				p.tests[d.Name.Name] = wordsOf(d)
			} else if title := exportedTitle(d); title != "" {
				p.exported[title] = d
			}
		case *ast.GenDecl:
			for _, spec := range d.Specs {
				if t, ok := spec.(*ast.TypeSpec); ok && !test {
					s.types[name+"."+t.Name.Name] = t.Type
					p.declareFields(t)
				}
			}
		}
	}
}

// declareFields enters the exported fields of an exported struct.
func (p goPackage) declareFields(t *ast.TypeSpec) {
	of, ok := t.Type.(*ast.StructType)
	if !ok || !t.Name.IsExported() {
		return
	}
	for _, f := range of.Fields.List {
		for _, name := range f.Names {
			if name.IsExported() {
				p.fields[t.Name.Name+"."+name.Name] = true
			}
		}
	}
}

// exportedTitle returns Name or Type.Name, or nothing for a name that a caller cannot reach.
func exportedTitle(d *ast.FuncDecl) string {
	if !d.Name.IsExported() {
		return ""
	}
	if d.Recv == nil {
		return d.Name.Name
	}
	receiver := d.Recv.List[0].Type
	if star, ok := receiver.(*ast.StarExpr); ok {
		receiver = star.X
	}
	if id, ok := receiver.(*ast.Ident); ok && id.IsExported() {
		return id.Name + "." + d.Name.Name
	}
	return ""
}

// computations returns the exported functions and methods of a package that return floating-point
// numbers, directly or inside other types.
func (s source) computations(name string) []string {
	var out []string
	for title, d := range s.packages[name].exported {
		if d.Type.Results == nil {
			continue
		}
		if slices.ContainsFunc(d.Type.Results.List, func(r *ast.Field) bool {
			return s.holdsNumbers(r.Type, path.Base(name), map[string]bool{})
		}) {
			out = append(out, title)
		}
	}
	slices.Sort(out)
	return out
}

// holdsNumbers reports whether a type of a package holds floats. Of packages outside the library
// only audio's buffers count. seen are types that are being examined.
func (s source) holdsNumbers(t ast.Expr, in string, seen map[string]bool) bool {
	switch t := t.(type) {
	case *ast.Ident:
		switch t.Name {
		case "float64", "float32", "complex128", "complex64":
			return true
		}
		return s.namedHoldsNumbers(in, t.Name, seen)
	case *ast.SelectorExpr:
		if id, ok := t.X.(*ast.Ident); ok {
			return s.namedHoldsNumbers(id.Name, t.Sel.Name, seen)
		}
	case *ast.StarExpr:
		return s.holdsNumbers(t.X, in, seen)
	case *ast.ArrayType:
		return s.holdsNumbers(t.Elt, in, seen)
	case *ast.MapType:
		return s.holdsNumbers(t.Value, in, seen)
	case *ast.FuncType: // a function that is returned computes
		return t.Results != nil && slices.ContainsFunc(t.Results.List, func(r *ast.Field) bool { return s.holdsNumbers(r.Type, in, seen) })
	case *ast.StructType:
		return slices.ContainsFunc(t.Fields.List, func(f *ast.Field) bool {
			_, function := f.Type.(*ast.FuncType)
			return !function && s.holdsNumbers(f.Type, in, seen)
		})
	}
	return false
}

func (s source) namedHoldsNumbers(in, name string, seen map[string]bool) bool {
	full := in + "." + name
	if full == "audio.FloatBuffer" {
		return true
	}
	definition, ok := s.types[full]
	if !ok || seen[full] {
		return false
	}
	seen[full] = true
	return s.holdsNumbers(definition, in, seen)
}

// wordsOf returns every identifier in a function except its own name where it is declared. For a
// selector it includes the name behind the dot with the dot, since a field may have the name of
// another type's method.
func wordsOf(d *ast.FuncDecl) map[string]bool {
	words := map[string]bool{}
	ast.Inspect(d, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.Ident:
			if n != d.Name {
				words[n.Name] = true
			}
		case *ast.CallExpr:
			if called, ok := n.Fun.(*ast.SelectorExpr); ok {
				words["."+called.Sel.Name] = true
			}
		}
		return true
	})
	return words
}

// mentions reports whether a test, or a function of the test files that it uses, contains a word:
// the name that it is said to check.
func (p goPackage) mentions(test, word string) bool {
	pending, seen := []string{test}, map[string]bool{test: true}
	for ; len(pending) > 0; pending = pending[1:] {
		words := p.tests[pending[0]]
		if words[word] {
			return true
		}
		for w := range words {
			if p.tests[w] != nil && !seen[w] {
				seen[w] = true
				pending = append(pending, w)
			}
		}
	}
	return false
}
