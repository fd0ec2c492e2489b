package methods

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// An Account is what is known of the way from recordings to figures, for the
// methods of a paper.
type Account struct {
	People  []average.Info      // averages of one person, a condition each
	Groups  []average.Info      // grand averages and differences
	Figures []provenance.Record // maps, waveforms and tables of values
	Sites   []string            // of the averages
}

// A ChecklistItem is something that a reader of a paper needs to know.
type ChecklistItem struct {
	Topic   string
	Covered bool // in the paragraphs; else a blank or nothing stands for it
}

// Paragraphs are the methods in words. What only the author knows is a blank in
// square brackets.
func (a Account) Paragraphs() []string {
	out := []string{a.recorded(), a.processed()}
	for _, p := range []string{a.combined(), a.drawn(), a.measured(), a.tested()} {
		if p != "" {
			out = append(out, p)
		}
	}
	return out
}

// Checklist says which of the items that guidelines for publication ask for are
// covered (T. W. Picton et al., "Guidelines for using human event-related
// potentials to study cognition: recording standards and publication criteria",
// Psychophysiology 37:127, 2000; A. Keil et al., "Committee report: publication
// guidelines and recommendations for studies using electroencephalography and
// magnetoencephalography", Psychophysiology 51:1, 2014). The items are a
// reading of both from memory.
func (a Account) Checklist() []ChecklistItem {
	averaged, known := len(a.People) > 0, func(field func(average.Info) string) bool {
		return len(a.People) > 0 && !slices.ContainsFunc(a.People,
			func(i average.Info) bool { return field(i) == "" })
	}
	return []ChecklistItem{
		{"participants: number", a.persons() > 0},
		{"participants: age, sex, handedness, vision, medication, consent", false},
		{"stimuli, task, timing between stimuli", false},
		{"electrodes: number, placement, names", len(a.Sites) > 0},
		{"electrodes: material, impedances, ground", false},
		{"amplifier: make, gain, input impedance, online filters", false},
		{"sampling rate", known(func(i average.Info) string { return positive(i.Rate) })},
		{"recorded reference and offline reference", known(func(i average.Info) string { return i.Reference })},
		{"filters: kind, cut-offs, transition, phase", known(func(i average.Info) string { return i.Filters })},
		{"eye movements: how they were handled", known(func(i average.Info) string { return i.Blinks })},
		{"artifacts: criteria of rejection", known(func(i average.Info) string { return i.Rejection })},
		{"interpolated electrodes", averaged},
		{"epochs and baseline", known(func(i average.Info) string { return i.Baseline })},
		{"numbers of epochs averaged, by condition", averaged},
		{"measurement error of the scores (SME)", known(func(i average.Info) string { return withErrors(i) })},
		{"maps: interpolation, its order and smoothing", len(a.Figures) > 0},
		{"windows and sites: chosen before looking, or how", a.declared()},
		{"statistics: tests, correction for many of them", a.tested() != ""},
		{"software and its version", averaged || len(a.Groups) > 0 || len(a.Figures) > 0},
	}
}

func positive(x float64) string {
	if x > 0 {
		return "yes"
	}
	return ""
}

func withErrors(i average.Info) string {
	if i.Quality != nil && len(i.Quality.Windows) > 0 {
		return "yes"
	}
	return ""
}

// persons is the number of people behind the averages.
func (a Account) persons() int {
	names := map[string]bool{}
	for _, i := range a.People {
		names[i.Name] = true
	}
	for _, g := range a.Groups {
		for _, m := range g.Members {
			names[m.Name] = true
		}
	}
	return len(names)
}

