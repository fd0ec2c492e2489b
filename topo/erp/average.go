package erp

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/interp"

	"calotte/layout"
	"calotte/topo/unit"
)

// An Average is the mean of epochs, of participants, or a difference of such
// means.
type Average struct {
	Info  Info
	Sites []string    // as written in the source
	Times []float64   // s, evenly spaced, increasing
	Mean  [][]float64 // site × sample, µV
	SEM   [][]float64 // like Mean; nil when it is not known
	Pairs Pairs
}

// Pairs holds right minus left for every mirror pair of the sites.
type Pairs struct {
	Names []string    // "P8-P7"
	Mean  [][]float64 // pair × sample, µV
	SEM   [][]float64 // like Mean; nil when it is not known
}

// Kinds of averages.
const (
	Participant  = "participant"   // over the epochs of one person
	GrandAverage = "grand average" // over participants
	Table        = "table"         // read from a table that says nothing of itself
)

// Info is what is known of an average beside its numbers; it is the content of
// the JSON file.
type Info struct {
	Kind       string     `json:"kind"`
	Name       string     `json:"name"`
	Condition  string     `json:"condition"`
	Minus      string     `json:"minus,omitempty"` // the condition that was subtracted
	Epochs     *Counts    `json:"epochs,omitempty"`
	Members    []Member   `json:"members,omitempty"`
	Weighted   bool       `json:"weighted_by_epochs,omitempty"`
	Reference  string     `json:"reference"`
	Baseline   string     `json:"baseline"`
	Filters    string     `json:"filters"`
	Rate       float64    `json:"rate_hz"`
	Repaired   []string   `json:"repaired,omitempty"`
	Synthetic  bool       `json:"synthetic,omitempty"`
	Notes      []string   `json:"notes,omitempty"`
	Files      []Source   `json:"files,omitempty"`
	Provenance Provenance `json:"provenance"`
}

// Counts says what became of the epochs of a condition.
type Counts struct {
	Kept     int            `json:"kept"`
	Rejected map[string]int `json:"rejected,omitempty"` // by reason
}

// Lost is the number of rejected epochs, whatever the reason.
func (c Counts) Lost() int {
	n := 0
	for _, k := range c.Rejected {
		n += k
	}
	return n
}

// Reasons lists why epochs were rejected: "3 peak to peak, 1 outside the data".
func (c Counts) Reasons() string {
	if len(c.Rejected) == 0 {
		return "there are none"
	}
	var texts []string
	for _, reason := range slices.Sorted(maps.Keys(c.Rejected)) {
		texts = append(texts, fmt.Sprintf("%d %s", c.Rejected[reason], reason))
	}
	return strings.Join(texts, ", ")
}

// A Member is one average that a combination was made of.
type Member struct {
	Name     string   `json:"name"`
	Epochs   int      `json:"epochs,omitempty"`
	Repaired []string `json:"repaired,omitempty"`
	Files    []Source `json:"files,omitempty"`
}

// Title is the condition in words: "known minus novel".
func (i Info) Title() string {
	if i.Minus == "" {
		return i.Condition
	}
	return i.Condition + " minus " + i.Minus
}

// Slug is the condition as it stands in file names: "known-novel".
func (i Info) Slug() string {
	if i.Minus == "" {
		return i.Condition
	}
	return i.Condition + "-" + i.Minus
}

// Rate is the number of samples a second.
func (a *Average) Rate() float64 {
	return float64(len(a.Times)-1) / (a.Times[len(a.Times)-1] - a.Times[0])
}

// At returns the amplitude of each site in µV at an instant, interpolated
// between samples by the not-a-knot cubic spline over the whole epoch, or the
// mean over a window's samples. Latencies outside the data are an error.
func (a *Average) At(l unit.Latency) ([]float64, error) {
	return a.read(a.Mean, l)
}

