package montage

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/internal/list"
	"calotte/topo/recording"
)

// A Montage says which signals of a recording are potentials of which sites,
// all against one reference.
type Montage struct {
	Sites     []string      // scalp sites as written, in the recording's order
	Names     []layout.Name // the same in canonical spelling
	Others    []layout.Name // ears and mastoids, which can serve as a reference
	Signals   []int         // to be read: one of each site, then of each other, unless Mix says how
	Gains     []float64     // what takes the signal's unit to µV
	Mix       [][]Term      // each site, then each other, as a sum of Signals; nil: one each
	Reference string        // as the labels give it, empty when they do not
	Derived   bool          // set against one reference by way of several
	Aside     []Aside
}

// A Term is a part of a sum: the weight of one of the montage's Signals, by
// index into them.
type Term struct {
	Signal int
	Weight float64
}

// An Aside is a signal that is no potential of a known site, and why.
type Aside struct{ Label, Reason string }

// Options say what is to be known beside the labels.
type Options struct {
	Aside   map[int]string // signals to set aside, and why
	Restore layout.Name    // the recorded reference, to be a site as well; empty: none
}

// A candidate is a signal whose label names a site, an ear or a mastoid.
type candidate struct {
	recording.Signal
	label layout.Label
	index int // among the signals
}

// New sorts the signals of a recording. Signals that are no sites are set aside
// with a reason, and so are ears and mastoids that cannot be set against the
// sites because their rate or unit is another. Where the labels state different
// references, as in a bipolar montage or with ears of one side, every site is
// set against one of them by way of the others, see [Rederive]. Two signals of
// one site, sites that no derivation connects, sites of different rates, a unit
// that is no voltage, and signals without any site are errors.
func New(signals []recording.Signal, o Options) (*Montage, error) {
	m := &Montage{}
	scalp, others := m.sort(signals, o.Aside)
	if len(scalp) == 0 {
		return nil, fmt.Errorf("none of the %d signals is named after a scalp site%s", len(signals),
			firstReason(m.Aside))
	}
	first := scalp[0]
	derived := false
	for _, c := range scalp {
		if c.SamplesPerRecord != first.SamplesPerRecord {
			return nil, fmt.Errorf("%q and %q have different sampling rates, so they cannot be mapped "+
				"together: give "+
				"signals that share one",
				first.label.Written, c.label.Written)
		}
		derived = derived || c.label.Reference != first.label.Reference
	}
	others = m.usable(others, first, derived)
	var err error
	if derived {
		err = m.derive(append(scalp, others...))
	} else {
		err = m.takeAll(scalp, others, signals)
	}
	if err == nil && o.Restore != "" {
		err = m.restore(o.Restore)
	}
	return m, err
}

// usable returns the ears and mastoids that can be set against the scalp sites,
// and sets the rest aside.
func (m *Montage) usable(others []candidate, first candidate, derived bool) []candidate {
	var out []candidate
	for _, c := range others {
		what := ""
		_, err := recording.Microvolts(c.Unit)
		switch {
		case c.label.Reference != first.label.Reference && !derived:
			what = "reference"
		case c.SamplesPerRecord != first.SamplesPerRecord:
			what = "sampling rate"
		case err != nil:
			what = "unit"
		default:
			out = append(out, c)
			continue
		}
		m.Aside = append(m.Aside, Aside{c.label.Written, "its " + what + " is not that of the scalp sites"})
	}
	return out
}

// takeAll makes one site or other of each signal.
func (m *Montage) takeAll(scalp, others []candidate, signals []recording.Signal) error {
	m.Reference = scalp[0].label.Reference
	for _, c := range append(scalp, others...) {
		if i := slices.Index(slices.Concat(m.Names, m.Others), c.label.Site); i >= 0 {
			return fmt.Errorf("signals %q and %q are the same site: keep one", signals[m.Signals[i]].Label,
				c.label.Written)
		}
		if err := m.read(c); err != nil {
			return err
		}
		if c.label.Site.Kind() == layout.Scalp {
			m.Sites, m.Names = append(m.Sites, c.label.SiteText), append(m.Names, c.label.Site)
		} else {
			m.Others = append(m.Others, c.label.Site)
		}
	}
	return nil
}

// read adds a candidate's signal to those that are read.
func (m *Montage) read(c candidate) error {
	gain, err := recording.Microvolts(c.Unit)
	if err != nil {
		return fmt.Errorf("signal %q: %w", c.label.Written, err)
	}
	m.Signals, m.Gains = append(m.Signals, c.index), append(m.Gains, gain)
	return nil
}

// sort tells scalp sites from ears and mastoids, and sets the rest aside.
func (m *Montage) sort(signals []recording.Signal, aside map[int]string) (scalp, others []candidate) {
	for i, s := range signals {
		l, err := layout.ParseLabel(s.Label)
		why, out := aside[i]
		switch {
		case out:
			m.Aside = append(m.Aside, Aside{s.Label, why})
		case err != nil:
			m.Aside = append(m.Aside, Aside{s.Label, err.Error()})
		case l.Kind == layout.SignalLabel:
			m.Aside = append(m.Aside, Aside{s.Label, "no electrode on the scalp"})
		case l.Site.Kind() == layout.Scalp:
			scalp = append(scalp, candidate{s, l, i})
		default:
			others = append(others, candidate{s, l, i})
		}
	}
	return scalp, others
}

// SetsAside reports whether a site's signal is there and not used.
func (m *Montage) SetsAside(site layout.Name) bool {
	return slices.ContainsFunc(m.Aside, func(a Aside) bool {
		l, err := layout.ParseLabel(a.Label)
		return err == nil && l.Site == site
	})
}

// MixedUnits lists the units of the signals, unless all are one.
func (m *Montage) MixedUnits(signals []recording.Signal) []string {
	if slices.Max(m.Gains) == slices.Min(m.Gains) {
		return nil
	}
	var units []string
	for _, i := range m.Signals {
		units = list.AppendNew(units, strings.TrimSpace(signals[i].Unit))
	}
	return units
}

// firstReason quotes why the first signal was set aside, as an example.
func firstReason(aside []Aside) string {
	if len(aside) == 0 {
		return ""
	}
	return fmt.Sprintf(" (%q: %s)", aside[0].Label, aside[0].Reason)
}

// Find returns the index among sites and others of each name.
func (m *Montage) Find(names []layout.Name) ([]int, error) {
	all := slices.Concat(m.Names, m.Others)
	indexes := make([]int, len(names))
	for k, n := range names {
		i := slices.Index(all, n)
		if i < 0 {
			return nil, fmt.Errorf("the recording has no %s: it has %s", n,
				strings.Join(list.Texts(all), " "))
		}
		indexes[k] = i
	}
	return indexes, nil
}