// recorded tells of the recording.
func (a Account) recorded() string {
	var s []string
	if n := a.persons(); n == 1 {
		s = append(s, "One person took part ([age], [sex], [handedness], [consent]).")
	} else if n > 1 {
		s = append(s, fmt.Sprintf("%d people took part ([age range], [sex], [handedness], [vision], "+
			"[consent and "+
			"ethics approval]).", n))
	}
	at := ""
	if rates := a.each(func(i average.Info) string { return fmt.Sprintf("%.6g Hz", i.Rate) }); len(rates) > 0 {
		at = " at " + strings.Join(rates, " or ")
	}
	sites := "[number] scalp sites"
	if n := len(a.Sites); n > 0 {
		sites = console.Plural(n, "scalp site", "scalp sites")
		if n <= 32 {
			sites += " (" + strings.Join(a.Sites, ", ") + ")"
		}
	}
	s = append(s, fmt.Sprintf("The electroencephalogram was recorded with [amplifier] from %s [cap, electrode "+
		"material]%s, against [recorded reference] with the ground at [site], impedances below [kΩ].", sites,
		at))
	if a.synthetic() {
		s = append([]string{"Synthetic data: nobody was recorded."}, s...)
	}
	return strings.Join(s, " ")
}

func (a Account) synthetic() bool {
	return slices.ContainsFunc(slices.Concat(a.People, a.Groups), func(i average.Info) bool { return i.Synthetic })
}

// each lists what a field says, each text once.
func (a Account) each(field func(average.Info) string) []string {
	var texts []string
	for _, i := range a.People {
		if t := field(i); t != "" {
			texts = appendNew(texts, t)
		}
	}
	return texts
}

// processed tells of the way from the recording to a person's averages.
func (a Account) processed() string {
	if len(a.People) == 0 {
		return "[How the averages were made is not known from these files: name filters, epochs, " +
			"reference, baseline " +
			"and rejection.]"
	}
	var s []string
	say := func(format string, args ...any) { s = append(s, fmt.Sprintf(format, args...)) }
	first := a.People[0].Provenance
	say("Processing used %s %s.", first.Program, first.Version)
	for _, f := range a.each(func(i average.Info) string { return i.Filters }) {
		if f == "none" || strings.HasPrefix(f, "none;") {
			say("No filter was applied after recording.")
		} else {
			say("%s.", strings.TrimSuffix(f, "."))
			say("Filters of zero phase spread a response to both sides, so that onsets look earlier " +
				"than they are.")
		}
	}
	epochs := a.each(func(i average.Info) string { return rangeInWords(i.Provenance.Settings["epoch"]) })
	if len(epochs) == 0 {
		epochs = []string{"[from, to]"}
	}
	say("Epochs from %s about [event] were cut.", strings.Join(epochs, " or "))
	for _, t := range a.each(func(i average.Info) string { return i.Timing }) {
		say("Timing: %s.", t)
	}
	for _, t := range a.each(func(i average.Info) string {
		text, _, _ := strings.Cut(i.Blinks,
			", from ")
		return text
	}) {
		say("Blinks were taken out by %s.", t)
	}
	if text := a.repaired(); text != "" {
		say("%s", text)
	}
	for _, t := range a.each(func(i average.Info) string { return i.Reference }) {
		say("Reference: %s.", t)
	}
	for _, t := range a.each(func(i average.Info) string { return i.Baseline }) {
		if t == "none" {
			say("No baseline was subtracted.")
		} else {
			say("The mean from %s was subtracted from each epoch.", rangeInWords(t))
		}
	}
	if rules := a.each(func(i average.Info) string { return i.Rejection }); len(rules) > 0 {
		say("Epochs were rejected %s.", strings.Join(rules, "; or "))
	} else {
		say("No epoch was rejected for its amplitudes.")
	}
	s = append(s, a.kept())
	for _, t := range a.errors() {
		say("%s", t)
	}
	return strings.Join(s, " ")
}

// rangeInWords writes a range such as -200..0ms as it stands in a paper. What
// follows it stays, and so does what is no range.
func rangeInWords(text string) string {
	span, rest, _ := strings.Cut(text, " ")
	var s unit.Span
	if s.Set(span) != nil {
		return text
	}
	ms := func(t unit.Time) string { return strings.Replace(fmt.Sprintf("%.6g", 1000*float64(t)), "-", "−", 1) }
	return strings.TrimSpace(fmt.Sprintf("%s to %s ms %s", ms(s.From), ms(s.To), rest))
}

