package scalp

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
	"calotte/topo"
)

// A Plate is a sheet whose maps are computed and whose page is laid out. It is
// a canvas.Figure.
type Plate struct {
	// Scales are what colours and contours mean, one or more by the sheet's
	// Scaling.
	Scales []Scale
	// LeftOut is the root mean square, in µV, of how far the sites'
	// potentials lie from what the others predict where each is left out in
	// turn, over all maps.
	LeftOut float64
	// SitesNamed counts the names that found room on one map of each row,
	// in the first view.
	SitesNamed []int

	sheet     *Sheet
	panels    []*panel
	scaleOf   []int // for each row
	page      page
	furniture []furniture // for each row, and in it for each view
}

// Compose checks the sheet, computes its maps and lays out the page. The sheet
// must not change afterwards.
func (s *Sheet) Compose() (*Plate, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	grids := s.Grids()
	panels, leftOut, err := s.panels(grids)
	if err != nil {
		return nil, err
	}
	p := &Plate{LeftOut: leftOut, sheet: s, panels: panels}
	p.Scales, p.scaleOf = s.measureScales(grids, panels)
	if err := p.layOut(); err != nil {
		return nil, err
	}
	for i := range s.Rows {
		p.SitesNamed = append(p.SitesNamed, len(p.furniture[i*len(grids)].labels))
	}
	return p, nil
}

// scale is that of a map.
func (p *Plate) scale(m *panel) Scale { return p.Scales[p.scaleOf[m.row]] }

// A Departing site is not what the other sites predict on one map, and is
// ringed there.
type Departing struct {
	Row int
	topo.Departure
}

// Departing lists those sites, map by map.
func (p *Plate) Departing() []Departing {
	var list []Departing
	for _, m := range p.panels {
		if m.view > 0 {
			continue
		}
		for _, d := range m.departing {
			list = append(list, Departing{m.row, d})
		}
	}
	return list
}

// knowledge is that of each row.
func (p *Plate) knowledge() []*Knowledge {
	var list []*Knowledge
	for i := range p.sheet.Rows {
		list = append(list, p.panels[p.sheet.place(i, 0, 0)].knowledge)
	}
	return list
}

// Size of the page, in whole picture elements.
func (p *Plate) Size() (width, height vg.Length) { return p.page.Width, p.page.Height }

// FirstLine is where the maps of the first row's columns are centred that stand
// in the first line, from the left edge of the page.
func (p *Plate) FirstLine() []vg.Length {
	var middles []vg.Length
	for _, m := range p.panels[:min(p.page.perLine, len(p.sheet.Columns))] {
		middles = append(middles, m.frame.Center.X)
	}
	return middles
}

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
	text := fmt.Sprintf("Maps of %s over the scalp, seen from %s, at %s", s.quantityName(), fromText(s.views()),
		strings.Join(s.Columns, ", "))
	if len(rows) > 0 {
		text += ", for " + strings.Join(rows, "; ")
	}
	least, greatest := math.Inf(1), math.Inf(-1)
	for _, scale := range p.Scales {
		least, greatest = min(least, scale.Least), max(greatest, scale.Greatest)
	}
	return fmt.Sprintf("%s. Values from %s to %s. %s", text,
		paper.Number(least, 3), s.amount(greatest), strings.Join(p.caption(), " "))
}
