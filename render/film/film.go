package film

import (
	"errors"
	"fmt"
	"image"
	"math"
	"strings"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/vg"

	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/render/internal/parallel"
	"calotte/render/paper"
	"calotte/render/scalp"
	"calotte/topo"
)

// A Film is maps that change with time, those of several conditions side by
// side, all on one scale, each with its field power below and a cursor in it.
type Film struct {
	// Rows are the conditions from the left; Values holds a column for each
	// frame.
	Rows []scalp.Row
	// Times are the frames' latencies in s.
	Times []float64
	// Power holds, for each row, the field power in µV at each of
	// PowerTimes, in s.
	Power      [][]float64
	PowerTimes []float64

	Side  int // of a condition's square, in pixels; zero is 480
	Head  head.Ellipsoid
	Limit float64 // µV at the ends of the scale; zero: what all frames need
	// Shows is what is drawn: Amplitudes, InterpolationErrors or AllErrors.
	Shows scalp.Showing
	// Boundary, Overhang and Extrapolate are those of a Sheet.
	Boundary      scalp.Boundary
	Overhang      float64
	Extrapolate   bool
	StandardError float64 // µV, as that of a Sheet
	Reference     string
	Synthetic     bool
}

// A Plate is a Film that is ready to be drawn, frame by frame: what does not
// change is drawn once.
type Plate struct {
	Scale scalp.Scale
	// Width and Height of a frame in pixels.
	Width, Height int

	film   *Film
	grid   scalp.Grid
	shows  []*showing // one for each condition
	ground []uint8    // what stands still, as indexes of the palette
	stamp  stampSet
}

// A showing is one condition's map on the frames.
type showing struct {
	row          *scalp.Row
	knowledge    *scalp.Knowledge
	reach        *scalp.Reach
	basis        *mat.Dense  // point of the reach × coefficient
	coefficients *mat.Dense  // coefficient × frame
	frame        scalp.Frame // in pixels from the upper left corner, y down
	chart        chart.Chart // of the field power, in points

	left int       // the first column of pixels
	xs   []float64 // of the columns, on the disc
	rows []filmRow
}

const (
	filmDots  = 100 // to the inch: how large a figure's seven points are on a screen
	leastSide = 240
	mostSide  = 2000
	filmBlock = 32 // frames that are computed at once
)

// Compose checks the film, finds its scale and draws what stands still.
func (f *Film) Compose() (*Plate, error) {
	if f.Side == 0 {
		f.Side = 480
	}
	if err := f.validate(); err != nil {
		return nil, err
	}
	p := &Plate{film: f, Width: f.Side * len(f.Rows), Height: f.Side}
	sheet := f.sheet()
	p.grid = sheet.Grids()[0]
	known, err := sheet.Know()
	if err != nil {
		return nil, err
	}
	reaches, err := sheet.Reaches([]scalp.Grid{p.grid}, known)
	if err != nil {
		return nil, err
	}
	bases := map[*topo.Spline]*mat.Dense{}
	for i := range f.Rows {
		r := &f.Rows[i]
		if bases[r.Spline] == nil {
			bases[r.Spline] = r.Spline.Basis(reaches[i].Points(), topo.Potential)
		}
		c, err := r.Spline.Solve(r.Values)
		if err != nil {
			return nil, fmt.Errorf("condition %d (%q): %w", i+1, r.Title, err)
		}
		p.shows = append(p.shows, &showing{row: r, knowledge: known[i], reach: reaches[i],
			basis: bases[r.Spline], coefficients: c.Dense})
	}
	if err := p.findScale(); err != nil {
		return nil, err
	}
	return p, p.drawGround()
}

func (f *Film) validate() error {
	switch {
	case len(f.Rows) == 0 || len(f.Times) == 0:
		return fmt.Errorf("a film of %d conditions and %d frames: give at least one of each", len(f.Rows),
			len(f.Times))
	case f.Side < leastSide || f.Side > mostSide:
		return fmt.Errorf("frames of %d pixels: expected %d to %d", f.Side, leastSide, mostSide)
	case len(f.Power) != len(f.Rows):
		return fmt.Errorf("field power of %d conditions for %d: give that of each", len(f.Power), len(f.Rows))
	}
	for i, power := range f.Power {
		if len(power) != len(f.PowerTimes) || len(power) < 2 {
			return fmt.Errorf("field power of condition %d: %d values for %d times, two or more", i+1,
				len(power),
				len(f.PowerTimes))
		}
	}
	return f.sheet().Validate()
}

// sheet is the film as a sheet of all its frames, for what is common to both.
func (f *Film) sheet() *scalp.Sheet {
	return &scalp.Sheet{Rows: f.Rows, Columns: make([]string, len(f.Times)), Head: f.Head, Limit: f.Limit,
		StandardError: f.StandardError, Shows: f.Shows, Boundary: f.Boundary, Overhang: f.Overhang,
		Extrapolate: f.Extrapolate}
}

// findScale makes one scale for all frames of all conditions: that of the
// electrodes, and of where they know the field. Errors are drawn, and count,
// where the field is guessed, too.
func (p *Plate) findScale() error {
	sheet := p.film.sheet()
	s := scalp.Scale{Limit: p.film.Limit, OneSided: p.film.Shows != scalp.Amplitudes}
	var list []scalp.Extremes
	for first := 0; first < len(p.film.Times); first += filmBlock {
		block, err := p.block(first)
		if err != nil {
			return err
		}
		for i, of := range block {
			_, frames := of.values.Dims()
			for k := range frames {
				list = append(list, sheet.Extremes(mat.Col(nil, k, of.values), first+k,
					p.shows[i].knowledge,
					p.shows[i].reach))
			}
		}
	}
	s.Extremes = scalp.Joined(list...)
	if s.Limit == 0 {
		s.Limit = s.Extremes.Limit()
	}
	s.Step = scalp.ContourStep(s.Limit, p.film.StandardError)
	p.Scale = s
	return nil
}

