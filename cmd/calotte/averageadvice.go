package main

import (
	"fmt"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
)

// advise says what would keep more epochs or make those that are kept better,
// empty where nothing is known to. Blinks are the epochs that are kept and
// swing as in one.
func advise(r reject.Rejections, m *montage.Montage, blinks int, blinksOut bool) string {
	if !blinksOut {
		if advice := adviseOnBlinks(r, m, blinks); advice != "" {
			return advice
		}
	}
	if advice, ok := r.Advise(); ok {
		return fmt.Sprintf("%v: --repair %s keeps %s more", advice, strings.Join(advice.Sites, ","),
			console.Plural(advice.Gain, "epoch", "epochs"))
	}
	return ""
}

// blinksOfKept is the share of kept epochs, one in so many, from which on
// blinks in them are spoken of. The choice is ours.
const blinksOfKept = 10

// adviseOnBlinks speaks of blinks that cost epochs, and of those that are
// averaged because no limit is low enough to find them.
func adviseOnBlinks(r reject.Rejections, m *montage.Montage, blinks int) string {
	remedy := "calotte unmix finds them as components, and average --unmix takes them out"
	if eyes := eye.Channels(m); len(eyes) > 0 {
		remedy = fmt.Sprintf("--blinks %s takes them out", strings.Join(eyes, ","))
	}
	if n := r.AtForehead(); 2*n > r.Lost() {
		return fmt.Sprintf("%d of %d rejections are at the forehead, as blinks are: %s", n, r.Lost(), remedy)
	}
	kept := len(r.Verdicts) - r.Lost()
	if blinks > 1 && blinksOfKept*blinks >= kept {
		return fmt.Sprintf("%d of %d epochs that are kept swing at the forehead as in blinks, which no limit "+
			"found: %s", blinks, kept, remedy)
	}
	return ""
}

// farAboveBrains is a swing in µV that no brain makes (common practice, no
// source).
const farAboveBrains = 250

// warningsOn say what should keep a reader from believing the averages: limits
// that find nothing, few epochs, much noise.
func warningsOn(name string, averages []*average.Average, r *erp.Result, robust bool) []string {
	var texts []string
	if site, limit, n := r.LimitsAbove(farAboveBrains); robust && n > 0 {
		texts = append(texts, fmt.Sprintf("%s: the limits that --reject robust found reach %.0f µV "+
			"(%s; %s above "+
			"%d µV), which is far above what brains do: blinks or bad electrodes set them; take those out "+
			"(--blinks, --unmix, --repair found), or give a limit such as --reject 150uV", name, limit,
			site,
			console.Plural(n, "site", "sites"), farAboveBrains))
	}
	for _, a := range averages {
		for _, w := range a.Info.Quality.Warnings {
			texts = append(texts, fmt.Sprintf("%s, %s: %s", name, a.Info.Condition, w))
		}
	}
	return texts
}

// wholeEpochs says that a person's decisions against single electrodes dropped
// whole epochs.
func wholeEpochs(p *erp.Pipeline, r *erp.Result) []string {
	exclusions := reject.NewExclusions(p.Reject.Exclude)
	n := 0
	for _, t := range r.Trials {
		about := exclusions.Of(t.Source, t.Onset, r.Window.Rate)
		whole := func(i int) bool { return p.Reject.Exclude[i].Site == "" }
		if len(about) > 0 && !slices.ContainsFunc(about, whole) && !t.Kept() && len(t.Faults) == 0 {
			n++
		}
	}
	if n == 0 || p.Repair.Excluded {
		return nil
	}
	return []string{fmt.Sprintf("%s dropped whole, since --exclude names an electrode in it: --repair excluded "+
		"replaces the electrode there, and keeps the epoch", console.Plural(n, "epoch is", "epochs are"))}
}
