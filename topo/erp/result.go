package erp

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/words"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/recording"
)

// A Result is what a pipeline made of one recording, or of several of one
// person.
type Result struct {
	Montage        *montage.Montage
	Window         epoch.Window
	Trials         []Trial          // recording by recording, in the order of time
	Counts         []average.Counts // by condition
	Repaired       []average.Repaired
	Reference      string   // in words
	Cautions       []string // what to keep in mind after the filter, and what is suspicious
	pipeline       *Pipeline
	filter         string        // in words, empty: none
	limits         reject.Limits // on the peak-to-peak amplitude, from the data; nil: none
	eyes           *eye.Coefficients
	clipped        map[string]int // samples by site
	conditions     []*epoch.Halves
	stacks         []*epoch.Stack // of the same rows, where another centre than the mean is asked for
	quality        []*quality
	gazes          []*gaze    // by condition; none: nothing shows looks sideways
	sets           []EpochSet // that the conditions were before; nil: none
	prefilters     []string
	conditionNames []string
	shared         [][]bool // whether two conditions have an epoch in common
	mixed          []string // units of the sites, where they differ
	synthetic      bool     // the recording's own description says so
	blinks         int      // kept epochs that swing as in a blink
}

func (p *Pipeline) newResult(pl *plan) (*Result, error) {
	m := pl.montage
	r := &Result{
		Montage: m, Window: pl.window, pipeline: p,
		Counts:     make([]average.Counts, len(p.Conditions)),
		Reference:  p.Reference.Describe(len(m.Sites), m),
		prefilters: prefilters(pl.Signals, m.Signals),
		mixed:      m.MixedUnits(pl.Signals),
		synthetic:  strings.Contains(strings.ToLower(pl.Header.Recording), "synthetic"),
	}
	if pl.filter != nil {
		r.filter, r.Cautions = pl.filter.Describe(), pl.filter.Cautions(p.Epoch)
	}
	for range p.Conditions {
		q, err := p.Quality.start(len(m.Sites), pl.window)
		if err != nil {
			return nil, err
		}
		r.conditions = append(r.conditions, epoch.NewHalves(len(m.Sites), pl.window.Len(), pl.chain.pairs))
		r.quality = append(r.quality, q)
		g, err := p.newGaze(pl.sidelong(), pl.window, len(m.Sites))
		if err != nil {
			return nil, err
		}
		if g != nil {
			r.gazes = append(r.gazes, g)
		}
		if p.Centre != epoch.Mean {
			r.stacks = append(r.stacks, &epoch.Stack{})
		}
		r.shared = append(r.shared, make([]bool, len(p.Conditions)))
	}
	r.conditionNames = p.names(list.Indexes(len(p.Conditions)))
	return r, nil
}

// count makes the counts of the trials.
func (r *Result) count() {
	verdicts := r.Rejections()
	for i, name := range r.conditionNames {
		r.Counts[i] = verdicts.Counts(name)
	}
}

// prefilters lists the filters of which headers give numbers, each once.
func prefilters(signals []recording.Signal, wanted []int) []string {
	var texts []string
	for _, i := range wanted {
		if text := signals[i].Filters().String(); text != "" {
			texts = list.AppendNew(texts, text)
		}
	}
	return texts
}

// merge adds the epochs of another recording of the same session.
func (r *Result) merge(o *Result) error {
	for i, c := range o.conditions {
		if err := r.conditions[i].Merge(c); err != nil {
			return err
		}
		if err := r.quality[i].merge(o.quality[i]); err != nil {
			return err
		}
	}
	if err := r.mergeGazes(o); err != nil {
		return err
	}
	for i, stack := range o.stacks {
		r.stacks[i].Merge(stack)
	}
	r.Trials = append(r.Trials, o.Trials...)
	r.count()
	r.Repaired = append(r.Repaired, o.Repaired...)
	r.Cautions = list.AppendNew(r.Cautions, o.Cautions...)
	for site, n := range o.clipped {
		r.clipped[site] += n
	}
	for i, row := range o.shared {
		for j, both := range row {
			r.shared[i][j] = r.shared[i][j] || both
		}
	}
	r.prefilters = list.AppendNew(r.prefilters, o.prefilters...)
	r.mixed = list.AppendNew(r.mixed, o.mixed...)
	r.synthetic = r.synthetic || o.synthetic
	r.blinks += o.blinks
	return nil
}

