package main

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/render"
	"calotte/render/canvas"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/inference"
)

// mostMapped is how many clusters have a map.
const mostMapped = 4

// draw draws maps of t where the largest clusters are strongest, their sites marked where
// p* is .05 or less, and below them t over sites and time.
func (f *compareFlags) draw(a *app, c *cobra.Command, out *disk.Files, p *prepared, test *inference.Clusters, head *headModel, clusters savedTable, sources []erp.Source) error {
	caution := extentCaution
	if f.correct != byClusters {
		caution = "p* of single points: " + map[correction]string{byLargest: "by the largest |t|.", byRate: "by the false discovery rate."}[f.correct]
	}
	picture := p.picture(test, caution, f)
	plate, err := picture.Compose()
	if err != nil {
		return err
	}
	stack := &render.Stack{Name: "t of " + p.title, Figures: []canvas.Figure{plate}}
	if len(test.Clusters) > 0 {
		sheet, err := p.maps(test, head, f)
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
	numbers := []numbersOf{{"clusters", func() []byte {
		var b bytes.Buffer
		if err := console.Table(&b, clusters.columns, clusters.rows); err != nil {
			return nil // a buffer takes everything
		}
		return b.Bytes()
	}}, {"t", func() []byte {
		var b bytes.Buffer
		cells(&b, "site", "time", "t")
		for i, row := range picture.Values {
			for k, v := range row {
				cells(&b, picture.Sites[i], picture.Times[k], v)
			}
		}
		return b.Bytes()
	}}}
	if err := f.figure.plan(out, numbers...); err != nil {
		return err
	}
	if err := f.figure.put(out, stack, a.provenance(c, sources), numbers...); err != nil {
		return err
	}
	return out.Write(c.Context())
}

// picture is t at every site, from the front to the back and from left to right.
func (p *prepared) picture(test *inference.Clusters, caution string, f *compareFlags) *render.SiteTime {
	strong := make([]bool, len(test.T))
	any := false
	for _, c := range test.Clusters {
		for _, point := range c.Points {
			strong[point] = c.P <= .05
			any = any || c.P <= .05
		}
	}
	what := map[bool]string{true: "clusters", false: "points"}[f.correct == byClusters]
	caption := "No " + what + " of p* 0.05 or less, so all is pale: the bar's colours hold for full ones. "
	if any {
		caption = "Full colours: " + what + " of p* 0.05 or less; all else is pale. "
	}
	if p.synthetic {
		caption = "Synthetic data. " + caption
	}
	out := &render.SiteTime{Title: "t of " + p.title, Unit: fmt.Sprintf("t, %d degrees of freedom", p.freedom()), Times: p.times, Width: f.figure.points(), Caption: caption + caution}
	n := len(p.times)
	for _, i := range p.order {
		out.Sites = append(out.Sites, p.sites[i])
		out.Values = append(out.Values, test.T[i*n:(i+1)*n])
		out.Strong = append(out.Strong, strong[i*n:(i+1)*n])
	}
	return out
}

// frontToBack orders sites for a picture.
func frontToBack(sites []layout.Site) []int {
	order := make([]int, len(sites))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		p, q := sites[a].Position, sites[b].Position
		row := func(y float64) float64 { return math.Round(y / 8) }
		// T9 lies right below C5: which comes first is not left to rounding, but goes
		// over the head from ear to ear.
		column := func(x float64) float64 { return math.Round(x * 1e6) }
		return cmp.Or(cmp.Compare(row(q.Y), row(p.Y)), cmp.Compare(column(p.X), column(q.X)), cmp.Compare(q.Z*q.X, p.Z*p.X))
	})
	return order
}

func (p *prepared) freedom() int {
	people, _ := p.data.Dims()
	if p.paired {
		return people - 1
	}
	return people - 2
}

// maps are those of t at the strongest sample of the largest clusters, in the order of
// time, from the values of t at the sites.
func (p *prepared) maps(test *inference.Clusters, head *headModel, f *compareFlags) (*render.Sheet, error) {
	sites, err := head.sites(p.sites)
	if err != nil {
		return nil, err
	}
	spline, err := topo.New(sites, topo.Options{Order: 4, Radius: head.radius / 10})
	if err != nil {
		return nil, err
	}
	n := len(p.times)
	chosen := test.Clusters[:min(mostMapped, len(test.Clusters))]
	var at []int
	marked := map[int][]int{}
	ps := math.NaN()
	for _, c := range chosen {
		peak := c.Points[0]
		for _, point := range c.Points {
			if math.Abs(test.T[point]) > math.Abs(test.T[peak]) {
				peak = point
			}
		}
		sample := peak % n
		if !slices.Contains(at, sample) {
			at = append(at, sample)
		}
		if c.P > .05 {
			continue
		}
		if !(ps >= c.P) {
			ps = c.P
		}
	}
	slices.Sort(at)
	values := mat.NewDense(len(p.sites), len(at), nil)
	row := render.Row{Title: p.title, Note: p.extent, Spline: spline, Marks: render.MeasuredAt(sites)}
	sheet := &render.Sheet{
		Width: f.figure.points(), Head: head.model, Digitised: head.measured != nil, Reference: p.reference, Synthetic: p.synthetic,
		Statistic: fmt.Sprintf("t, %d degrees of freedom", p.freedom()),
		Remarks:   []string{"t of the sites, interpolated: between and beyond them nothing was tested. Maps are at the strongest samples of the largest clusters, chosen by the data."},
	}
	for column, sample := range at {
		sheet.Columns = append(sheet.Columns, millis(p.times[sample]))
		for i := range p.sites {
			values.Set(i, column, test.T[i*n+sample])
		}
		for _, c := range test.Clusters {
			for _, point := range c.Points {
				if c.P <= .05 && point%n == sample {
					marked[column] = append(marked[column], point/n)
				}
			}
		}
	}
	row.Values = values
	if !math.IsNaN(ps) {
		for column := range at {
			row.Chosen = append(row.Chosen, marked[column])
		}
		sheet.Choice = map[bool]string{true: "in a cluster of p* 0.05 or less", false: "p* 0.05 or less at this sample"}[f.correct == byClusters]
		sheet.Choice += fmt.Sprintf(", here up to %.2g", ps)
	} else {
		sheet.Remarks = append(sheet.Remarks, "Nothing has a p* of 0.05 or less.")
	}
	sheet.Rows = []render.Row{row}
	return sheet, nil
}