// repaired tells which sites were interpolated in how many people.
func (a Account) repaired() string {
	names := map[string]map[string]bool{} // of people, by site
	for _, i := range a.People {
		for _, site := range i.Repaired {
			if names[site] == nil {
				names[site] = map[string]bool{}
			}
			names[site][i.Name] = true
		}
	}
	if len(names) == 0 {
		return "No electrode was interpolated."
	}
	var texts []string
	for _, site := range slices.Sorted(maps.Keys(names)) {
		texts = append(texts, fmt.Sprintf("%s (%s)", site,
			console.Plural(len(names[site]), "person", "people")))
	}
	return "Bad electrodes were replaced by the spherical spline of the others: " + strings.Join(texts, ", ") + "."
}

// kept tells how many epochs were averaged, by condition.
func (a Account) kept() string {
	var conditions []string
	counts := map[string]*average.Extremes{}
	for _, i := range a.People {
		if i.Epochs == nil || i.Minus != "" {
			continue
		}
		if counts[i.Condition] == nil {
			conditions = append(conditions, i.Condition)
			counts[i.Condition] = &average.Extremes{}
		}
		counts[i.Condition].Hold(i.Epochs.Kept)
	}
	if conditions == nil {
		return "[Numbers of epochs.]"
	}
	var texts []string
	for _, c := range conditions {
		texts = append(texts, c+" "+counts[c].String())
	}
	return "Epochs averaged a person: " + strings.Join(texts, ", ") + "."
}

// errors tells the measurement error of each window, over people their root
// mean square.
func (a Account) errors() []string {
	var windows []string
	each := map[string][]float64{}
	for _, i := range a.People {
		if i.Quality == nil {
			continue
		}
		for _, w := range i.Quality.Windows {
			windows = appendNew(windows, w.Window)
			each[w.Window] = append(each[w.Window], w.Median)
		}
	}
	var texts []string
	for _, w := range windows {
		// It has a value at least, so there is no error.
		if sme, err := epoch.GroupSME(each[w]); err == nil {
			texts = append(texts, fmt.Sprintf("The standardised measurement error of the mean "+
				"amplitude from %s "+
				"(Luck et al. 2021), median over sites, was %.2f µV in the root mean square over "+
				"people and conditions.", rangeInWords(w), sme))
		}
	}
	return texts
}

// combined tells of grand averages and differences.
func (a Account) combined() string {
	if len(a.Groups) == 0 {
		return ""
	}
	text := "Grand averages are over participants, each with the same weight; their standard errors are over " +
		"participants."
	if slices.ContainsFunc(a.Groups, func(i average.Info) bool { return i.Weighted }) {
		text = "Grand averages are over participants, weighted by their numbers of epochs; their standard " +
			"errors are " +
			"over participants."
	}
	var differences []string
	for _, g := range a.Groups {
		if g.Minus != "" {
			differences = appendNew(differences, g.Title())
		}
	}
	if differences != nil {
		text += " Differences (" + strings.Join(differences,
			", ") + ") were taken within each participant first."
	}
	return text
}

// latenciesInWords writes 170ms as 170 ms and 150..190ms as 150–190 ms.
func latenciesInWords(texts []string) []string {
	var out []string
	for _, t := range texts {
		var l unit.Latency
		if l.Set(t) == nil {
			t = l.Label()
		}
		out = append(out, t)
	}
	return out
}

// drawn tells of the maps.
func (a Account) drawn() string {
	var s, orders, latencies []string
	for _, f := range a.drawings() {
		orders = appendNew(orders,
			fmt.Sprintf("of order %s with λ = %s", f.Settings["spline-order"],
				f.Settings["spline-smoothing"]))
		latencies = appendNew(latencies, strings.Split(f.Settings["at"], ",")...)
		if f.Settings["field"] == "csd" {
			s = appendNew(s, "Current source density is an estimate from the surface Laplacian of "+
				"the spline; "+
				"sources are positive.")
		}
	}
	if orders == nil {
		return ""
	}
	return strings.Join(append([]string{fmt.Sprintf("Fields between the electrodes are spherical splines "+
		"%s (Perrin "+
		"et al. 1989, with the corrections of 1990) at %s%s.",
		strings.Join(orders, " and "), strings.Join(latenciesInWords(latencies), ", "),
		a.chosen(a.drawings()))},
		append(s,
			"A map is an interpolation: where the nearest electrode is farther than electrodes are from "+
				"each other, "+
				"it is hatched. The side that is larger on the scalp need not be the side that is "+
				"active in the brain.")...), " ")
}

