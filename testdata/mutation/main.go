// Command mutation changes the operators of a package one at a time and runs the package's tests.
// It prints the changes that they do not notice, to be tested for or explained. It does not change
// the tree; it lays the changed file over it.
//
//	go run ./testdata/mutation [-share 8] [-part 0] [-seed 1] ./response
//
// With -share only one change in so many is tried, drawn by the seed; each -part
// from 0 to share−1 tries others, and together they try all. As many
// run at once as GOMAXPROCS says. A loop that no longer ends is stopped after five times the
// duration of all tests; by then it may hold much memory, so limit that too (ulimit -v). Run it on
// a copy when others work in the tree.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"
)

var (
	share = flag.Int("share", 1, "one change in so many is tried")
	part  = flag.Int("part", 0, "which of the shares")
	seed  = flag.Uint64("seed", 1, "of the draw")
)

// rapid keeps property tests from searching for the smallest failing case, for half a minute each,
// and from saving it in the tree. Their cases are the same for every change.
var rapid = []string{"RAPID_SHRINKTIME=0s", "RAPID_NOFAILFILE=1", "RAPID_SEED=1"}

// others holds the replacements of an operator.
var others = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL,
	token.ADD_ASSIGN: token.SUB_ASSIGN, token.SUB_ASSIGN: token.ADD_ASSIGN,
	token.MUL_ASSIGN: token.QUO_ASSIGN, token.QUO_ASSIGN: token.MUL_ASSIGN, token.INC: token.DEC, token.DEC: token.INC,
}

// change is a file with one operator changed.
type change struct {
	file, place string
	source      []byte
}

// The results of the tests for a change; tooLong is usually a loop that no longer ends.
const (
	noticed    = "noticed"
	notNoticed = "not noticed"
	tooLong    = "took too long"
	notBuilt   = "does not compile"
)

// try runs the tests over the change; the zero change changes nothing.
func (c change) try(folder string, limit time.Duration) (verdict string, err error) {
	work, err := os.MkdirTemp("", "mutation")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(work)
	changed, overlay, binary := filepath.Join(work, "changed.go"), filepath.Join(work, "overlay.json"),
		filepath.Join(work, "tests")
	over := map[string]string{}
	if c.file != "" {
		path, err := filepath.Abs(c.file)
		if err != nil {
			return "", err
		}
		over[path] = changed
	}
	list, err := json.Marshal(map[string]any{"Replace": over})
	if err != nil {
		return "", err
	}
	for file, data := range map[string][]byte{changed: c.source, overlay: list} {
		if err := os.WriteFile(file, data, 0o600); err != nil {
			return "", err
		}
	}
	if exec.Command("go", "test", "-vet=off", "-ldflags=-s -w", "-overlay", overlay, "-c", "-o", binary, folder).Run() != nil {
		return notBuilt, nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	tests := exec.CommandContext(ctx, binary, "-test.failfast", "-test.short")
	tests.Dir = folder
	tests.Env = append(os.Environ(), rapid...)
	tests.WaitDelay = time.Second // for processes that the tests have started
	switch err := tests.Run(); {
	case ctx.Err() != nil:
		return tooLong, nil
	case err != nil:
		return noticed, nil
	}
	return notNoticed, nil
}

func main() {
	flag.Parse()
	if flag.NArg() != 1 || *share < 1 || *part < 0 || *part >= *share {
		fmt.Fprintln(os.Stderr, "usage: mutation [-share N] [-part 0…N−1] [-seed N] ./PACKAGE")
		os.Exit(2)
	}
	if err := run(flag.Arg(0)); err != nil {
		fmt.Fprintln(os.Stderr, "mutation:", err)
		os.Exit(1)
	}
}

func run(folder string) error {
	if out, err := exec.Command("go", "test", "-short", folder).CombinedOutput(); err != nil {
		return fmt.Errorf("the tests of %s fail as they are: %s", folder, out)
	}
	changes, err := changesOf(folder)
	if err != nil {
		return err
	}
	start := time.Now()
	if verdict, err := (change{}).try(folder, time.Hour); err != nil || verdict != notNoticed {
		return fmt.Errorf("the tests of %s without a change: %s %v", folder, verdict, err)
	}
	took := time.Since(start)
	fmt.Printf("%s: %d changes to try, %.1f s for all the tests\n", folder, len(changes), took.Seconds())
	var lock sync.Mutex
	count := map[string]int{}
	var wait sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for _, c := range changes {
		free <- struct{}{}
		wait.Go(func() {
			verdict, err := c.try(folder, 5*took)
			if err != nil {
				verdict = "not tried: " + err.Error()
			}
			lock.Lock()
			defer lock.Unlock()
			if count[verdict]++; verdict == notNoticed || verdict == tooLong || err != nil {
				fmt.Println(verdict+":", c.place)
			}
			<-free
		})
	}
	wait.Wait()
	fmt.Println(folder, count)
	return nil
}

// changesOf draws from all changes of the package in a folder.
func changesOf(folder string) ([]change, error) {
	names, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil {
		return nil, err
	}
	random := rand.New(rand.NewPCG(*seed, 0))
	var out []change
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, parser.ParseComments)
		if err != nil {
			return nil, err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			op, at := operator(n)
			if op == nil || random.IntN(*share) != *part {
				return true
			}
			was := *op
			if *op = others[was]; *op == token.ILLEGAL {
				*op = was
				return true
			}
			var b bytes.Buffer
			if err = format.Node(&b, set, file); err == nil {
				out = append(out, change{name, fmt.Sprintf("%s: %s became %s", set.Position(at), was, *op), b.Bytes()})
			}
			*op = was
			return err == nil
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// operator returns that of a node, and its position, or nil if there is none.
func operator(n ast.Node) (*token.Token, token.Pos) {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		return &n.Op, n.OpPos
	case *ast.AssignStmt:
		return &n.Tok, n.TokPos
	case *ast.IncDecStmt:
		return &n.Tok, n.TokPos
	case *ast.UnaryExpr:
		if n.Op == token.SUB {
			return &n.Op, n.OpPos
		}
	}
	return nil, token.NoPos
}
