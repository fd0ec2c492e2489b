package scalp

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// A Plate is a sheet whose maps are computed and whose page is laid out. It is
// a canvas.Figure.
type Plate struct {
	// Scales are what colours and contours mean, one or more by the sheet's
	// Scaling.
	Scales []Scale
	// Supported is, for each row, the distance in mm from the nearest
	// electrode beyond which its maps are hatched as extrapolated; zero
	// without electrodes.
	Supported []float64
	// LeftOut is the root mean square, in µV, of how far the sites'
	// potentials lie from what the others predict where each is left out in
	// turn, over all maps.
	LeftOut float64
	// SitesNamed counts the names that found room on one map of each row,
	// in the first view.
	SitesNamed []int

	sheet     *Sheet
	panels    []*panel
	scaleOf   []int    // for each row
	reaches   []*Reach // for each row, and in it for each view
	page      page
	furniture []furniture // likewise
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
	for i := range s.Rows {
		supported := 0.
		for _, g := range grids {
			r := NewReach(g, s.Rows[i].Marks)
			p.reaches = append(p.reaches, r)
			if r != nil {
				supported = r.millimetres
			}
		}
		p.Supported = append(p.Supported, supported)
	}
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

// A Doubt names a site that the other sites contradict on one map, which is
// ringed there.
type Doubt struct{ Row, Column, Site int } // indices from 0; Site as in Values

// Doubts lists the doubtful sites, map by map.
func (p *Plate) Doubts() []Doubt {
	var list []Doubt
	for _, m := range p.panels {
		if m.view > 0 {
			continue
		}
		for _, site := range m.doubtful {
			list = append(list, Doubt{m.row, m.column, site})
		}
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
