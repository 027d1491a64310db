// Command order holds the declarations of each file to one order: every type with its constructors
// and methods, then exported functions, then helpers. A constant or variable stays before the
// declaration that it preceded. Among equals the order of the file is kept. In a test file, whose
// helpers stand where they help to read the tests, benchmarks and fuzz tests come last.
//
//	go run ./testdata/order [-write] [FOLDER ...]
//
// It prints each file that is in another order, and fails then; with -write it moves the
// declarations.
package main

import (
	"bytes"
	"cmp"
	"flag"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"io/fs"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// block is the source of one declaration with its comments and the constants before it.
type block struct {
	text string
	name string
	rank rank
}

// rank sorts blocks: by kind, then by the type that a block belongs to, then by its part in that
// type.
type rank struct{ kind, owner, part int }

const (
	ofType   = iota
	ofMethod // of a type that another file declares
	ofExported
	ofHelper
)

const (
	typeItself = iota
	constructor
	method
)

func (r rank) compare(s rank) int {
	return cmp.Or(cmp.Compare(r.kind, s.kind), cmp.Compare(r.owner, s.owner), cmp.Compare(r.part, s.part))
}

func main() {
	write := flag.Bool("write", false, "move the declarations")
	flag.Parse()
	folders := flag.Args()
	if len(folders) == 0 {
		folders = []string{"."}
	}
	wrong := false
	for _, folder := range folders {
		if err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
				return err
			}
			source, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			sorted, first, err := arrange(path, source)
			if err != nil || bytes.Equal(sorted, source) {
				return err
			}
			if *write {
				return os.WriteFile(path, sorted, 0o644)
			}
			wrong = true
			fmt.Printf("%s: %s stands too early; go run ./testdata/order -write moves it\n", path, first)
			return nil
		}); err != nil {
			log.Fatal(err)
		}
	}
	if wrong {
		os.Exit(1)
	}
}

// arrange returns the source of a file with its declarations in order, and the name of the first
// declaration that stands above one that belongs before it.
func arrange(path string, source []byte) (sorted []byte, first string, err error) {
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, path, source, parser.ParseComments)
	if err != nil {
		return nil, "", err
	}
	end := func(n ast.Node) int { return lineEnd(source, files.Position(n.End()).Offset) }
	owners := owners(file)
	var blocks []block
	var test rank // of the declaration before, in a test file
	from := end(file.Name)
	head := from
	for _, declaration := range file.Decls {
		general, ok := declaration.(*ast.GenDecl)
		switch {
		case ok && general.Tok != token.TYPE:
			if len(blocks) == 0 { // imports, and declarations above all types and functions
				head = end(declaration)
				from = head
			}
		default:
			name, rank := classify(declaration, owners)
			if strings.HasSuffix(path, "_test.go") {
				test = rankOfTest(name, test)
				rank = test
			}
			blocks = append(blocks, block{string(source[from:end(declaration)]), name, rank})
			from = end(declaration)
		}
	}
	inOrder := slices.Clone(blocks)
	slices.SortStableFunc(inOrder, func(a, b block) int { return a.rank.compare(b.rank) })
	var out bytes.Buffer
	out.Write(source[:head])
	for i, b := range inOrder {
		if first == "" && b != blocks[i] {
			first = blocks[i].name
		}
		out.WriteString("\n\n" + strings.Trim(b.text, "\n"))
	}
	if rest := strings.Trim(string(source[from:]), "\n"); rest != "" {
		out.WriteString("\n\n" + rest)
	}
	if first == "" {
		return source, "", nil
	}
	sorted, err = format.Source(append(out.Bytes(), '\n'))
	return sorted, first, err
}

// owners numbers the types that a file declares; types of one group share a number.
func owners(file *ast.File) map[string]int {
	of := map[string]int{}
	for i, declaration := range file.Decls {
		if general, ok := declaration.(*ast.GenDecl); ok && general.Tok == token.TYPE {
			for _, spec := range general.Specs {
				of[spec.(*ast.TypeSpec).Name.Name] = i
			}
		}
	}
	return of
}

// classify returns the name of a declaration and its rank.
func classify(declaration ast.Decl, owners map[string]int) (string, rank) {
	function, ok := declaration.(*ast.FuncDecl)
	if !ok {
		name := declaration.(*ast.GenDecl).Specs[0].(*ast.TypeSpec).Name.Name
		return "type " + name, rank{ofType, owners[name], typeItself}
	}
	name := function.Name.Name
	made := -1 // the type that the function returns
	if results := function.Type.Results; results != nil && constructs(name) {
		if owner, ok := owners[typeName(results.List[0].Type)]; ok {
			made = owner
		}
	}
	if function.Recv != nil {
		receiver := typeName(function.Recv.List[0].Type)
		name = receiver + "." + name
		if owner, ok := owners[receiver]; ok {
			return name, rank{ofType, owner, method}
		}
		if made < 0 {
			return name, rank{kind: ofMethod}
		}
	}
	if made >= 0 {
		return name, rank{ofType, made, constructor}
	}
	if function.Name.IsExported() || name == "main" {
		return name, rank{kind: ofExported}
	}
	return name, rank{kind: ofHelper}
}

// rankOfTest returns the rank of a declaration in a test file. A helper stays after the declaration
// that it followed.
func rankOfTest(name string, before rank) rank {
	switch {
	case strings.HasPrefix(name, "Test"), strings.HasPrefix(name, "Example"):
		return rank{}
	case strings.HasPrefix(name, "Benchmark"):
		return rank{kind: 1}
	case strings.HasPrefix(name, "Fuzz"):
		return rank{kind: 2}
	}
	return before
}

// constructs reports whether a function that returns a type is a constructor by its name:
// an exported one, or newSomething.
func constructs(name string) bool { return ast.IsExported(name) || strings.HasPrefix(name, "new") }

// typeName returns the name of a type without its pointer and type parameters, and "" for others.
func typeName(e ast.Expr) string {
	switch t := e.(type) {
	case *ast.Ident:
		return t.Name
	case *ast.StarExpr:
		return typeName(t.X)
	case *ast.IndexExpr:
		return typeName(t.X)
	case *ast.IndexListExpr:
		return typeName(t.X)
	}
	return ""
}

// lineEnd returns the end of the line that the offset is in.
func lineEnd(source []byte, offset int) int {
	if i := bytes.IndexByte(source[offset:], '\n'); i >= 0 {
		return offset + i
	}
	return len(source)
}
