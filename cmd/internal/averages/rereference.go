package averages

import (
	"fmt"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
	"calotte/topo/erp/average"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/store"
)

// Rereference gives averages against another reference than they were made
// with.
type Rereference struct{ Reference montage.Reference }

// Register adds the flag.
func (f *Rereference) Register(c *cobra.Command) {
	c.Flags().Var(&f.Reference, "reference",
		"recorded (as the averages are), average, or SITE[,SITE]: re-reference them")
}

// Needed is what is needed of averages for what needs no more than is given:
// whether errors get lost by another reference is said.
func (f *Rereference) Needed(c *cobra.Command, need store.Need) store.Need {
	if c.Flags().Changed("reference") {
		return store.Everything
	}
	return need
}

// Apply re-references averages, and what UnitsOf finds behind them. Standard
// errors are known where the epochs are saved beside them.
func (f *Rereference) Apply(a *session.Session, c *cobra.Command, t *Tables) error {
	if !c.Flags().Changed("reference") {
		return nil
	}
	t.reference = f.Reference
	unknown := ""
	for i, avg := range t.Averages {
		step, err := f.Reference.Linear(avg.Sites)
		if err != nil {
			return fmt.Errorf("%s: --reference: %w", t.Paths[i], err)
		}
		if step.Reference == "" {
			continue // it stays as it is
		}
		if err := t.Through(i, step); err != nil {
			return err
		}
		if avg.SEM != nil && t.Averages[i].SEM == nil {
			unknown = t.Paths[i]
		}
	}
	if unknown != "" {
		console.Say(a.Notes(), "note: without its epochs the standard errors of %s against another "+
			"reference are not "+
			"known, but for right minus left (average with --save-epochs; of people, combine with "+
			"--reference)\n",
			unknown)
	}
	return nil
}

// Through takes an average through a linear step, with its epochs where they
// are saved.
func (t *Tables) Through(i int, step average.Linear) error {
	epochs, read, err := archive.LoadEpochs(t.Paths[i])
	if err != nil {
		return err
	}
	t.Files = append(t.Files, read...)
	out, err := t.Averages[i].Through(step, epochs)
	if err != nil {
		return fmt.Errorf("%s: %w", t.Paths[i], err)
	}
	t.Averages[i] = out
	return nil
}
