package main

import (
	"context"
	"os"

	"calotte/cmd/internal/console"
)

func main() {
	abortOnDeath()
	ctx, stop := console.Interruptible(context.Background())
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	err = console.Cause(ctx, err)
	stop()
	os.Exit(console.Report(os.Stderr, err))
}
