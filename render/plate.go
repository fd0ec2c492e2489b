package render

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A Plate is a sheet whose maps are computed and whose page is laid out. It is
// a canvas.Figure.
type Plate struct {
	// Scale is what colours and contours mean.
	Scale Scale
	// Supported is, for each row, the distance in mm from the nearest electrode
	// beyond which its maps are hatched as extrapolated; zero without electrodes.
	Supported []float64
	// SitesNamed counts the names that found room on one map of each row.
	SitesNamed []int

	sheet     *Sheet
	panels    []*panel
	reaches   []*reach
	page      page
	furniture []furniture
}

// Compose checks the sheet, computes its maps and lays out the page. The sheet
// must not change afterwards.
func (s *Sheet) Compose() (*Plate, error) {
	if err := s.validate(); err != nil {
		return nil, err
	}
	g := s.grid()
	panels, err := s.panels(g)
	if err != nil {
		return nil, err
	}
	p := &Plate{Scale: s.measure(g, panels), sheet: s, panels: panels}
	for i := range s.Rows {
		r := newReach(g, s.Rows[i].Marks)
		p.reaches = append(p.reaches, r)
		supported := 0.
		if r != nil {
			supported = r.millimetres
		}
		p.Supported = append(p.Supported, supported)
	}
	if err := p.layOut(); err != nil {
		return nil, err
	}
	for _, f := range p.furniture {
		p.SitesNamed = append(p.SitesNamed, len(f.labels))
	}
	return p, nil
}

// A Doubt names a site that the other sites contradict on one map, which is
// ringed there.
type Doubt struct{ Row, Column, Site int } // indices from 0; Site as in Values

// Doubts lists the doubtful sites, map by map.
func (p *Plate) Doubts() []Doubt {
	var list []Doubt
	for _, m := range p.panels {
		for _, site := range m.doubtful {
			list = append(list, Doubt{m.row, m.column, site})
		}
	}
	return list
}

// Size of the page, in whole picture elements.
func (p *Plate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is the sheet's name.
func (p *Plate) Title() string {
	if p.sheet.Name != "" {
		return p.sheet.Name
	}
	return "Scalp maps"
}

// Description says in words what the maps show and between which values.
func (p *Plate) Description() string {
	s := p.sheet
	var rows []string
	for _, r := range s.Rows {
		if r.Title != "" {
			rows = append(rows, r.Title)
		}
	}
	text := fmt.Sprintf("Maps of %s over the scalp, seen from above, at %s", s.quantityName(), strings.Join(s.Columns, ", "))
	if len(rows) > 0 {
		text += ", for " + strings.Join(rows, "; ")
	}
	return fmt.Sprintf("%s. Values from %s to %s. %s", text,
		number(p.Scale.Least, 3), s.amount(p.Scale.Greatest), strings.Join(p.caption(), " "))
}
