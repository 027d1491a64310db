package checked

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every row of the glossary's names in the code has a term of the glossary and exported names of
// the library. (The test of the page in examples/report compares the terms with the page.)
func TestGlossaryNamesExist(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(root, "examples/review/glossary.md"))
	require.NoError(t, err)
	terms, names, exported := map[string]bool{}, 0, exportedNames(t)
	for _, line := range strings.Split(string(text), "\n") {
		cells := strings.Split(line, "|")
		if len(cells) < 4 || strings.Contains(line, "---") || strings.HasPrefix(line, "| term |") {
			continue
		}
		term := strings.TrimSpace(cells[1])
		if len(cells) > 4 {
			terms[term] = true
			continue
		}
		require.True(t, terms[term], "%q has a name in the code, but no line in the glossary or two names: write it once", term)
		delete(terms, term)
		for _, name := range inQuotes(cells[2]) {
			assert.True(t, exported[name], "%q is %s in the glossary, which the library does not export", term, name)
			names++
		}
	}
	require.Greater(t, names, 80, "the glossary has a table of names")
}

// exportedNames returns the exported functions, types, constants and variables of the library as
// package.Name, and methods and fields as package.Type.Name.
func exportedNames(t *testing.T) map[string]bool {
	t.Helper()
	names := map[string]bool{}
	for _, in := range library {
		files, err := filepath.Glob(filepath.Join(root, in, "*.go"))
		require.NoError(t, err)
		for _, file := range files {
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
			require.NoError(t, err)
			for _, d := range f.Decls {
				for _, name := range declaredNames(d) {
					names[path.Base(in)+"."+name] = !strings.HasSuffix(file, "_test.go")
				}
			}
		}
	}
	return names
}

// declaredNames returns the exported names of a declaration, methods and fields as Type.Name.
func declaredNames(d ast.Decl) (names []string) {
	if f, ok := d.(*ast.FuncDecl); ok {
		return []string{exportedTitle(f)}
	}
	for _, spec := range d.(*ast.GenDecl).Specs {
		switch spec := spec.(type) {
		case *ast.ValueSpec:
			for _, id := range spec.Names {
				names = append(names, id.Name)
			}
		case *ast.TypeSpec:
			names = append(names, spec.Name.Name)
			if s, ok := spec.Type.(*ast.StructType); ok {
				for _, field := range s.Fields.List {
					for _, id := range field.Names {
						names = append(names, spec.Name.Name+"."+id.Name)
					}
				}
			}
		}
	}
	return names
}
