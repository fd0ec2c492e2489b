package main

import (
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/erp"
)

// notes say what is remarkable about a person's recordings.
func (p person) notes() []string {
	var notes []string
	for _, rec := range p.recordings {
		for _, n := range rec.Notes {
			notes = append(notes, filepath.Base(rec.path)+": "+n)
		}
	}
	return notes
}

// notesOn says what is remarkable about averages and what they were made of.
func notesOn(averages []*erp.Average, r *erp.Result) []string {
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
				say("conditions %s and %s share epochs: one cannot be subtracted from the other", o.Info.Condition, avg.Info.Condition)
			}
		}
		conditions, counts = append(conditions, avg.Info.Condition), append(counts, avg.Info.Epochs.Kept)
	}
	if warning := erp.UnequalWarning(conditions, counts); warning != "" {
		say("%s", warning)
	}
	return notes
}

// reportPerson says what became of a person's epochs, how good the averages are, and
// what to do next.
func reportPerson(w io.Writer, name string, averages []*erp.Average, r *erp.Result, tables []string) {
	info := averages[0].Info
	fmt.Fprintf(w, "%s: %s at %g Hz, reference: %s, baseline: %s\n", name,
		console.Plural(len(r.Montage.Sites), "site", "sites"), r.Window.Rate, info.Reference, info.Baseline)
	for i, avg := range averages {
		fmt.Fprintf(w, "  %-12s %s kept%s → %s\n", avg.Info.Condition,
			console.Plural(avg.Info.Epochs.Kept, "epoch", "epochs"), lost(*avg.Info.Epochs), tables[i])
	}
	for _, line := range repairLines(r.Repaired) {
		fmt.Fprintf(w, "  %-12s %s\n", "repaired", line)
	}
	if info.Blinks != "" {
		fmt.Fprintf(w, "  %-12s %s\n", "blinks", info.Blinks)
	}
	for _, avg := range averages {
		for _, line := range qualityLines(avg.Info.Quality) {
			fmt.Fprintf(w, "  %-12s %s\n", avg.Info.Condition, line)
		}
	}
	if clipped := info.Quality.Clipped; len(clipped) > 0 {
		fmt.Fprintf(w, "  %-12s %s\n", "clipped", clippedText(clipped))
	}
	for _, line := range culprits(r.Rejections()) {
		fmt.Fprintf(w, "  %-12s %s\n", "rejected by", line)
	}
	if advice, ok := r.Rejections().Advise(); ok {
		fmt.Fprintf(w, "next: %v; --repair %s keeps %s more\n", advice, strings.Join(advice.Sites, ","), console.Plural(advice.Gain, "epoch", "epochs"))
	}
}

// lost says what became of the other epochs: ", 3 rejected (2 peak to peak, …)".
func lost(c erp.Counts) string {
	if c.Lost() == 0 {
		return ""
	}
	return fmt.Sprintf(", %d rejected (%s)", c.Lost(), c.Reasons())
}

// repairLines lists repaired sites by reason.
func repairLines(repaired []erp.Repaired) []string {
	byReason := map[string][]string{}
	for _, r := range repaired {
		if !slices.Contains(byReason[r.Reason], r.Site) {
			byReason[r.Reason] = append(byReason[r.Reason], r.Site)
		}
	}
	var lines []string
	for _, reason := range slices.Sorted(maps.Keys(byReason)) {
		lines = append(lines, fmt.Sprintf("%s (%s)", strings.Join(byReason[reason], " "), reason))
	}
	return lines
}

func qualityLines(q *erp.Measured) []string {
	var lines []string
	if q.PlusMinus > 0 {
		line := fmt.Sprintf("noise left %.2f µV (plus-minus average)", q.PlusMinus)
		if q.HumSite != "" {
			line += fmt.Sprintf(", hum left %.2f µV at most (%s)", q.Hum, q.HumSite)
		}
		lines = append(lines, line)
	}
	for _, w := range q.Windows {
		lines = append(lines, fmt.Sprintf("measurement error of the mean over %s: median %.2f µV, worst %.2f µV (%s)", w.Window, w.Median, w.Worst, w.Site))
	}
	if q.Note != "" {
		lines = append(lines, q.Note)
	}
	return lines
}

// clippedText lists the sites that were at the end of their range, the most first.
func clippedText(samples map[string]int) string {
	sites := slices.SortedFunc(maps.Keys(samples), func(a, b string) int {
		if samples[a] != samples[b] {
			return samples[b] - samples[a]
		}
		return strings.Compare(a, b)
	})
	const most = 6
	var texts []string
	for _, s := range sites[:min(most, len(sites))] {
		texts = append(texts, fmt.Sprintf("%s %s", s, console.Plural(samples[s], "sample", "samples")))
	}
	text := strings.Join(texts, ", ")
	if more := len(sites) - most; more > 0 {
		text += fmt.Sprintf(" and %d sites more", more)
	}
	return text
}

// culprits lists, by condition, the electrodes that reject the most epochs.
func culprits(r erp.Rejections) []string {
	const most = 4
	var order []string
	lines := map[string][]string{}
	for _, t := range r.Tallies() {
		if _, known := lines[t.Condition]; !known {
			order = append(order, t.Condition)
			lines[t.Condition] = nil
		}
		if len(lines[t.Condition]) < most {
			lines[t.Condition] = append(lines[t.Condition], fmt.Sprintf("%s %s %d (alone %d)", t.Site, t.Reason, t.Epochs, t.Alone))
		}
	}
	var out []string
	for _, c := range order {
		out = append(out, c+": "+strings.Join(lines[c], ", "))
	}
	return out
}
