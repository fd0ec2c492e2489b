package fields

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
	"calotte/topo"
)

// smoothing is a flag: the λ of the spline, or that it is to be found.
type smoothing struct {
	lambda float64
	Find   bool
	found  bool // λ is what was found
}

func (s *smoothing) Set(text string) error {
	if text == "gcv" {
		*s = smoothing{Find: true}
		return nil
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !(x >= 0) || math.IsInf(x, 1) {
		return fmt.Errorf("%q: expected zero, a small positive number such as 1e-5, or gcv", text)
	}
	*s = smoothing{lambda: x}
	return nil
}

func (s smoothing) String() string {
	switch {
	case s.found:
		return fmt.Sprintf("%.6g, by generalised cross-validation", s.lambda)
	case s.Find:
		return "gcv"
	}
	return strconv.FormatFloat(s.lambda, 'g', -1, 64)
}
func (smoothing) Type() string { return "lambda" }

// findSmoothing chooses one λ for all averages and latencies of the sheet,
// which must be of the same sites, says which, and lets the flag know it, so
// that it is recorded.
func (f *Fields) findSmoothing(a *session.Session, c *cobra.Command) error {
	first := f.Averages[0]
	sites, err := f.Head.Sites(first.Sites)
	if err != nil {
		return err
	}
	var all mat.Dense
	for i, avg := range f.Averages {
		if !slices.Equal(avg.Sites, first.Sites) {
			return fmt.Errorf("%s has other sites than %s: one --spline-smoothing gcv for all needs the "+
				"same; give a "+
				"number, or map them apart", f.Paths[i], f.Paths[0])
		}
		amplitudes, err := f.Amplitudes(avg)
		if err != nil {
			return fmt.Errorf("%s: %w", f.Paths[i], err)
		}
		if i == 0 {
			all.CloneFrom(amplitudes)
			continue
		}
		var wider mat.Dense
		wider.Augment(&all, amplitudes)
		all.CloneFrom(&wider)
	}
	f.options.Smoothing, err = topo.FindSmoothing(sites, f.options, &all)
	if err != nil {
		return err
	}
	f.remarks = append(f.remarks, fmt.Sprintf("The smoothing of the spline, λ = %.3g, is by generalised "+
		"cross-validation.", f.options.Smoothing))
	if flag, ok := c.Flag("spline-smoothing").Value.(*smoothing); ok {
		flag.lambda, flag.found = f.options.Smoothing, true
	}
	console.Say(a.Notes(), "smoothing of the spline by generalised cross-validation: %.3g\n", f.options.Smoothing)
	return nil
}
