package erp

import (
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

// Describe says in words what is taken out, and what dimension is left.
func (r *Removal) Describe() string {
	counts := map[string]int{}
	var looks []string
	removed := 0
	for _, d := range r.Decisions {
		if d.Remove {
			text := d.Looks
			if text == "" {
				text = "not said what"
			}
			looks = list.AppendNew(looks, text)
			counts[text]++
			removed++
		}
	}
	if removed == 0 {
		return fmt.Sprintf("none of %d independent components", r.File.Rank)
	}
	slices.Sort(looks)
	for i, l := range looks {
		looks[i] = fmt.Sprintf("%s %d", l, counts[l])
	}
	return fmt.Sprintf("%d of %d independent components (%s), which leaves %d dimensions", removed, r.File.Rank,
		strings.Join(looks, ", "), r.File.Rank-removed)
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
