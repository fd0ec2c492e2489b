package methods

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/unit"
)

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
	if text := a.unmixed(); text != "" {
		say("%s", text)
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
	if text := a.leftOut(); text != "" {
		say("%s", text)
	}
	s = append(s, a.kept())
	for _, t := range a.each(func(i average.Info) string { return i.Centre }) {
		say("A person's average is the %s of the epochs at each sample%s.", centreWords(t), centreSources[t])
	}
	for _, t := range a.errors() {
		say("%s", t)
	}
	if text := a.gaze(); text != "" {
		say("%s", text)
	}
	return strings.Join(s, " ")
}

// leftOut tells by which rule people were left out: one that looks at each
// condition alone, and so knows nothing of their difference.
func (a Account) leftOut() string {
	var rules []string
	for _, r := range []struct{ setting, words string }{
		{"minimum", "kept fewer epochs than %s"},
		{"most-noise", "had more noise left than %s (plus-minus average)"},
		{"most-sme", "had a larger measurement error than %s (median over sites, Luck et al. 2021)"},
	} {
		for _, value := range a.each(func(i average.Info) string { return i.Provenance.Settings[r.setting] }) {
			if value != "0" && value != "0uV" {
				rules = append(rules, fmt.Sprintf(r.words, value))
			}
		}
	}
	if rules == nil {
		return ""
	}
	return "People were left out where a condition " + strings.Join(rules, " or ") +
		"; the rule does not look at the difference of conditions."
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

// mended tells how often sites were interpolated in single epochs; empty where
// none was.
func (a Account) mended() string {
	people, total := map[string]bool{}, 0
	for _, i := range a.People {
		if len(i.Mended) > 0 {
			people[i.Name] = true
			total += i.Mended.Total()
		}
	}
	if total == 0 {
		return ""
	}
	return fmt.Sprintf("In single epochs, electrodes that departed from what the others predict were "+
		"replaced by the "+
		"spherical spline of the others (%s in %s).", console.Plural(total, "time", "times"),
		console.Plural(len(people), "person", "people"))
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
	mended := a.mended()
	switch {
	case len(names) == 0 && mended == "":
		return "No electrode was interpolated."
	case len(names) == 0:
		return mended
	}
	var texts []string
	for _, site := range slices.Sorted(maps.Keys(names)) {
		texts = append(texts, fmt.Sprintf("%s (%s)", site,
			console.Plural(len(names[site]), "person", "people")))
	}
	return strings.TrimSpace("Bad electrodes were replaced by the spherical spline of the others: " +
		strings.Join(texts, ", ") + ". " + mended)
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
	for _, g := range a.Groups {
		if g.Across != "" {
			text = fmt.Sprintf("Grand averages are the %s of the participants at each sample%s.",
				centreWords(g.Across),
				centreSources[g.Across])
		}
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

func centreWords(name string) string { return average.CentreWords(average.CentreOf(name)) }

// centreSources say how the standard errors of centres other than the mean are
// found.
var centreSources = map[string]string{
	epoch.Trimmed.String(): ", with the standard error of Tukey & McLaughlin (1963)",
	epoch.Median.String():  ", with the standard error of the bootstrap (Efron 1979)",
}
