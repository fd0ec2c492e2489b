package console

import (
	"context"
	"errors"
	"os"
	"os/signal"
	"syscall"
)

// A Stop is the cause of a context that a signal has ended. It counts as an
// interrupt: what is half written is removed.
type Stop struct{ Signal syscall.Signal }

func (s Stop) Error() string { return "stopped by the signal " + s.Signal.String() }

// Unwrap lets a Stop pass for the end of any context.
func (s Stop) Unwrap() error { return context.Canceled }

// Interruptible returns a context that ends with Ctrl-C, when a job is ended or
// when its terminal goes. A second signal ends the program at once. A hangup
// that was ignored from the start, as nohup has it, stays ignored.
func Interruptible(parent context.Context) (ctx context.Context, stop func()) {
	signals := []os.Signal{syscall.SIGINT, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	got := make(chan os.Signal, 1)
	signal.Notify(got, signals...)
	ctx, cancel := context.WithCancelCause(parent)
	go func() {
		select {
		case s := <-got:
			cause := error(context.Canceled)
			if number, ok := s.(syscall.Signal); ok {
				cause = Stop{number}
			}
			signal.Stop(got)
			cancel(cause)
		case <-ctx.Done():
		}
	}()
	return ctx, func() {
		signal.Stop(got)
		cancel(nil)
	}
}

// Cause is the error of a run, with the signal that has stopped it.
func Cause(ctx context.Context, err error) error {
	var s Stop
	if errors.Is(err, context.Canceled) && errors.As(context.Cause(ctx), &s) {
		return s
	}
	return err
}
