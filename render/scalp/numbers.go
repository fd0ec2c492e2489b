package scalp

import (
	"iter"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Number is a value behind a map, as it may be published beside the figure.
type Number struct {
	Row, Column string
	Name        string // of the site, or of the view
	Place       r3.Vec // mm for a site, the unit direction for a place of the field
	Value       float64
}

// AtSites yields what was given at the sites, row by row: the amplitudes,
// whatever the sheet shows of them.
func (p *Plate) AtSites() iter.Seq[Number] {
	return func(yield func(Number) bool) {
		for _, r := range p.sheet.Rows {
			sites, _ := r.Values.Dims()
			for column, name := range p.sheet.Columns {
				for i := range sites {
					n := Number{Row: r.Title, Column: name, Value: r.Values.At(i, column)}
					if i < len(r.Marks) {
						n.Name, n.Place = r.Marks[i].Site.Name, r.Marks[i].Site.Position
					}
					if !yield(n) {
						return
					}
				}
			}
		}
	}
}

// Drawn yields the field of every map at the nodes that its colours and
// contours are interpolated from.
func (p *Plate) Drawn() iter.Seq[Number] {
	return func(yield func(Number) bool) {
		for _, m := range p.panels {
			view := m.frame.View
			for node, value := range m.field.values {
				at := m.field.Point(node)
				if view.inside(at) < 0 {
					continue
				}
				n := Number{p.sheet.Rows[m.row].Title, p.sheet.Columns[m.column], views[view.View].name,
					view.fromChart(at), value}
				if !yield(n) {
					return
				}
			}
		}
	}
}