// share notes that an epoch belongs to all of the conditions.
func (r *Result) share(conditions []int) {
	for _, i := range conditions {
		for _, j := range conditions {
			r.shared[i][j] = true
		}
	}
}

// shares names the other conditions that have epochs in common with one.
func (r *Result) shares(condition int) []string {
	var names []string
	for i, both := range r.shared[condition] {
		if both && i != condition {
			names = append(names, r.conditionNames[i])
		}
	}
	return names
}

// notes say what the reader of the averages has to know of the recordings.
func (r *Result) notes() []string {
	if len(r.mixed) < 2 {
		return nil
	}
	return []string{"the sites were recorded in different units, " + strings.Join(r.mixed,
		", ") + ", and brought to µV"}
}

// leftOut are the electrodes that were marked bad and not repaired.
func (r *Result) leftOut() []string {
	var labels []string
	for _, a := range r.Montage.Aside {
		if a.Reason == markedBad {
			labels = append(labels, a.Label)
		}
	}
	return labels
}

// filters says what was filtered, here and by the amplifier.
func (r *Result) filters() string {
	text := r.filter
	if text == "" {
		text = "none"
	}
	if len(r.prefilters) > 0 {
		text = strings.TrimSuffix(text, ".") + "; the amplifier's: " + strings.Join(r.prefilters, " | ")
	}
	return text
}

// differing says how the sites of a second list differ from the first's.
func differing(a, b []layout.Name) string {
	var texts []string
	for _, n := range a {
		if !slices.Contains(b, n) {
			texts = append(texts, string(n)+" is missing")
		}
	}
	for _, n := range b {
		if !slices.Contains(a, n) {
			texts = append(texts, string(n)+" is new")
		}
	}
	if texts == nil {
		return "their order"
	}
	return strings.Join(texts, ", ")
}

