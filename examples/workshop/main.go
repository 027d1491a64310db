package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"example.com/earnest/examples/loopback"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := run(ctx, os.Args[1:], os.Stdout)
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "workshop:", err)
		os.Exit(1)
	}
}

const defaultPort = 8437

// run serves until the context ends.
func run(ctx context.Context, args []string, out io.Writer) error {
	flags := flag.NewFlagSet("workshop", flag.ContinueOnError)
	port := flags.Int("port", defaultPort, "port on this computer; 0 means any free one")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() > 0 {
		return fmt.Errorf("unexpected argument %q; the only flag is -port", flags.Arg(0))
	}
	listener, err := loopback.Listen("a workshop", *port)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "The workshop is open at http://%s/ on this computer alone. Stop it with Ctrl-C.\n", listener.Addr())
	return loopback.Serve(ctx, listener, newWorkshop())
}