// A block is what a condition shows in some frames: point of its reach × frame.
// Ratios are how many errors the values are from zero; nil without a boundary.
type block struct{ values, ratios *mat.Dense }

// block computes the fields of some frames from the first one on, for each
// condition.
func (p *Plate) block(first int) ([]block, error) {
	last := min(first+filmBlock, len(p.film.Times))
	out, errs := make([]block, len(p.shows)), make([]error, len(p.shows))
	parallel.Each(len(p.shows), func(i int) { out[i], errs[i] = p.shows[i].block(p.film, first, last) })
	return out, errors.Join(errs...)
}

func (s *showing) block(f *Film, first, last int) (b block, err error) {
	rows, _ := s.coefficients.Dims()
	b.values = &mat.Dense{}
	b.values.Mul(s.basis, s.coefficients.Slice(0, rows, first, last))
	if f.Boundary.Errors > 0 {
		b.ratios = mat.DenseCopyOf(b.values)
	}
	for k := range last - first {
		if b.ratios != nil {
			errors, err := s.row.Errors(first+k, f.Boundary.Of, topo.Potential, s.knowledge, s.reach)
			if err != nil {
				return b, err
			}
			for i, e := range errors {
				b.ratios.Set(i, k, b.values.At(i, k)/max(e, math.SmallestNonzeroFloat64))
			}
		}
		if f.Shows != scalp.Amplitudes {
			errors, err := s.row.Errors(first+k, f.Shows, topo.Potential, s.knowledge, s.reach)
			if err != nil {
				return b, err
			}
			b.values.SetCol(k, errors)
		}
	}
	return b, nil
}

// Frames draws all frames in order. Encode turns each into bytes, several at a
// time; emit gets them one after the other. The image is encode's only until it
// returns. An error of either ends the film.
func (p *Plate) Frames(encode func(k int, img *image.Paletted) ([]byte, error),
	emit func(k int, data []byte) error) error {
	images := make([]*image.Paletted, filmBlock)
	for first := 0; first < len(p.film.Times); first += filmBlock {
		fields, err := p.block(first)
		if err != nil {
			return err
		}
		_, n := fields[0].values.Dims()
		data := make([][]byte, n)
		var group errgroup.Group
		group.SetLimit(workers())
		for i := range n {
			group.Go(func() (err error) {
				if images[i] == nil {
					images[i] = image.NewPaletted(image.Rect(0, 0, p.Width, p.Height),
						p.Palette())
				}
				p.draw(images[i], first+i, i, fields)
				data[i], err = encode(first+i, images[i])
				return err
			})
		}
		if err := group.Wait(); err != nil {
			return err
		}
		for i, d := range data {
			if err := emit(first+i, d); err != nil {
				return err
			}
		}
	}
	return nil
}

// Title is what a frame is called.
func (p *Plate) Title() string {
	var titles []string
	for _, r := range p.film.Rows {
		titles = append(titles, r.Title)
	}
	return "Scalp potentials over time, " + strings.Join(titles, ", ")
}

// Description says in words what a frame shows.
func (p *Plate) Description(k int) string {
	return fmt.Sprintf("%s, at %s. Scale ±%s µV. %s", p.Title(), stampText(p.film.Times[k]),
		paper.Number(p.Scale.Limit, 6), p.caption())
}

func (p *Plate) caption() string {
	f := p.film
	text := ""
	if f.Synthetic {
		text = "Synthetic data. "
	}
	reference := f.Reference
	if reference == "" {
		reference = "not known"
	}
	if f.Shows == scalp.AllErrors {
		text += fmt.Sprintf("Error %s. ", f.sheet().ErrorsIn())
	}
	dashed := ", negative dashed"
	if p.Scale.OneSided {
		dashed = ""
	}
	text += fmt.Sprintf("Reference: %s. Contours every %s µV%s. %sLeft and right are the wearer’s. A "+
		"map is not a diagnosis.", reference, paper.Number(p.Scale.Step, 3), dashed, p.territoryText())
	if b := f.Boundary; b.Errors > 0 {
		text += fmt.Sprintf(" Dotted: within %s %s of zero.", paper.Number(b.Errors, 3), b.Of.ErrorsText())
	}
	if p.Scale.Above > p.Scale.Limit || p.Scale.Below < -p.Scale.Limit {
		text += fmt.Sprintf(" Clipped; the extremes where the field is known are %s and %s µV.",
			paper.Number(p.Scale.Least, 3), paper.Number(p.Scale.Greatest, 3))
	}
	return text
}

// territoryText says what hatching and white mean: those of the condition whose
// electrodes know least are on all frames.
func (p *Plate) territoryText() string {
	largest := p.shows[0].knowledge.Largest
	return fmt.Sprintf("Hatched: guessed, off by over %s µV perhaps; white: not known. ",
		paper.Number(largest*topo.KnownShare, 2))
}

// inDots is a length in pixels.
func inDots(l vg.Length) float64 { return float64(l / vg.Inch * filmDots) }

var _ canvas.Figure = filmGround{}
