// Command sentences prints sentences drawn at random from the project's texts: comments, string
// literals of more than three words, test names, Markdown and HTML. Someone who did not write them
// reads them and counts those that take a second reading.
//
//	go run ./testdata/sentences -n 100 -seed 23 [FOLDER ...]
package main

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

type sentence struct{ place, kind, text string }

var (
	sentenceEnd = regexp.MustCompile(`[.!?:](?:["')]?\s+)`)
	codeFence   = regexp.MustCompile("(?s)```.*?```")
	script      = regexp.MustCompile(`(?s)<(script|style)\b.*?</(script|style)>`)
	markup      = regexp.MustCompile(`(?s)<[^>]*>|\{\{.*?\}\}`)
	block       = regexp.MustCompile(`\n\s*\n|\n\s*[-*#>|]|\n\d+\.\s|\|`)
	humps       = regexp.MustCompile(`([a-z0-9])([A-Z])`)
)

func main() {
	n := flag.Int("n", 100, "how many sentences to draw")
	seed := flag.Uint64("seed", 1, "seed of the draw")
	flag.Parse()
	folders := flag.Args()
	if len(folders) == 0 {
		folders = []string{"."}
	}
	var all []sentence
	for _, folder := range folders {
		if err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			found, err := sentences(path)
			all = append(all, found...)
			return err
		}); err != nil {
			log.Fatal(err)
		}
	}
	random := rand.New(rand.NewPCG(*seed, 0))
	random.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	drawn := all[:min(*n, len(all))]
	slices.SortFunc(drawn, func(a, b sentence) int { return strings.Compare(a.place, b.place) })
	fmt.Printf("%d of %d sentences, seed %d\n", len(drawn), len(all), *seed)
	for i, s := range drawn {
		fmt.Printf("%3d %s (%s)\n    %s\n", i+1, s.place, s.kind, s.text)
	}
}

// sentences returns the sentences of a Go, Markdown or HTML file, and nothing for other files.
func sentences(path string) ([]sentence, error) {
	switch filepath.Ext(path) {
	case ".go":
		return ofGo(path)
	case ".md", ".html":
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		prose := markup.ReplaceAllString(script.ReplaceAllString(codeFence.ReplaceAllString(string(text), "\n\n"), "\n\n"), "\n\n")
		var out []sentence
		for _, paragraph := range block.Split(prose, -1) {
			out = append(out, split(path, "page", paragraph)...)
		}
		return out, nil
	}
	return nil, nil
}

// ofGo returns the sentences of a Go file's comments, string literals and test names.
func ofGo(path string) ([]sentence, error) {
	files := token.NewFileSet()
	f, err := parser.ParseFile(files, path, nil, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	place := func(p token.Pos) string { return fmt.Sprintf("%s:%d", path, files.Position(p).Line) }
	var out []sentence
	for _, c := range f.Comments {
		// Group.Text drops directives; indented lines are code.
		for _, paragraph := range strings.Split(c.Text(), "\n\n") {
			if !strings.HasPrefix(paragraph, "\t") && !strings.HasPrefix(paragraph, "Output:") {
				out = append(out, split(place(c.Pos()), "comment", paragraph)...)
			}
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			if text, err := strconv.Unquote(n.Value); n.Kind == token.STRING && err == nil {
				out = append(out, split(place(n.Pos()), "text", text)...)
			}
		case *ast.FuncDecl:
			if name, ok := strings.CutPrefix(n.Name.Name, "Test"); ok {
				out = append(out, sentence{place(n.Pos()), "test name", humps.ReplaceAllString(name, "$1 $2")})
			}
		}
		return true
	})
	return out, nil
}

// split cuts a paragraph into sentences and drops those of three words or fewer.
func split(place, kind, paragraph string) []sentence {
	var out []sentence
	paragraph = strings.Join(strings.Fields(paragraph), " ")
	for len(paragraph) > 0 {
		end := len(paragraph)
		if at := sentenceEnd.FindStringIndex(paragraph); at != nil {
			end = at[1]
		}
		if text := strings.TrimSpace(paragraph[:end]); len(strings.Fields(text)) > 3 {
			out = append(out, sentence{place, kind, text})
		}
		paragraph = paragraph[end:]
	}
	return out
}
