// Command calotte maps event-related potentials over the scalp, compares the
// hemispheres, and says where the electrodes go.
package main

import (
	"context"
	"os"
	"os/signal"

	"calotte/cmd/internal/console"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(console.Report(os.Stderr, err))
}
