package watch_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"

	"example.com/earnest/examples/review/watch"
)

// The page is served until the context ends.
func ExampleRun() {
	folder, err := os.MkdirTemp("", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	ctx, stop := context.WithCancel(context.Background())
	stop() // at once
	var said bytes.Buffer
	err = watch.Run(ctx, folder, 0, &said)
	fmt.Println(strings.Contains(said.String(), "on this computer alone"), err)
	// Output: true <nil>
}
