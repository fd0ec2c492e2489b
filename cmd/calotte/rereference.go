package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
	"calotte/topo/erp/montage"
)

// rereferenceFlag gives averages against another reference than they were made with.
type rereferenceFlag struct{ reference montage.Reference }

func (f *rereferenceFlag) register(c *cobra.Command) {
	c.Flags().Var(&f.reference, "reference", "recorded (as the averages are), average, or SITE[,SITE]: re-reference them")
}

// apply re-references averages. Standard errors are known where the epochs are saved
// beside them.
func (f *rereferenceFlag) apply(a *app, c *cobra.Command, t *tables) error {
	if !c.Flags().Changed("reference") {
		return nil
	}
	unknown := ""
	for i, avg := range t.averages {
		step, err := f.reference.Linear(avg.Sites)
		if err != nil {
			return fmt.Errorf("%s: --reference: %w", t.paths[i], err)
		}
		if step.Reference == "" {
			continue // it stays as it is
		}
		if err := t.through(i, step); err != nil {
			return err
		}
		if avg.SEM != nil && t.averages[i].SEM == nil {
			unknown = t.paths[i]
		}
	}
	if unknown != "" {
		console.Say(a.notes(), "note: without its epochs the standard errors of %s against another reference are not known, but for right minus left (average with --save-epochs; of people, combine with --reference)\n", unknown)
	}
	return nil
}

// through takes an average through a linear step, with its epochs where they are
// saved.
func (t *tables) through(i int, step average.Linear) error {
	epochs, read, err := archive.LoadEpochs(t.paths[i])
	if err != nil {
		return err
	}
	t.files = append(t.files, read...)
	out, err := t.averages[i].Through(step, epochs)
	if err != nil {
		return fmt.Errorf("%s: %w", t.paths[i], err)
	}
	t.averages[i] = out
	return nil
}
