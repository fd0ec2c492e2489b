package main

import (
	"fmt"
	"io"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/intake"
	"calotte/topo/contrast"
	"calotte/topo/erp"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
)

// mostCulprits is how many electrodes the report lists, so that it fits a
// screen.
const mostCulprits = 6

// reportPerson says what became of a person's epochs, how good the averages
// are, and what to do next.
func reportPerson(w io.Writer, name string, averages []*average.Average, r *erp.Result, tables []string) {
	reportKept(w, name, averages, r, tables)
	info, rejections := averages[0].Info, r.Rejections()
	aligned(w, culprits(rejections, averages))
	aligned(w, qualityRows(averages))
	reportGaze(w, averages)
	reportSites(w, info, r.Repaired)
	reportMended(w, averages)
	if advice := advise(rejections, r.Montage, r.Blinks(), info.Blinks != "" || info.Unmixed != nil); advice != "" {
		console.Say(w, "next: %s\n", advice)
	}
}

// reportKept says how many epochs were kept: of several people, one after the
// other, that is all, for the rest would not fit a screen.
func reportKept(w io.Writer, name string, averages []*average.Average, r *erp.Result, tables []string) {
	info := averages[0].Info
	console.Say(w, "%s: %s at %g Hz, reference: %s, baseline: %s\n", name,
		console.Plural(len(r.Montage.Sites), "site", "sites"), r.Window.Rate,
		average.OrNotKnown(info.Reference),
		average.OrNotKnown(info.Baseline))
	var rows [][]string
	for i, avg := range averages {
		rows = append(rows, []string{avg.Info.Condition,
			console.Plural(avg.Info.Epochs.Kept, "epoch", "epochs") + " kept", lost(*avg.Info.Epochs),
			"→ " + tables[i]})
	}
	aligned(w, rows)
}

// aligned prints rows in columns, indented.
func aligned(w io.Writer, rows [][]string) {
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for _, row := range rows {
		for i, cell := range row {
			row[i] = console.Echo(cell)
		}
		fmt.Fprintf(t, "  %s\n", strings.TrimRight(strings.Join(row, "\t"), "\t"))
	}
	t.Flush()
}

// lost says what became of the other epochs: "3 rejected (2 peak to peak, …)".
func lost(c average.Counts) string {
	if c.Lost() == 0 {
		return "none rejected"
	}
	return fmt.Sprintf("%d rejected (%s)", c.Lost(), c.Reasons())
}

// culprits lists the electrodes that rejected the most epochs, by condition.
func culprits(r reject.Rejections, averages []*average.Average) [][]string {
	var conditions []string
	for _, avg := range averages {
		conditions = append(conditions, avg.Info.Condition)
	}
	sites := r.BySite(conditions)
	if len(sites) == 0 {
		return nil
	}
	rows := [][]string{append(append([]string{"rejected at"}, conditions...), "alone")}
	for _, t := range sites[:min(mostCulprits, len(sites))] {
		row := []string{t.Site}
		for _, n := range append(t.Epochs, t.Alone) {
			row = append(row, fmt.Sprint(n))
		}
		rows = append(rows, row)
	}
	if more := len(sites) - mostCulprits; more > 0 {
		rows = append(rows, []string{fmt.Sprintf("and %s", console.Plural(more, "site more", "sites more"))})
	}
	return rows
}

// qualityRows say how good the averages are, a row each.
func qualityRows(averages []*average.Average) [][]string {
	first := averages[0].Info.Quality
	header := []string{"quality", "noise left (±)"}
	if first.HumSite != "" {
		header = append(header, "hum left, most")
	}
	for _, window := range first.Windows {
		header = append(header, "error over "+window.Window)
	}
	rows := [][]string{header}
	for _, avg := range averages {
		q := avg.Info.Quality
		row := []string{avg.Info.Condition, "n/a"}
		if q.PlusMinus > 0 {
			row[1] = fmt.Sprintf("%.2f µV", q.PlusMinus)
		}
		if q.HumSite != "" {
			row = append(row, fmt.Sprintf("%.2f µV (%s)", q.Hum, q.HumSite))
		}
		for _, window := range q.Windows {
			row = append(row, fmt.Sprintf("median %.2f, worst %.2f µV (%s)", window.Median, window.Worst,
				window.Site))
		}
		rows = append(rows, row)
	}
	if first.Note != "" {
		rows = append(rows, []string{first.Note})
	}
	return rows
}

