package cohort

import (
	"context"
	"errors"
	"os/exec"
	"strings"
	"time"
)

// What is kept of what a program of the cluster prints, in bytes: more than any
// answer takes.
const (
	mostAnswered = 64 << 10
	mostFaults   = 2 << 10
)

// lingering is how long a program's output is waited for when the program
// itself has ended: what it has started may keep that open for ever.
const lingering = time.Second

// ask runs a program of the cluster and returns what it prints. An error is
// what it says.
func ask(ctx context.Context, input, program string, args ...string) (string, error) {
	answer, faults := &beginning{most: mostAnswered}, &beginning{most: mostFaults}
	c := exec.CommandContext(ctx, program, args...)
	c.Stdin, c.Stdout, c.Stderr = strings.NewReader(input), answer, faults
	c.WaitDelay = lingering
	err := c.Run()
	said := strings.Join(strings.Fields(string(faults.text)), " ")
	switch {
	case err == nil, errors.Is(err, exec.ErrWaitDelay): // it has ended well, and left something running
		return string(answer.text), nil
	case ctx.Err() != nil:
		return "", ctx.Err()
	case errors.Is(err, exec.ErrNotFound):
		return "", errors.New("it is not on the PATH: is this a machine of the cluster?")
	case said != "":
		return "", errors.New(said)
	}
	return "", err
}

// A beginning keeps the first bytes of what is written to it.
type beginning struct {
	most int
	text []byte
}

func (b *beginning) Write(p []byte) (int, error) {
	b.text = append(b.text, p[:min(len(p), b.most-len(b.text))]...)
	return len(p), nil
}