// NoiseAt returns the median over sites of the standard error at a latency, in
// µV; over a window the mean of the samples' errors, which is no less than the
// error of the window's mean. It is NaN when standard errors are not known.
func (a *Average) NoiseAt(l unit.Latency) (float64, error) {
	if a.SEM == nil {
		return math.NaN(), nil
	}
	sem, err := a.read(a.SEM, l)
	if err != nil {
		return 0, err
	}
	slices.Sort(sem)
	return (sem[len(sem)/2] + sem[(len(sem)-1)/2]) / 2, nil
}

func (a *Average) read(rows [][]float64, l unit.Latency) ([]float64, error) {
	from, err := a.position(float64(l.From), l)
	if err != nil {
		return nil, err
	}
	if !l.IsWindow() {
		return a.instant(rows, float64(l.From), from)
	}
	to, err := a.position(float64(l.To), l)
	if err != nil {
		return nil, err
	}
	first, last := int(math.Ceil(from-tolerance)), int(math.Floor(to+tolerance))
	if last < first {
		return nil, fmt.Errorf("window %v holds no sample at %.4g Hz: widen it", l, a.Rate())
	}
	values := make([]float64, len(rows))
	for i, row := range rows {
		for _, x := range row[first : last+1] {
			values[i] += x
		}
		values[i] /= float64(last + 1 - first)
	}
	return values, nil
}

// position is t as a fractional sample index; l is what the user asked for.
func (a *Average) position(t float64, l unit.Latency) (float64, error) {
	n := len(a.Times)
	p := (t - a.Times[0]) * float64(n-1) / (a.Times[n-1] - a.Times[0])
	if !(p >= -tolerance && p <= float64(n-1)+tolerance) {
		data := unit.Latency{Span: unit.Span{From: unit.Time(a.Times[0]), To: unit.Time(a.Times[n-1])}}
		return 0, fmt.Errorf("latency %s is outside the data, which span %s", l.Label(), data.Label())
	}
	return min(max(p, 0), float64(n-1)), nil
}

func (a *Average) instant(rows [][]float64, t, position float64) ([]float64, error) {
	values := make([]float64, len(rows))
	if k := math.Round(position); math.Abs(position-k) <= tolerance {
		for i, row := range rows {
			values[i] = row[int(k)]
		}
		return values, nil
	}
	if len(a.Times) < 4 {
		return nil, fmt.Errorf("%d samples are too few to interpolate between: ask for a sampled latency", len(a.Times))
	}
	for i, row := range rows {
		var cubic interp.NotAKnotCubic
		if err := cubic.Fit(a.Times, row); err != nil {
			return nil, fmt.Errorf("interpolating at %v: %w", unit.Time(t), err)
		}
		values[i] = cubic.Predict(t)
	}
	return values, nil
}

// mirrors returns the rows of sites that are right and left of each other, with
// the name of their difference. Sites that no system names have no mirror.
func mirrors(sites []string) (names []string, right, left []int) {
	row := map[layout.Name]int{}
	var known []layout.Name
	for i, s := range sites {
		if n, err := layout.Parse(s); err == nil {
			row[n] = i
			known = append(known, n)
		}
	}
	for _, p := range layout.Pairs(known) {
		r, l := row[p.Right], row[p.Left]
		names = append(names, sites[r]+"-"+sites[l])
		right, left = append(right, r), append(left, l)
	}
	return names, right, left
}

// differences fills to with right minus left of the rows of from.
func differences(to, from [][]float64, right, left []int) {
	for k := range to {
		r, l := from[right[k]], from[left[k]]
		for t := range to[k] {
			to[k][t] = r[t] - l[t]
		}
	}
}

// pairMeans returns right minus left of the means, without errors.
func pairMeans(sites []string, mean [][]float64) Pairs {
	names, right, left := mirrors(sites)
	if len(names) == 0 {
		return Pairs{}
	}
	p := Pairs{Names: names, Mean: newTable(len(names), len(mean[0]))}
	differences(p.Mean, mean, right, left)
	return p
}
