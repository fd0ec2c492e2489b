package main

import (
	"bytes"
	"fmt"
	"math"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/render/paper"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/contrast"
	"calotte/topo/provenance"
)

// mostMapped is how many clusters have a map.
const mostMapped = 4

// draw draws maps of t where the largest clusters are strongest, their sites
// marked where p* is .05 or less, and below them t over sites and time.
func (f *compareFlags) draw(c *cobra.Command, out *disk.Files, found *contrast.Compared, head *wearer.Head,
	clusters averages.SavedTable, made provenance.Record) error {
	picture := f.picture(found)
	plate, err := picture.Compose()
	if err != nil {
		return err
	}
	stack := &paper.Stack{Name: "t of " + found.Title, Figures: []canvas.Figure{plate}}
	if len(found.Clusters) > 0 {
		sheet, err := f.maps(found, head)
		if err != nil {
			return err
		}
		sheet.Limit = plate.Limit() // one scale for both
		maps, err := sheet.Compose()
		if err != nil {
			return err
		}
		stack.Figures = []canvas.Figure{maps, plate}
	}
	if err := stack.Validate(); err != nil {
		return err
	}
	points := figure.Numbers{Name: "t", Text: func() []byte {
		var b bytes.Buffer
		figure.Cells(&b, "site", "time", "t")
		for i, row := range picture.Values {
			for k, v := range row {
				figure.Cells(&b, picture.Sites[i], picture.Times[k], v)
			}
		}
		return b.Bytes()
	}}
	return f.figure.Deliver(c.Context(), out, stack, made,
		figure.TableOf("clusters", clusters.Columns, clusters.Rows), points)
}

// points are what is tested by itself, in words.
func (f *compareFlags) points() string {
	if f.correct == contrast.ByClusters {
		return "clusters"
	}
	return "points"
}

// picture is t at every site: those on the left, in the middle and on the
// right, each from the front to the back.
func (f *compareFlags) picture(found *contrast.Compared) *chart.SiteTime {
	caption := "No " + f.points() + " of p* 0.05 or less, so all is pale: the bar's colours hold for full ones. "
	if found.AnyShown() {
		caption = "Full colours: " + f.points() + " of p* 0.05 or less; all else is pale. "
	}
	if found.Synthetic {
		caption = "Synthetic data. " + caption
	}
	out := &chart.SiteTime{Title: "t of " + found.Title, Unit: degrees(found), Times: found.Times,
		Width: f.figure.Points(), Caption: caption + found.Caution()}
	shown := found.Shown()
	order := chart.FrontToBack(found.Sites)
	for _, third := range []struct {
		title string
		side  int
	}{{"left", -1}, {"middle", 0}, {"right", 1}} {
		group := chart.Group{Title: third.title}
		for _, i := range order {
			if sideOf(found.Sites[i]) != third.side {
				continue
			}
			group.Sites++
			out.Sites = append(out.Sites, found.Sites[i].Name)
			out.Values = append(out.Values, found.T[i])
			out.Strong = append(out.Strong, shown[i])
		}
		if group.Sites > 0 {
			out.Groups = append(out.Groups, group)
		}
	}
	return out
}

// nearMiddle is how far to a side a site of the middle may lie, in mm: measured
// ones are not exactly there.
const nearMiddle = 5

// sideOf is -1 for a site on the left of the head, 1 on the right and 0 in the
// middle.
func sideOf(s layout.Site) int {
	switch {
	case s.Position.X < -nearMiddle:
		return -1
	case s.Position.X > nearMiddle:
		return 1
	}
	return 0
}

func degrees(found *contrast.Compared) string {
	return fmt.Sprintf("t, %d degrees of freedom", found.Freedom())
}

// maps are those of t at the strongest sample of the largest clusters, in the
// order of time, from the values of t at the sites.
func (f *compareFlags) maps(found *contrast.Compared, head *wearer.Head) (*scalp.Sheet, error) {
	spline, err := topo.New(found.Sites, topo.Options{Order: 4, Radius: head.Radius})
	if err != nil {
		return nil, err
	}
	moments, p := found.Moments(mostMapped)
	row := scalp.Row{
		Title: found.Title, Note: found.Extent, Spline: spline, Marks: scalp.MeasuredAt(found.Sites),
	}
	values := mat.NewDense(len(found.Sites), len(moments), nil)
	row.Values = values
	sheet := &scalp.Sheet{
		Width: f.figure.Points(), Head: head.Model, Digitised: head.Measured != nil, Reference: found.Reference,
		Synthetic: found.Synthetic,
		Statistic: degrees(found),
		Remarks: []string{"t of the sites, interpolated: between and beyond them nothing was tested. " +
			"Maps are at " +
			"the strongest samples of the largest clusters, chosen by the data."},
	}
	for column, m := range moments {
		title := fmt.Sprintf("%s, p* %.2g", contrast.Millis(m.Time), m.P)
		if m.P > contrast.Alpha {
			title = fmt.Sprintf("%s, not significant, p* %.2g", contrast.Millis(m.Time), m.P)
		}
		sheet.Columns = append(sheet.Columns, title)
		sheet.Pale = append(sheet.Pale, m.P > contrast.Alpha)
		values.SetCol(column, m.T)
		row.Chosen = append(row.Chosen, m.Shown)
	}
	if math.IsNaN(p) {
		row.Chosen = nil
		sheet.Remarks = append(sheet.Remarks, "Nothing has a p* of 0.05 or less.")
	} else {
		sheet.Choice = map[string]string{"clusters": "in a cluster of p* 0.05 or less",
			"points": "p* 0.05 or less at this sample"}[f.points()]
		sheet.Choice += fmt.Sprintf(", here up to %.2g", p)
	}
	sheet.Rows = []scalp.Row{row}
	return sheet, nil
}
