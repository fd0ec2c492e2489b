package main

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/cohort"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
)

func (a *app) runCohort(ctx context.Context, f *cohortFlags, path string) error {
	s, err := a.openStudy(path)
	if err != nil {
		return err
	}
	defer s.Close()
	if f.engine == onSlurm {
		return a.submitStudy(ctx, f, s)
	}
	return a.doStudy(ctx, s)
}

// studyVerbs are the commands that the sections of a recipe speak to.
func studyVerbs() cohort.Verbs {
	return cohort.Verbs{Fresh: freshVerb, HeadFlags: append([]string{"head", "scan"}, wearer.TapeFlags...)}
}

// recipeVerbs are the verbs of which a recipe has sections.
var recipeVerbs = map[string]func(*app) *cobra.Command{
	"average": (*app).average, "combine": (*app).combine,
	"map": (*app).maps, "values": (*app).values, "traces": (*app).traces, "frames": (*app).frames,
	"explore":    (*app).explore,
	"components": (*app).components, "asymmetry": (*app).asymmetry, "compare": (*app).compare,
}

// freshVerb is the command of a verb on which nothing was set yet. It stands
// alone, since a recipe may have a thousand items, and all verbs take a hundred
// times as long to make.
func freshVerb(name string) *cobra.Command { return recipeVerbs[name](&app{&session.Session{}}) }

// openStudy reads a recipe, and finds its people and its records.
func (a *app) openStudy(path string) (*cohort.Study, error) {
	s, err := a.readStudy(path)
	if err != nil {
		return nil, err
	}
	return s, s.Load()
}

// readStudy reads a recipe, and finds its people.
func (a *app) readStudy(path string) (*cohort.Study, error) {
	r, err := cohort.Read(path, studyVerbs())
	if err != nil {
		return nil, err
	}
	p, err := cohort.NewPlan(r)
	if err != nil {
		return nil, err
	}
	return cohort.NewStudy(p, session.Version, a.Seed, a.Force), nil
}

// shelfRoom is how many bytes of averages the tasks of a study share. The means
// of a person in two conditions, 64 sites and 401 samples, take 0.44 MB.
const shelfRoom = 128 << 20

// runner does the tasks of a study, some side by side; what they write stays in
// its results.
func (a *app) runner(s *cohort.Study, width int) *cohort.Runner {
	a.Within, a.Shelf = s.Dir, archive.NewShelf(shelfRoom)
	return &cohort.Runner{Ledger: s.Ledger, Do: a.quietly, Width: width}
}

// doStudy does a study on this machine.
func (a *app) doStudy(ctx context.Context, s *cohort.Study) error {
	begun := time.Now()
	for _, x := range s.People {
		if x.Err != nil {
			console.Say(a.Stderr, "failed: %s: %v\n", x.Name, x.Err)
		}
	}
	w := &watch{app: a, bar: console.NewBar(a.Stderr, a.Quiet, len(s.Standing()), s.Name)}
	runner := a.runner(s, runtime.GOMAXPROCS(0))
	runner.Ended = w.ended
	err := s.Do(ctx, runner)
	w.bar.Clear()
	if len(s.Removed) > 0 {
		console.Say(a.Notes(), "removed what the recipe no longer asks for: %s\n", console.SomeOf(s.Removed))
	}
	if err != nil {
		return err
	}
	return a.summarise(s, fmt.Sprintf("%d just now, ", w.fresh), time.Since(begun))
}

// quietly carries out a command line of a task. What it prints and notes is
// kept, not shown.
func (a *app) quietly(ctx context.Context, args []string) (printed []byte, said string, err error) {
	var out, notes bytes.Buffer
	args = append(slices.Clone(args), "--force", fmt.Sprintf("--seed=%d", a.Seed))
	task := &app{&session.Session{Stdin: strings.NewReader(""), Stdout: &out, Stderr: &notes, Within: a.Within,
		Shelf: a.Shelf}}
	err = task.runExactly(ctx, args) // the plan has expanded its patterns
	return out.Bytes(), strings.TrimSpace(notes.String()), err
}

// A watch tells how far a run is.
type watch struct {
	*app
	bar   *console.Bar
	fresh int // tasks that were done just now
}

func (w *watch) ended(t cohort.Task, r cohort.Record, fresh bool) {
	w.bar.Add(1)
	if !fresh {
		return
	}
	if r.State == cohort.Done {
		w.fresh++
	}
	if r.State != cohort.Done {
		w.bar.Clear()
		console.Say(w.Stderr, "%s: %s: %s\n", r.State, t.ID, r.Error)
	}
}

// summarise says how a study stands, and is an error where something failed:
// that a rule leaves people out is none.
func (a *app) summarise(s *cohort.Study, fresh string, took time.Duration) error {
	rows := s.Standing()
	done, failed := 0, []string{}
	for _, r := range rows {
		switch r.State {
		case cohort.Done:
			done++
		case cohort.Failed:
			failed = append(failed, r.ID)
		}
	}
	w := a.Summary(false)
	fmt.Fprintf(w, "%s: %d of %s, %d of %s done (%s%.1f s)\n", s.Name, len(s.Survivors()),
		console.Plural(len(s.People), "person", "people"), done, console.Plural(len(rows), "task", "tasks"),
		fresh,
		took.Seconds())
	console.Say(w, "  look at %s\n", filepath.Join(s.Dir, cohort.IndexPage))
	if len(failed) > 0 {
		return fmt.Errorf("%s failed: %s: see calotte cohort status %s",
			console.Plural(len(failed), "task", "tasks"),
			someOf(failed), s.Path)
	}
	if len(s.Survivors()) == 0 {
		return fmt.Errorf("%s: nobody is left, since all break a rule of the recipe (minimum, most-noise, "+
			"most-sme): loosen it, or clean more", s.Path)
	}
	return nil
}
