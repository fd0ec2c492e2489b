package methods

import (
	"fmt"
	"strings"
	"testing"

	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

func account() Account {
	person := func(name, condition string, kept int) average.Info {
		return average.Info{
			Kind: average.Participant, Name: name, Condition: condition,
			Epochs:    &average.Counts{Kept: kept},
			Rate:      250,
			Reference: "average of 64 sites", Baseline: "-200..0ms", Filters: "none",
			Rejection: "above 150 µV from peak to peak",
			Blinks: fmt.Sprintf("regression on VEOG (Gratton, Coles & Donchin 1983), from %d and 9 samples",
				kept),
			Quality: &average.Measured{Windows: []average.WindowError{{Window: "150..190ms",
				Median: float64(kept) / 30}}},
			Provenance: provenance.Record{Program: "calotte", Version: "1", Work: "average",
				Settings: map[string]string{"epoch": "-200..600ms"}},
		}
	}
	a := Account{
		People: []average.Info{person("sub-01", "known", 90), person("sub-01", "novel", 120),
			person("sub-02", "known", 120), person("sub-02", "novel", 90)},
		Groups: []average.Info{{Kind: average.GrandAverage, Condition: "known", Minus: "novel"}},
		Figures: []provenance.Record{{Work: "map",
			Settings: map[string]string{"at": "170ms,150..190ms", "spline-order": "4",
				"spline-smoothing": "0",
				"field":            "csd"}}},
	}
	a.People[2].Repaired = []string{"F6"}
	for i := range 64 {
		a.Sites = append(a.Sites, fmt.Sprint("E", i))
	}
	return a
}

// The paragraphs hold what the averages and figures say, each once, and blanks
// for what only the author knows.
func TestParagraphs(t *testing.T) {
	text := strings.Join(account().Paragraphs(), "\n")
	for _, want := range []string{
		"2 people took part ([age range]", "[amplifier] from 64 scalp sites", "at 250 Hz",
		"Processing used calotte 1.",
		"No filter was applied after recording.", "Epochs from −200 to 600 ms about [event] were cut.",
		"Blinks were taken out by regression on VEOG (Gratton, Coles & Donchin 1983).", "F6 (1 person)",
		"Reference: average of 64 sites.", "The mean from −200 to 0 ms was subtracted",
		"rejected above 150 µV from peak to peak",
		"Epochs averaged a person: known 90–120, novel 90–120.",
		// √((3² + 4²)/2)
		"mean amplitude from 150 to 190 ms (Luck et al. 2021), median over sites, was 3.54 µV",
		"Differences (known minus novel) were taken within each participant first",
		"splines of order 4 with λ = 0", "at 170 ms, 150–190 ms", "estimate from the surface Laplacian",
	} {
		if strings.Count(text, want) != 1 {
			t.Errorf("%q stands there %d times, want once:\n%s", want, strings.Count(text, want), text)
		}
	}
	if strings.Contains(text, "from 90") {
		t.Errorf("numbers of samples make the correction several:\n%s", text)
	}
}

// Electrodes that were repaired in single epochs are told with how often,
// beside those that were throughout, or alone.
func TestParagraphsOfSingleEpochs(t *testing.T) {
	a := account()
	a.People[0].Mended = average.Mended{"T8": 2, "AF3": 3}
	a.People[3].Mended = average.Mended{"C3": 1}
	const want = "In single epochs, electrodes that departed from what the others predict were replaced by the " +
		"spherical spline of the others (6 times in 2 people)."
	both := strings.Join(a.Paragraphs(), "\n")
	if !strings.Contains(both, "spline of the others: F6 (1 person). "+want) {
		t.Errorf("%q is not beside F6 in\n%s", want, both)
	}
	a.People[2].Repaired = nil
	alone := strings.Join(a.Paragraphs(), "\n")
	if !strings.Contains(alone, want) || strings.Contains(alone, "No electrode") {
		t.Errorf("%q is not in\n%s", want, alone)
	}
}

// Nothing is claimed that is not known.
func TestChecklist(t *testing.T) {
	covered := func(a Account) (topics []string) {
		for _, i := range a.Checklist() {
			if i.Covered {
				topics = append(topics, i.Topic)
			}
		}
		return topics
	}
	if got := covered(Account{}); got != nil {
		t.Errorf("of nothing, covered are %q", got)
	}
	full := account()
	all := len(covered(full))
	full.People[3].Rejection, full.People[1].Quality = "", nil
	if got := covered(full); len(got) != all-2 { // eye movements are told by the correction still
		t.Errorf("covered %d of %d: %q", len(got), all, got)
	}
	if text := strings.Join(Account{Figures: full.Figures}.Paragraphs(), " "); !strings.Contains(text,
		"[How the averages were made is not known") {
		t.Error(text)
	}
}

// A rule by which people are left out is told, with each of its limits once,
// and not where there was none.
func TestLeftOut(t *testing.T) {
	a := account()
	if text := a.leftOut(); text != "" {
		t.Errorf("%q without a rule", text)
	}
	for i := range a.People {
		a.People[i].Provenance.Settings["minimum"] = "20"
		a.People[i].Provenance.Settings["most-noise"] = "3uV"
	}
	const want = "People were left out where a condition kept fewer epochs than 20 or had more noise left than 3uV " +
		"(plus-minus average); the rule does not look at the difference of conditions."
	if text := strings.Join(a.Paragraphs(), "\n"); strings.Count(text, want) != 1 {
		t.Errorf("%q is not once in\n%s", want, text)
	}
}

// Two factors are told once, and what is done between groups only where there
// are some.
func TestCrossed(t *testing.T) {
	a := Account{Figures: []provenance.Record{{Work: "components", Settings: map[string]string{
		"difference": "sides,conditions", "arrangements": "5000", "seed": "1"}}}}
	text := strings.Join(a.Paragraphs(), "\n")
	for _, want := range []string{"Two factors (sides and conditions) were crossed", "sign of each person's own " +
		"difference (all of them where they were no more than 5000, else so many drawn at random, seed 1)"} {
		if strings.Count(text, want) != 1 {
			t.Errorf("%q is not once in\n%s", want, text)
		}
	}
	if strings.Contains(text, "Welch") {
		t.Errorf("groups where there are none:\n%s", text)
	}
	a.Figures = append(a.Figures, provenance.Record{Work: "components", Settings: map[string]string{
		"difference": "conditions,groups", "arrangements": "5000", "seed": "1"}})
	text = strings.Join(a.Paragraphs(), "\n")
	for _, want := range []string{"(sides and conditions; conditions and groups)", "Welch's (1947)"} {
		if strings.Count(text, want) != 1 {
			t.Errorf("%q is not once in\n%s", want, text)
		}
	}
	a.Figures = []provenance.Record{{Work: "components", Settings: map[string]string{"difference": "sides"}}}
	if text := strings.Join(a.Paragraphs(), "\n"); strings.Contains(text, "Two factors") {
		t.Error(text)
	}
}
