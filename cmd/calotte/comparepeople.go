package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/archive"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// A side is one of the two things compared: a condition, or a group.
type side struct {
	title  string
	people []*erp.Average
}

// sides finds the two conditions or groups among the inputs.
func (f *compareFlags) sides(t *tables) ([2]side, error) {
	var out [2]side
	var list []side
	add := func(title string, people ...*erp.Average) {
		k := slices.IndexFunc(list, func(s side) bool { return s.title == title })
		if k < 0 {
			list, k = append(list, side{title: title}), len(list)
		}
		list[k].people = append(list[k].people, people...)
	}
	grand := 0
	for i, avg := range t.averages {
		if avg.Info.Kind != erp.GrandAverage {
			add(avg.Info.Title(), avg)
			continue
		}
		grand++
		people, read, err := archive.LoadMembers(t.paths[i], avg.Info, append([]string{filepath.Dir(t.paths[i])}, f.folders...))
		if err != nil {
			return out, err
		}
		if avg.Info.Minus != "" {
			return out, fmt.Errorf("%s is a difference already: give the two conditions that it is of", t.paths[i])
		}
		t.files = append(t.files, read...)
		title := avg.Info.Title()
		if len(t.averages) == 2 && grand == 2 && list[0].title == title {
			title, list[0].title = title+", "+avg.Info.Name, list[0].title+", "+t.averages[0].Info.Name // two groups
		}
		add(title, people...)
	}
	if len(list) != 2 {
		var titles []string
		for _, s := range list {
			titles = append(titles, fmt.Sprintf("%s (%d)", s.title, len(s.people)))
		}
		return out, fmt.Errorf("compare takes two conditions or groups, and there are %d: %s", len(list), strings.Join(titles, ", "))
	}
	copy(out[:], list)
	return out, nil
}

// prepared is what a test needs.
type prepared struct {
	design     inference.Design
	paired     bool
	data       *mat.Dense // person × (site·samples + sample)
	sites      []string
	times      []float64
	neighbours [][]int
	title      string // "known minus novel"
	matching   string
	synthetic  bool
	reference  string
	extent     string // "12 people"
	order      []int  // of the sites in a picture
}

// prepare matches people, and lays their values out.
func (f *compareFlags) prepare(a *app, c *cobra.Command, sides [2]side, head *headModel) (*prepared, error) {
	p := &prepared{title: sides[0].title + " minus " + sides[1].title}
	everyone := slices.Concat(sides[0].people, sides[1].people)
	first := everyone[0]
	for _, avg := range everyone {
		p.synthetic = p.synthetic || avg.Info.Synthetic
		if !slices.Equal(avg.Times, first.Times) {
			return nil, fmt.Errorf("%s (%s) and %s (%s) have other samples: bring all to one rate and epoch", first.Info.Name, first.Info.Title(), avg.Info.Name, avg.Info.Title())
		}
	}
	if err := p.shareSites(everyone, f.shared); err != nil {
		return nil, err
	}
	rows, err := p.match(sides)
	if err != nil {
		return nil, err
	}
	if !c.Flags().Changed("during") {
		f.during = unit.Span{From: 0, To: unit.Time(first.Times[len(first.Times)-1])}
	}
	from, to := len(first.Times), 0
	for i, t := range first.Times {
		if t >= float64(f.during.From)-1e-9 && t <= float64(f.during.To)+1e-9 {
			from, to = min(from, i), i+1
		}
	}
	if to-from < 1 {
		return nil, fmt.Errorf("--during %v holds no sample: the averages reach from %.4g to %.4g s", f.during, first.Times[0], first.Times[len(first.Times)-1])
	}
	p.times = first.Times[from:to]
	p.data = mat.NewDense(len(rows), len(p.sites)*len(p.times), nil)
	for i, values := range rows {
		for s, name := range p.sites {
			copy(p.data.RawRowView(i)[s*len(p.times):], values(name)[from:to])
		}
	}
	sites, err := head.sites(p.sites)
	if err != nil {
		return nil, err
	}
	p.order, p.reference = frontToBack(sites), first.Info.Reference
	p.extent = fmt.Sprintf("%d people", len(rows))
	if !p.paired {
		p.extent = fmt.Sprintf("%d and %d people", len(sides[0].people), len(sides[1].people))
	}
	var positions []r3.Vec
	for _, s := range sites {
		positions = append(positions, s.Position)
	}
	p.neighbours, err = inference.Neighbours(positions)
	return p, err
}

