package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/signal"
	"strconv"
	"syscall"
	"time"
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
	port := flags.Int("port", defaultPort, "port on this computer; 0 takes any that is free")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() > 0 {
		return fmt.Errorf("%q is not understood; there is -port and nothing else", flags.Arg(0))
	}
	listener, err := listen(*port)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "The workshop is open at http://%s/ on this computer alone. Stop it with Ctrl-C.\n", listener.Addr())
	return serve(ctx, listener)
}

// listen takes a port of the loopback address, which no other computer reaches.
func listen(port int) (net.Listener, error) {
	if port < 0 || port > 65535 {
		return nil, fmt.Errorf("there is no port %d; choose 1 to 65535, or 0 for any that is free", port)
	}
	listener, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if errors.Is(err, syscall.EADDRINUSE) {
		return nil, fmt.Errorf("port %d is taken, perhaps by a workshop that is open already; "+
			"close that, or choose another with -port (0 takes any that is free): %w", port, err)
	}
	return listener, err
}

// serve answers on the listener until the context ends, then lets what is under
// way come to its end.
func serve(ctx context.Context, listener net.Listener) error {
	server := &http.Server{
		Handler:           newWorkshop(),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       10 * time.Second,
		WriteTimeout:      time.Minute,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	patience, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	return server.Shutdown(patience)
}