// of are the figures and tables that some verbs made.
func (a Account) of(works ...string) []provenance.Record {
	var out []provenance.Record
	for _, f := range a.Figures {
		if slices.Contains(works, f.Work) {
			out = append(out, f)
		}
	}
	return out
}

func (a Account) drawings() []provenance.Record { return a.of("map", "values") }

// chosen says how windows or latencies were chosen.
func (a Account) chosen(figures []provenance.Record) string {
	var files []string
	for _, f := range figures {
		if f.Settings["windows"] == "" {
			return " [chosen before looking at the data?]"
		}
		files = appendNew(files, f.Settings["windows"])
	}
	return " (declared in " + strings.Join(files, ", ") + ")"
}

// declared reports whether all windows come from files.
func (a Account) declared() bool {
	figures := a.of("map", "values", "components", "asymmetry")
	return len(figures) > 0 && !strings.Contains(a.chosen(figures), "[")
}

// measured tells of components.
func (a Account) measured() string {
	figures := a.of("components")
	if len(figures) == 0 {
		return ""
	}
	f := figures[0].Settings
	return fmt.Sprintf("Amplitudes are means over windows%s; peaks are the largest local extrema, above "+
		"the mean of "+
		"the 12 ms on each side, refined by a parabola; onsets lie where the wave, backwards from "+
		"the peak, has "+
		"fallen to %s of it; area latencies where %s of the area of the polarity is reached. "+
		"Standard errors of "+
		"latencies are from the jackknife (Miller et al. 1998).",
		a.chosen(figures), f["onset"], f["fraction"])
}

// tested tells of tests.
func (a Account) tested() string {
	var s []string
	arrangements := func(f provenance.Record) string {
		return fmt.Sprintf("all of them where they were no more than %s, else so many drawn at random, seed %s",
			f.Settings["arrangements"], f.Settings["seed"])
	}
	if figures := a.of("asymmetry"); len(figures) > 0 {
		f := figures[0]
		text := "Right minus left was taken at mirrored sites"
		if f.Settings["contralateral"] == "true" {
			text = "Contralateral minus ipsilateral to the stimulus was taken at mirrored sites"
		}
		s = append(s, fmt.Sprintf("%s at %s%s, with 95 %% intervals of the mean by t. p is by sign flips (%s), "+
			"corrected over the pairs of a latency by the largest t (Nichols & Holmes 2002). What a "+
			"crooked cap "+
			"would change was read from the spline at turned sites.",
			text, strings.Join(latenciesInWords(strings.Split(f.Settings["at"], ",")), ", "),
			a.chosen(figures),
			arrangements(f)))
	}
	if figures := a.of("compare"); len(figures) > 0 {
		f := figures[0]
		if rule, ok := map[string]string{"largest": "by the largest |t| (Nichols & Holmes 2002)",
			"fdr": "by the false discovery rate (Benjamini & Hochberg 1995)"}[f.Settings["correct"]]; ok {
			s = append(s, fmt.Sprintf("Differences at each site and sample were tested by "+
				"permutation (%s), "+
				"corrected over all of them %s.", arrangements(f), rule))
			return strings.Join(s, " ")
		}
		s = append(s, fmt.Sprintf("Differences over sites and time were tested by permutation of "+
			"clusters (Maris & "+
			"Oostenveld 2007): points with a two-sided p below %s joined with neighbours of a "+
			"spherical Delaunay "+
			"triangulation and in time, signs apart; the sum of t against the largest of each "+
			"arrangement (%s). A "+
			"cluster's extent is not tested (Sassenhagen & Draschkow 2019).",
			f.Settings["level"], arrangements(f)))
	}
	return strings.Join(s, " ")
}

// appendNew appends the items that are not there yet.
func appendNew[T comparable](list []T, items ...T) []T {
	for _, item := range items {
		if !slices.Contains(list, item) {
			list = append(list, item)
		}
	}
	return list
}