// Averages turns what was accumulated into one average a condition, under the
// person's name. A condition that kept no epoch, or fewer than the minimum, is
// an error that says what became of them, and so are amplitudes that no
// electrode on a scalp gives, and more noise than is allowed.
func (r *Result) Averages(name string) ([]*average.Average, error) {
	p := r.pipeline
	if p == nil {
		return nil, errors.New("a result that no pipeline made holds no averages")
	}
	var out []*average.Average
	for i, c := range p.Conditions {
		counts := r.Counts[i]
		if counts.Kept == 0 {
			return nil, fmt.Errorf("condition %s kept none of its %s (%s%s): change the epoch, "+
				"the rejection "+
				"or the events",
				c.Name, words.Number(counts.Lost(), "epoch"), counts.Reasons(), r.worstSites(c.Name))
		}
		if counts.Kept < p.Minimum {
			return nil, broken("condition %s kept %s of %d, and the minimum is %d: reject less, "+
				"repair, or do "+
				"without this person", c.Name, words.Number(counts.Kept, "epoch"),
				counts.Kept+counts.Lost(), p.Minimum)
		}
		if counts.Kept < p.Centre.Least() {
			return nil, fmt.Errorf("condition %s kept %s, whose %s is their mean: expected %d or "+
				"more, or leave "+
				"--centre out", c.Name, words.Number(counts.Kept, "epoch"),
				average.CentreWords(p.Centre),
				p.Centre.Least())
		}
		a := r.average(i, name)
		if err := a.CheckRecorded(); err != nil {
			return nil, fmt.Errorf("condition %s: %w", c.Name, err)
		}
		if err := p.tooNoisy(a); err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// A RuleError says that a person's average of a condition breaks a rule by
// which people are left out: the fewest epochs, the most noise, the largest
// measurement error. Such a rule looks at each condition by itself, and so
// knows nothing of their difference.
type RuleError struct{ text string }

func (e *RuleError) Error() string { return e.text }

func broken(format string, args ...any) error { return &RuleError{fmt.Sprintf(format, args...)} }

// tooNoisy is an error where an average is noisier than is allowed.
func (p *Pipeline) tooNoisy(a *average.Average) error {
	q, condition := a.Info.Quality, a.Info.Condition
	if p.MostNoise > 0 && !(q.PlusMinus <= float64(p.MostNoise)) {
		return broken("condition %s has %.3g µV of noise left, and the most is %v: clean it more, or do "+
			"without this person", condition, q.PlusMinus, p.MostNoise)
	}
	for _, w := range q.Windows {
		if p.MostSME > 0 && !(w.Median <= float64(p.MostSME)) {
			return broken("condition %s has a measurement error of %.3g µV over %s, and the most "+
				"is %v: clean "+
				"it more, or do without this person", condition, w.Median, w.Window, p.MostSME)
		}
	}
	return nil
}

// worstSites names the sites that rejected the most epochs of a condition: ";
// most at AF7 (12), Fp1 (3)".
func (r *Result) worstSites(condition string) string {
	var texts []string
	for _, t := range r.Rejections().BySite([]string{condition}) {
		if n := t.Epochs[0]; n > 0 && len(texts) < 3 {
			texts = append(texts, fmt.Sprintf("%s (%d)", t.Site, n))
		}
	}
	if texts == nil {
		return ""
	}
	return "; most at " + strings.Join(texts, ", ")
}

// mended counts the kept epochs of a condition in which sites were repaired
// that depart in them; nil: none.
func (r *Result) mended(condition string) average.Mended {
	m := average.Mended{}
	for _, t := range r.Trials {
		if !t.Kept() || !slices.Contains(t.Conditions, condition) {
			continue
		}
		for _, site := range t.Mended {
			m[string(site)]++
		}
	}
	if len(m) == 0 {
		return nil
	}
	return m
}

func (r *Result) average(condition int, name string) *average.Average {
	p := r.pipeline
	counts := r.Counts[condition]
	counts.Rejected = maps.Clone(counts.Rejected)
	sites := len(r.Montage.Sites)
	whole := r.conditions[condition].Whole()
	mean, sem := whole.Mean(), whole.SEM()
	if r.stacks != nil {
		mean, sem = r.stacks[condition].Centres(p.Centre)
	}
	a := &average.Average{
		Info: average.Info{
			Kind: average.Participant, Name: name, Condition: p.Conditions[condition].Name, Epochs: &counts,
			Labels: p.Conditions[condition].labels(), Shares: r.shares(condition), Notes: r.notes(),
			Reference: r.Reference, Baseline: "none", Rate: r.Window.Rate, Timing: p.timing(),
			Rejection: p.Reject.describe(r.limits),
			LeftOut:   r.leftOut(), Repaired: list.Texts(repairedSites(r.Repaired)), Repairs: r.Repaired,
			Mended:    r.mended(p.Conditions[condition].Name),
			Synthetic: r.synthetic,
		},
		Sites: slices.Clone(r.Montage.Sites), Times: r.Window.Times(), Mean: mean[:sites],
	}
	if p.Centre != epoch.Mean {
		a.Info.Centre = p.Centre.String()
	}
	if p.Baseline != nil {
		a.Info.Baseline = p.Baseline.String()
		if p.locked() {
			a.Info.Baseline += " about the stimulus"
		}
	}
	if p.Unmix != nil {
		account := p.Unmix.Account()
		a.Info.Unmixed = &account
	}
	if r.eyes != nil {
		a.Info.Blinks = eye.Describe(p.Eyes, r.eyes)
	}
	a.Info.Filters = r.filters()
	a.Pairs.Names = average.PairNames(a.Sites)
	a.Pairs.Mean = mean[sites:]
	if sem != nil {
		a.SEM, a.Pairs.SEM = sem[:sites], sem[sites:]
	}
	clipped := r.clipped
	if r.sets != nil {
		before := r.sets[condition]
		before.remember(&a.Info, p)
		if before.Info.Quality != nil {
			clipped = before.Info.Quality.Clipped
		}
	}
	a.Info.Quality = r.quality[condition].report(p.Quality, a, r.conditions[condition].PlusMinus(), clipped)
	if p.Centre != epoch.Mean {
		note := "measurement errors and the noise left are those of the mean of the epochs"
		if before := a.Info.Quality.Note; before != "" {
			note = before + "; " + note
		}
		a.Info.Quality.Note = note
	}
	a.Info.Quality.Warnings = a.Warnings()
	a.Info.Gaze = r.gazeOf(condition)
	return a
}
