package erp

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/unmix"
)

// A Removal takes independent components out of a person's recordings.
type Removal struct {
	File      *unmix.File
	Decisions []unmix.Decision
}

// Account says which components are taken out.
func (r *Removal) Account() average.Unmixed {
	out := average.Unmixed{Components: len(r.File.Components), Dimensions: r.File.Dimensions, Suggested: true,
		Filter: r.File.Filter, Looks: map[string]int{}}
	decided := map[int]bool{}
	for _, d := range r.Decisions {
		if d.Remove {
			decided[d.Component] = true
			out.Removed++
			out.Looks[cmp.Or(d.Looks, "not said what")]++
		}
	}
	for _, c := range r.File.Components {
		out.Suggested = out.Suggested && decided[c.Component] == c.Remove
	}
	return out
}

// A remover is a Removal on the rows of a montage; nil: nothing is taken out.
type remover struct {
	rows    []int // of the montage
	without *mat.Dense
	column  []float64 // of one sample
}

// newRemover finds the rows that the components know among those of a
// recording.
func newRemover(r *Removal, m *montage.Montage) (*remover, error) {
	if r == nil {
		return nil, nil
	}
	if m.Reference != r.File.Reference {
		return nil, fmt.Errorf("unmix: the components are of recordings against %q, and this is "+
			"against %q: unmix "+
			"the recordings that are averaged", average.OrNotKnown(r.File.Reference),
			average.OrNotKnown(m.Reference))
	}
	all := list.Texts(append(slices.Clone(m.Names), m.Others...))
	out := &remover{without: r.File.Without(r.Decisions), column: make([]float64, len(r.File.Rows))}
	for _, name := range r.File.Rows {
		i := slices.Index(all, name)
		if i < 0 {
			return nil, fmt.Errorf("unmix: the components rest on %s, which is not among the sites: "+
				"unmix again "+
				"without it (calotte unmix --leave-out %s)", name, name)
		}
		out.rows = append(out.rows, i)
	}
	return out, nil
}

// apply takes the components out of an epoch, row × sample in µV, in place.
func (r *remover) apply(rows [][]float64) {
	if r == nil {
		return
	}
	for t := range rows[0] {
		for k, i := range r.rows {
			r.column[k] = rows[i][t]
		}
		for k, i := range r.rows {
			sum := 0.0
			for j, w := range r.without.RawRowView(k) {
				sum += w * r.column[j]
			}
			rows[i][t] = sum
		}
	}
}

// unmixCautions name the sites that the components do not know and that are
// averaged all the same.
func (p *Pipeline) unmixCautions(pl *plan) []string {
	if p.Unmix == nil {
		return nil
	}
	var sites []string
	for _, b := range p.Unmix.File.LeftOut {
		if slices.Contains(list.Texts(pl.montage.Names), b.Site) &&
			!slices.Contains(list.Texts(pl.chain.repair), b.Site) {
			sites = list.AppendNew(sites, b.Site)
		}
	}
	if sites == nil {
		return nil
	}
	return []string{fmt.Sprintf("%s was left out when components were found, and keeps what is taken out of the "+
		"others: repair it, --repair %s", strings.Join(sites, " "), strings.Join(sites, ","))}
}
