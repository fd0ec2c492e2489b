package erp

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/recording"
)

// eyes are the eye channels of a recording; nil: none.
type eyes struct {
	read  []int // signals beside the montage's
	gains []float64
	// the channels by which blinks are taken out, each as a sum of the
	// montage's signals and those read beside
	sums         [][]montage.Term
	sideways     []montage.Term // the channel that looks sideways move; nil: none
	sidewaysName string
}

// newEyes finds the channels by which blinks are taken out, and the one that
// looks sideways move, unless it is nil, among the signals: by label without
// regard to case, with or without the type before it, or by the site that it
// names. Looks are only told, so that a channel that does not serve is no
// error.
func newEyes(channels []eye.Channel, sideways *eye.Channel, signals []recording.Signal,
	m *montage.Montage) (*eyes, error) {
	if len(channels) == 0 && sideways == nil {
		return nil, nil
	}
	e := &eyes{}
	for _, c := range channels {
		sum, err := e.sum(c, signals, m)
		if err != nil {
			return nil, fmt.Errorf("eye channel %v: %w", c, err)
		}
		e.sums = append(e.sums, sum)
	}
	if sideways != nil {
		if sum, err := e.sum(*sideways, signals, m); err == nil {
			e.sideways, e.sidewaysName = sum, sideways.String()
		}
	}
	return e, nil
}

// sum finds the signals of a channel.
func (e *eyes) sum(c eye.Channel, signals []recording.Signal, m *montage.Montage) ([]montage.Term, error) {
	var sum []montage.Term
	for _, part := range []struct {
		label  string
		weight float64
	}{{c.Plus, 1}, {c.Minus, -1}} {
		if part.label == "" {
			continue
		}
		at, err := e.find(part.label, signals, m)
		if err != nil {
			return nil, err
		}
		sum = append(sum, montage.Term{Signal: at, Weight: part.weight})
	}
	return sum, nil
}

// find returns the index of a signal among those that are read, and adds it to
// them where it is not.
func (e *eyes) find(label string, signals []recording.Signal, m *montage.Montage) (int, error) {
	i := signalOf(label, signals)
	if i < 0 {
		return 0, fmt.Errorf("no signal is labelled %q: %s", label, besideSites(m))
	}
	if k := slices.Index(append(slices.Clone(m.Signals), e.read...), i); k >= 0 {
		return k, nil
	}
	if signals[i].SamplesPerRecord != signals[m.Signals[0]].SamplesPerRecord {
		return 0, fmt.Errorf("the rate of %q is not that of the scalp sites", signals[i].Label)
	}
	gain, err := recording.Microvolts(signals[i].Unit)
	if err != nil {
		return 0, fmt.Errorf("signal %q: %w", signals[i].Label, err)
	}
	e.read, e.gains = append(e.read, i), append(e.gains, gain)
	return len(m.Signals) + len(e.read) - 1, nil
}

// signalOf is the index of the signal that is meant, -1 where there is none. A
// label as it is written comes before a site that it may name as well.
func signalOf(label string, signals []recording.Signal) int {
	site, noSite := layout.Parse(label)
	for _, means := range []func(string) bool{
		func(written string) bool { return strings.EqualFold(written, label) },
		func(written string) bool { return strings.EqualFold(eye.WithoutType(written), label) },
		func(written string) bool {
			l, err := layout.ParseLabel(written)
			return err == nil && noSite == nil && l.Site == site
		},
	} {
		if i := slices.IndexFunc(signals, func(s recording.Signal) bool { return means(s.Label) }); i >= 0 {
			return i
		}
	}
	return -1
}

// besideSites lists the signals among which eye channels are, mostly.
func besideSites(m *montage.Montage) string {
	var labels []string
	for _, a := range m.Aside {
		labels = append(labels, a.Label)
	}
	if labels == nil {
		return "all signals are scalp sites, of which one near the eyes can be named, such as Fp1"
	}
	const most = 8
	if len(labels) > most {
		labels = append(labels[:most:most], "…")
	}
	return "beside the scalp sites there are " + strings.Join(labels, ", ")
}

// cautions name the sites that serve as eye channels as well.
func (e *eyes) cautions(m *montage.Montage) []string {
	if e == nil {
		return nil
	}
	var sites []string
	for i, s := range m.Sites {
		for _, sum := range e.sums {
			if m.Mix == nil && slices.ContainsFunc(sum,
				func(t montage.Term) bool { return t.Signal == i }) {
				sites = list.AppendNew(sites, s)
			}
		}
	}
	if sites == nil {
		return nil
	}
	return []string{strings.Join(sites,
		" ") + " serves as an eye channel: what it picks up of the brain goes with the blinks " +
		"everywhere, and at " +
		"itself nearly all"}
}

// signals are those to be read beside the montage's.
func (e *eyes) signals() []int {
	if e == nil {
		return nil
	}
	return e.read
}

// channels returns the eye channels of an epoch, channel × sample, from its
// signals in µV.
func (e *eyes) channels(signals [][]float64) [][]float64 {
	out := matrix.New(len(e.sums), len(signals[0]))
	for i, sum := range e.sums {
		for _, term := range sum {
			for t, x := range signals[term.Signal] {
				out[i][t] += term.Weight * x
			}
		}
	}
	return out
}