// shareSites are the sites of all people, in the order of the first.
func (p *prepared) shareSites(everyone []*erp.Average, some bool) error {
	var missing []string
	for _, s := range everyone[0].Sites {
		all := true
		for _, avg := range everyone {
			if siteRow(avg, s) == nil {
				all = false
				missing = append(missing, fmt.Sprintf("%s lacks %s", avg.Info.Name, s))
			}
		}
		if all {
			p.sites = append(p.sites, s)
		}
	}
	for _, avg := range everyone {
		for _, s := range avg.Sites {
			if siteRow(everyone[0], s) == nil {
				missing = append(missing, fmt.Sprintf("%s lacks %s", everyone[0].Info.Name, s))
			}
		}
	}
	slices.Sort(missing)
	missing = slices.Compact(missing)
	if len(missing) > 0 && !some {
		const most = 5
		text := strings.Join(missing[:min(most, len(missing))], "; ")
		if more := len(missing) - most; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		return fmt.Errorf("people have other sites: %s: add --shared to test those that all have, or calotte combine --onto first", text)
	}
	return nil
}

// siteRow is the values of a site, whatever its spelling; nil where there is none.
func siteRow(avg *erp.Average, name string) []float64 {
	if i := slices.Index(avg.Sites, name); i >= 0 {
		return avg.Mean[i]
	}
	for n, i := range layout.Rows(avg.Sites) {
		if m, ok := layout.Rows([]string{name})[n]; ok && m == 0 {
			return avg.Mean[i]
		}
	}
	return nil
}

// match pairs people by their labels, or keeps two groups whose labels all differ.
func (p *prepared) match(sides [2]side) (rows []func(site string) []float64, err error) {
	labels := [2]map[string]*erp.Average{{}, {}}
	for k, s := range sides {
		for _, avg := range s.people {
			if labels[k][avg.Info.Name] != nil {
				return nil, fmt.Errorf("%s is there twice in %s: give each person once", avg.Info.Name, s.title)
			}
			labels[k][avg.Info.Name] = avg
		}
	}
	var matched, left []string
	for k, s := range sides {
		for _, avg := range s.people {
			switch name := avg.Info.Name; {
			case labels[1-k][name] == nil:
				left = append(left, fmt.Sprintf("%s (%s)", name, s.title))
			case k == 0:
				matched = append(matched, name)
			}
		}
	}
	switch {
	case len(matched) > 0 && len(left) > 0:
		return nil, fmt.Errorf("people without a partner in the other condition: %s: leave them out", strings.Join(left, ", "))
	case len(matched) > 0:
		p.paired = true
		p.matching = "matched by label: " + strings.Join(matched, ", ")
		for _, name := range matched {
			a, b := labels[0][name], labels[1][name]
			rows = append(rows, func(site string) []float64 {
				one, two := siteRow(a, site), siteRow(b, site)
				out := make([]float64, len(one))
				for i := range one {
					out[i] = one[i] - two[i]
				}
				return out
			})
		}
		p.design, err = inference.Paired(len(rows))
	default:
		p.matching = fmt.Sprintf("two groups of %d and %d people", len(sides[0].people), len(sides[1].people))
		for _, s := range sides {
			for _, avg := range s.people {
				rows = append(rows, func(site string) []float64 { return siteRow(avg, site) })
			}
		}
		p.design, err = inference.Groups(len(sides[0].people), len(sides[1].people))
	}
	return rows, err
}
