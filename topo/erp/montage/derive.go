package montage

import (
	"fmt"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/internal/list"
	"calotte/topo/recording"
)

// derive sets the candidates, which state different references, against one.
func (m *Montage) derive(candidates []candidate) error {
	derivations := make([]Derivation, len(candidates))
	for i, c := range candidates {
		if err := m.read(c); err != nil {
			return err
		}
		derivations[i] = Derivation{string(c.label.Site), c.label.Reference}
	}
	r, err := Rederive(derivations, "")
	if err != nil {
		return fmt.Errorf("the labels state different references: %w", err)
	}
	m.Reference, m.Derived = r.Reference, true
	var others [][]Term
	for i, text := range r.Sites {
		name, err := layout.Parse(text)
		if err != nil {
			return err
		}
		var terms []Term
		for k, w := range r.Mixing.RawRowView(i) {
			if w != 0 {
				terms = append(terms, Term{k, w})
			}
		}
		if name.Kind() == layout.Scalp {
			m.Sites, m.Names, m.Mix = append(m.Sites, text), append(m.Names, name), append(m.Mix, terms)
		} else {
			m.Others, others = append(m.Others, name), append(others, terms)
		}
	}
	m.Mix = append(m.Mix, others...)
	return nil
}

// restore makes a site of the recorded reference. Against itself it is zero;
// against any other reference it is what was lost in recording.
func (m *Montage) restore(site layout.Name) error {
	if site.Kind() != layout.Scalp {
		return fmt.Errorf("%s is no scalp site: only a reference on the scalp can be restored", site)
	}
	if _, err := m.Find([]layout.Name{site}); err == nil {
		return fmt.Errorf("%s was recorded, so it was not the reference: name the site that was", site)
	}
	if stated, err := layout.Parse(m.Reference); err == nil && stated != site {
		return fmt.Errorf("the recording's reference is %s by its labels, not %s", m.Reference, site)
	}
	if m.Mix == nil {
		for i := range m.Signals {
			m.Mix = append(m.Mix, []Term{{i, 1}})
		}
	}
	n := len(m.Sites)
	m.Sites, m.Names = append(m.Sites, string(site)), append(m.Names, site)
	m.Mix = append(m.Mix[:n:n], append([][]Term{nil}, m.Mix[n:]...)...)
	if m.Reference == "" {
		m.Reference = string(site)
	}
	return nil
}

// Recorded are the rows of the sites that were recorded: all but that of the
// reference, which is zero and no flat electrode.
func (m *Montage) Recorded() []int {
	rows := list.Indexes(len(m.Sites))
	if m.Mix == nil {
		return rows
	}
	return slices.DeleteFunc(rows, func(i int) bool { return len(m.Mix[i]) == 0 })
}

// SignalNames names each signal that is read by its site or ear, where it is
// that of one, else by its label.
func (m *Montage) SignalNames(signals []recording.Signal) []string {
	rows := append(slices.Clone(m.Sites), list.Texts(m.Others)...)
	if m.Mix == nil {
		return rows
	}
	names := make([]string, len(m.Signals))
	for k, i := range m.Signals {
		names[k] = signals[i].Label
	}
	for i, terms := range m.Mix {
		if len(terms) == 1 && terms[0].Weight == 1 {
			names[terms[0].Signal] = rows[i]
		}
	}
	return names
}

// Apply returns the sites and others of an epoch, row × sample, from its
// signals in µV. Without Mix these are the signals themselves, else the memory
// to is used.
func (m *Montage) Apply(to, signals [][]float64) [][]float64 {
	if m.Mix == nil {
		return signals[:len(m.Signals)]
	}
	for i, terms := range m.Mix {
		row := to[i]
		clear(row)
		for _, term := range terms {
			for t, x := range signals[term.Signal][:len(row)] {
				row[t] += term.Weight * x
			}
		}
	}
	return to
}
