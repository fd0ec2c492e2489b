package console

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// A Bar shows how far a job is. It draws only on a terminal.
type Bar struct{ bar *progressbar.ProgressBar }

// NewBar returns a bar of the given number of steps; it stays silent when
// quiet, when w is no terminal, and for a single step.
func NewBar(w io.Writer, quiet bool, steps int, what string) *Bar {
	file, ok := fileOf(w)
	if quiet || steps < 2 || !ok || !term.IsTerminal(int(file.Fd())) {
		return &Bar{}
	}
	return &Bar{progressbar.NewOptions(steps,
		progressbar.OptionSetWriter(file),
		progressbar.OptionSetDescription(Echo(what)),
		progressbar.OptionSetWidth(24),
		progressbar.OptionShowCount(),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionThrottle(65*time.Millisecond),
		progressbar.OptionEnableColorCodes(os.Getenv("NO_COLOR") == ""),
	)}
}

// Add counts finished steps. The bar is decoration: what goes wrong in drawing
// it is no error of the job's.
func (b *Bar) Add(steps int) {
	if b.bar != nil {
		_ = b.bar.Add(steps)
	}
}

// Clear takes the bar off the screen, until the next step, for text to be
// printed in its place.
func (b *Bar) Clear() {
	if b.bar != nil {
		_ = b.bar.Clear()
	}
}
