package scalp

import (
	"gonum.org/v1/plot/vg"

	"gonum.org/v1/gonum/mat"

	"calotte/render/paper"
	"calotte/topo"
)

// Departures lists, for each column, the electrodes that depart from what the
// others predict, as the sites of the row.
func (k *Knowledge) Departures(values mat.Matrix) ([][]topo.Departure, error) {
	own := ownValues(values, k.Own)
	c, err := k.Spline.Solve(own)
	if err != nil {
		return nil, err
	}
	found, err := k.Spline.Departures(own, c)
	if err != nil {
		return nil, err
	}
	list := make([][]topo.Departure, columnsOf(values))
	for _, d := range found {
		d.Site = k.Own[d.Site]
		list[d.Column] = append(list[d.Column], d)
	}
	return list, nil
}

// rings are drawn around the departing sites of a map.
func (p *panel) rings(at Frame, marks []Mark, radius vg.Length) vg.Path {
	var path vg.Path
	for _, d := range p.departing {
		if d.Site < len(marks) && at.View.Visible(marks[d.Site].Site.Position) {
			paper.Circle(&path, at.Project(marks[d.Site].Site.Position), ringRadius(radius))
		}
	}
	return path
}

func ringRadius(mark vg.Length) vg.Length { return 2*mark + 1 }

func drawRings(c vg.Canvas, rings vg.Path) {
	paper.Stroke(c, rings, paper.Pale, 1.4)
	paper.Stroke(c, rings, paper.Ink, .6)
}
