package erp

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/recording"
)

// A Montage says which signals of a recording are potentials of which sites.
// All its sites share one recorded reference: signals against another one are
// never mapped together.
type Montage struct {
	Sites     []string      // scalp sites as written, in the recording's order
	Names     []layout.Name // the same in canonical spelling
	Others    []layout.Name // ears and mastoids, which can serve as a reference
	Signals   []int         // index of the signal of each site, then of each other
	Gains     []float64     // what takes the signal's unit to µV
	Reference string        // as the labels give it, empty when they do not
	Aside     []Aside
}

// An Aside is a signal that is no potential of a known site, and why.
type Aside struct{ Label, Reason string }

// A candidate is a signal whose label names a site, an ear or a mastoid.
type candidate struct {
	recording.Signal
	label layout.Label
	index int // among the signals
}

// differs says in what c cannot be combined with another, empty when it can.
func (c candidate) differs(o candidate) string {
	switch {
	case c.label.Reference != o.label.Reference:
		return "reference"
	case c.SamplesPerRecord != o.SamplesPerRecord:
		return "sampling rate"
	}
	return ""
}

// NewMontage sorts the signals of a recording. Signals that are no sites are
// set aside with a reason, and so are ears and mastoids that cannot be set
// against the sites because their reference, rate or unit is another. Two signals
// of one site, sites against different references as in a bipolar montage, sites
// of different rates, a unit that is no voltage, and signals without any site are
// errors.
func NewMontage(signals []recording.Signal) (*Montage, error) {
	m := &Montage{}
	scalp, others := m.sort(signals)
	if len(scalp) == 0 {
		return nil, fmt.Errorf("none of the %d signals is named after a scalp site%s", len(signals), firstReason(m.Aside))
	}
	first := scalp[0]
	m.Reference = first.label.Reference
	for _, c := range scalp {
		if what := c.differs(first); what != "" {
			return nil, fmt.Errorf("%q and %q have different %ss, so they cannot be mapped together: give signals that share one",
				first.label.Written, c.label.Written, what)
		}
		if err := m.take(c, signals); err != nil {
			return nil, err
		}
		m.Sites = append(m.Sites, c.label.SiteText)
		m.Names = append(m.Names, c.label.Site)
	}
	for _, c := range others {
		what := c.differs(first)
		if _, err := recording.Microvolts(c.Unit); what == "" && err != nil {
			what = "unit"
		}
		if what != "" {
			m.Aside = append(m.Aside, Aside{c.label.Written, "its " + what + " is not that of the scalp sites"})
			continue
		}
		if err := m.take(c, signals); err != nil {
			return nil, err
		}
		m.Others = append(m.Others, c.label.Site)
	}
	return m, nil
}

// sort tells scalp sites from ears and mastoids, and sets the rest aside.
func (m *Montage) sort(signals []recording.Signal) (scalp, others []candidate) {
	for i, s := range signals {
		l, err := layout.ParseLabel(s.Label)
		switch {
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

// take adds a candidate's signal, unless its site is there already.
func (m *Montage) take(c candidate, signals []recording.Signal) error {
	if i := slices.Index(slices.Concat(m.Names, m.Others), c.label.Site); i >= 0 {
		return fmt.Errorf("signals %q and %q are the same site: keep one", signals[m.Signals[i]].Label, c.label.Written)
	}
	gain, err := recording.Microvolts(c.Unit)
	if err != nil {
		return fmt.Errorf("signal %q: %w", c.label.Written, err)
	}
	m.Signals = append(m.Signals, c.index)
	m.Gains = append(m.Gains, gain)
	return nil
}

// mixedUnits lists the units of the sites' signals, unless all are one.
func (m *Montage) mixedUnits(signals []recording.Signal) []string {
	if sites := m.Gains[:len(m.Sites)]; slices.Max(sites) == slices.Min(sites) {
		return nil
	}
	var units []string
	for _, i := range m.Signals[:len(m.Sites)] {
		units = appendNew(units, strings.TrimSpace(signals[i].Unit))
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

// find returns the index among sites and others of each name.
func (m *Montage) find(names []layout.Name) ([]int, error) {
	all := slices.Concat(m.Names, m.Others)
	indexes := make([]int, len(names))
	for k, n := range names {
		i := slices.Index(all, n)
		if i < 0 {
			return nil, fmt.Errorf("the recording has no %s: it has %s", n, strings.Join(asTexts(all), " "))
		}
		indexes[k] = i
	}
	return indexes, nil
}
