// Command server is Kickplate: the server of a shop, and the commands around it. Run it without a command to serve.
//
// This package puts the parts together and nothing else: configuration is read here and handed down, backends.go alone
// knows the concrete stores, and only main exits.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, console{env: os.Getenv, out: os.Stdout, err: os.Stderr}, os.Args[1:])
	stop()
	os.Exit(code)
}

// console is what a command may touch of the outside: the environment and two streams.
type console struct {
	env      func(string) string
	out, err io.Writer
}