// reportSites says what was done to electrodes, and what should be known of
// them.
func reportSites(w io.Writer, info average.Info, repaired []average.Repaired) {
	byReason := map[string][]string{}
	for _, r := range repaired {
		if !slices.Contains(byReason[r.Reason], r.Site) {
			byReason[r.Reason] = append(byReason[r.Reason], r.Site)
		}
	}
	for _, reason := range slices.Sorted(maps.Keys(byReason)) {
		console.Say(w, "  repaired, %s: %s\n", reason, strings.Join(byReason[reason], " "))
	}
	if info.Unmixed != nil {
		console.Say(w, "  unmixed: %s taken out\n", info.Unmixed)
	}
	if info.Blinks != "" {
		console.Say(w, "  blinks: %s\n", info.Blinks)
	}
	if clipped := info.Quality.Clipped; len(clipped) > 0 {
		console.Say(w, "  clipped: %s\n", clippedText(clipped))
	}
}

// reportMended says in how many kept epochs sites were repaired that depart in
// them.
func reportMended(w io.Writer, averages []*average.Average) {
	for _, a := range averages {
		if m := a.Info.Mended; len(m) > 0 {
			console.Say(w, "  repaired in single epochs of %s: %s\n", a.Info.Condition,
				console.Short(m.String()))
		}
	}
}

// clippedText lists the sites that were at the end of their range, the most
// first.
func clippedText(samples map[string]int) string {
	sites := slices.SortedFunc(maps.Keys(samples), func(a, b string) int {
		if samples[a] != samples[b] {
			return samples[b] - samples[a]
		}
		return strings.Compare(a, b)
	})
	var texts []string
	for _, s := range sites[:min(mostCulprits, len(sites))] {
		texts = append(texts, fmt.Sprintf("%s %s", s, console.Plural(samples[s], "sample", "samples")))
	}
	text := strings.Join(texts, ", ")
	if more := len(sites) - mostCulprits; more > 0 {
		text += fmt.Sprintf(" and %s", console.Plural(more, "site more", "sites more"))
	}
	return text
}

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

// Microvolts of a horizontal eye channel for each degree of a look sideways
// (common practice, no source).
const (
	fewestPerDegree = 10
	mostPerDegree   = 20
)

// reportGaze says how the wearer looked sideways in the windows, by condition,
// and how conditions differ from the first.
func reportGaze(w io.Writer, averages []*average.Average) {
	first := averages[0].Info.Gaze
	if first == nil {
		return
	}
	for k, window := range first.Windows {
		var texts []string
		for _, a := range averages {
			texts = append(texts, a.Info.Condition+" "+between(a.Info.Gaze.Windows[k].Interval()))
		}
		console.Say(w, "  looks sideways (%s) over %s, µV: %s\n", first.Source, window.Window,
			strings.Join(texts, ", "))
		for _, a := range averages[1:] {
			difference, low, high, ok := window.Less(a.Info.Gaze.Windows[k])
			console.Say(w, "    %s minus %s %s%s\n", averages[0].Info.Condition, a.Info.Condition,
				between(difference, low, high, ok), inDegrees(first, difference))
		}
	}
	if first.StandIn {
		fmt.Fprintln(w, "    these sites stand in for eye channels: the brain is in them, too, and degrees "+
			"are not told")
	}
}

// between writes a number with its interval, where there is one.
func between(v, low, high float64, ok bool) string {
	if !ok {
		return contrast.Signed(v)
	}
	return fmt.Sprintf("%s [%s, %s]", contrast.Signed(v), contrast.Signed(low), contrast.Signed(high))
}

// inDegrees is how far apart two looks are, roughly, where an eye channel shows
// them. To which side depends on how it is wired, unless it is the right less
// the left.
func inDegrees(g *average.Gaze, difference float64) string {
	if g.StandIn {
		return ""
	}
	size := math.Abs(difference)
	return fmt.Sprintf(", roughly %.1f° to %.1f°", size/mostPerDegree, size/fewestPerDegree)
}

// notesOf say what is remarkable about a person's recordings.
func notesOf(p intake.Person) []string {
	var notes []string
	for _, rec := range p.Recordings {
		for _, n := range rec.Notes {
			notes = append(notes, filepath.Base(rec.Path)+": "+n)
		}
	}
	return notes
}

// notesOn says what is remarkable about averages and what they were made of.
func notesOn(averages []*average.Average, r *erp.Result) []string {
	var notes []string
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	for _, s := range r.Montage.Aside {
		say("%s set aside: %s", s.Label, s.Reason)
	}
	for _, caution := range r.Cautions {
		say("%s", caution)
	}
	var conditions []string
	var counts []int
	for i, avg := range averages {
		for _, n := range avg.Info.Notes {
			say("%s", n)
		}
		for _, o := range averages[:i] {
			if slices.Contains(avg.Info.Shares, o.Info.Condition) {
				say("conditions %s and %s share epochs: one cannot be subtracted from the other",
					o.Info.Condition,
					avg.Info.Condition)
			}
		}
		conditions, counts = append(conditions, avg.Info.Condition), append(counts, avg.Info.Epochs.Kept)
	}
	if warning := epoch.UnequalWarning(conditions, counts); warning != "" {
		say("%s (--same-number)", warning)
	}
	return notes
}
