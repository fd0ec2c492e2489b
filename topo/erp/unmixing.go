package erp

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/screen"
	"calotte/topo/erp/unmix"
	"calotte/topo/filter"
	"calotte/topo/unit"
)

// An Unmixing says how the independent components of a person's recordings are
// found: in the filtered recording, second by second, without bad sites and
// gross seconds.
type Unmixing struct {
	Conditions []Condition // whose mean courses are wanted; none: none are
	Epoch      unit.Span   // of these courses
	Filter     filter.Design
	Eyes       []eye.Channel  // the vertical one first, then the one sideways; none: sites stand in
	Restore    layout.Name    // the recorded reference, to be a site as well; empty: none
	LeaveOut   []layout.Name  // sites
	Surface    layout.Surface // where the sites are; nil: electrodes are not screened
	Components int            // at most; 0: as many as the data have dimensions
	Mains      unit.Frequency // zero: 50 or 60 Hz, whichever is louder
}

// An Unmixed is what an unmixing found.
type Unmixed struct {
	*unmix.Separation
	Sites     []string // of the rows that are scalp sites, as written
	Rows      []string // sites and others, canonical names
	Reference string   // recorded, as the labels give it
	Rate      float64
	Filter    string // in words
	LeftOut   []average.Repaired
	Seconds   int // that the components rest on
	Gross     int // seconds that were left out
	Watched   unmix.Watched
	EyeSource [2]string // what the vertical and the sideways eye signal are, in words; empty: none
	Traits    []unmix.Traits
	Origins   []Origin // of the seconds
	Courses   *Courses // nil: none were asked for
}

// An Origin is where a second of the data comes from.
type Origin struct {
	Source string
	Onset  float64 // s from the start of the recording's header
}

// Run passes through the recordings for bad electrodes, then for the data, and
// separates these.
func (u Unmixing) Run(ctx context.Context, inputs ...Input) (*Unmixed, error) {
	if len(inputs) == 0 {
		return nil, errors.New("no recording is given")
	}
	leftOut, err := u.bad(ctx, inputs)
	if err != nil {
		return nil, err
	}
	s, err := u.session(inputs, leftOut)
	if err != nil {
		return nil, err
	}
	m := s.plans[0].montage
	out := &Unmixed{Sites: m.Sites, Rows: list.Texts(append(slices.Clone(m.Names), m.Others...)),
		Reference: m.Reference, Rate: s.plans[0].window.Rate, LeftOut: leftOut}
	if f := s.plans[0].filter; f != nil {
		out.Filter = f.Describe()
	}
	if err := out.read(ctx, s); err != nil {
		return nil, err
	}
	out.watchEyes(u, s.plans[0], out.Watched.Data[len(out.Rows):])
	out.Watched.Data = out.Watched.Data[:len(out.Rows)]
	out.Watched.Front = nearEyes(out.Rows)
	out.Watched.Rate, out.Watched.Mains = out.Rate, float64(u.Mains)
	out.Separation, err = unmix.Separate(ctx, out.Watched.Data,
		unmix.Options{Components: u.Components, Floor: s.plans[0].floor()})
	if err != nil {
		return nil, err
	}
	out.Traits = out.Separation.Traits(out.Watched)
	return out, out.courses(ctx, u, inputs, leftOut)
}

// oneSecond is the length of the pieces.
var oneSecond = unit.Span{From: 0, To: 1}

// session plans the passes over pieces, without the sites that are left out.
func (u Unmixing) session(inputs []Input, leftOut []average.Repaired) (*session, error) {
	s := &session{pipeline: &Pipeline{Filter: u.Filter, Eyes: u.Eyes, Restore: u.Restore, Epoch: oneSecond}}
	if err := s.plan(without(inputs, leftOut)); err != nil {
		return nil, err
	}
	for _, pl := range s.plans {
		pl.window.Last--
		pl.onsets = seconds(pl)
	}
	return s, nil
}

// without are recordings in which the sites that are left out are marked bad.
func without(inputs []Input, leftOut []average.Repaired) []Input {
	var out []Input
	for _, in := range inputs {
		for i, signal := range in.Signals {
			l, err := layout.ParseLabel(signal.Label)
			if err == nil && slices.ContainsFunc(leftOut,
				func(r average.Repaired) bool { return r.Site == string(l.Site) }) &&
				!slices.Contains(in.Bad,
					i) {
				in.Bad = append(slices.Clone(in.Bad), i)
			}
		}
		out = append(out, in)
	}
	return out
}

// seconds are the pieces of a recording, one after the other.
func seconds(pl *plan) []onset {
	var onsets []onset
	n, signal := pl.window.Len(), pl.montage.Signals[0]
	for s := range pl.Segments {
		if pl.filter.leavesOut(s) {
			continue
		}
		for at := 0; at+n <= pl.Samples(s, signal); at += n {
			onsets = append(onsets, onset{segment: s, sample: at})
		}
	}
	return onsets
}

// bad are the sites to leave out: those asked for, those marked bad in any of
// the recordings, and those in which the screen finds a fault.
func (u Unmixing) bad(ctx context.Context, inputs []Input) ([]average.Repaired, error) {
	var out []average.Repaired
	add := func(r average.Repaired) {
		if !slices.ContainsFunc(out, func(o average.Repaired) bool { return o.Site == r.Site }) {
			out = append(out, r)
		}
	}
	for _, in := range inputs {
		for _, site := range u.LeaveOut {
			add(average.Repaired{Site: string(site), Reason: AskedFor, Source: in.Name})
		}
		for _, i := range in.Bad {
			if l, err := layout.ParseLabel(in.Signals[i].Label); err == nil && l.Site != "" {
				add(average.Repaired{Site: string(l.Site), Reason: MarkedBad, Source: in.Name})
			}
		}
	}
	if u.Surface == nil {
		return out, nil
	}
	s, err := u.session(inputs, out)
	if err != nil {
		return nil, err
	}
	for _, pl := range s.plans {
		sc, err := screenOf(pl.montage, u.Surface)
		if err != nil {
			continue // too few sites, or sites without a place: nothing can be said of them
		}
		if err := eachPiece(ctx, pl, func(e excerpt) {
			sc.Add(list.Pick(pl.chain.potentials(e), pl.montage.Recorded()))
		}); err != nil {
			return nil, named(pl.Input, err)
		}
		marks, err := sc.Marks()
		if err != nil {
			return nil, named(pl.Input, err)
		}
		for _, m := range marks {
			if m.Reason == screen.Flat || m.Reason == screen.Noisy || m.Reason == screen.Unlike {
				add(average.Repaired{Site: m.Site, Reason: m.Reason, Source: pl.Name})
			}
		}
	}
	return out, nil
}

// mostValues bounds the data that are held: of longer recordings every second
// or third piece serves.
const mostValues = 40_000_000

// read takes the pieces of all recordings into Watched.Data, rows then eyes,
// without gross ones.
func (out *Unmixed) read(ctx context.Context, s *session) error {
	rows, n := len(out.Rows)+len(s.pipeline.Eyes), s.plans[0].window.Len()
	pieces := 0
	for _, pl := range s.plans {
		pieces += len(pl.onsets)
	}
	every := max(1, (pieces*n*rows+mostValues-1)/mostValues)
	data, at := matrix.New(rows, (pieces/every+len(s.plans))*n), 0
	var swings []float64
	for _, pl := range s.plans {
		var kept []onset
		for k, o := range pl.onsets {
			if k%every == 0 {
				kept = append(kept, o)
			}
		}
		pl.onsets, pl.watched = kept, true
		err := s.each(ctx, pl, func(e excerpt) error {
			potentials := pl.chain.potentials(e)
			swings = append(swings, typicalSwing(potentials[:len(out.Sites)]))
			if pl.eyes != nil {
				potentials = append(slices.Clone(potentials), pl.eyes.channels(e.samples)...)
			}
			for i, row := range potentials {
				copy(data[i][at:], row)
			}
			at += n
			out.Origins = append(out.Origins, Origin{pl.Name, pl.onsetOf(e.onset)})
			return nil
		})
		if err != nil {
			return err
		}
	}
	gross := reject.Gross(swings)
	to := 0
	var origins []Origin
	for k, leave := range gross {
		if leave {
			continue
		}
		for _, row := range data {
			copy(row[to:to+n], row[k*n:(k+1)*n])
		}
		origins = append(origins, out.Origins[k])
		to += n
	}
	for i := range data {
		data[i] = data[i][:to]
	}
	out.Watched.Data, out.Origins = data, origins
	out.Seconds, out.Gross = len(origins), len(gross)-len(origins)
	if to == 0 {
		return errors.New("no second of the recording is whole: nothing to take apart")
	}
	return nil
}

// onsetOf is the time of a sample, s from the start of the header.
func (pl *plan) onsetOf(o onset) float64 {
	return pl.Segments[o.segment].Start + float64(o.sample)/pl.window.Rate
}

// typicalSwing is the lower quartile over sites of the peak-to-peak amplitude,
// which a blink hardly moves.
func typicalSwing(sites [][]float64) float64 {
	swings := make([]float64, len(sites))
	for i, row := range sites {
		swings[i] = slices.Max(row) - slices.Min(row)
	}
	slices.Sort(swings)
	return swings[len(swings)/4]
}

// floor is the variance that the steps of the converter alone make at a site,
// twice over, µV²: what rows repaired or referenced before they were written
// hold where they should hold nothing.
func (pl *plan) floor() float64 {
	most := 0.0
	for k, i := range pl.montage.Signals {
		s := pl.Signals[i]
		step := pl.montage.Gains[k] * (s.PhysicalMax - s.PhysicalMin) / float64(s.DigitalMax-s.DigitalMin)
		most = max(most, step*step/6)
	}
	return most
}

// Sites whose mean stands in for a vertical eye channel, and pairs whose
// difference stands in for one sideways, the best first.
var (
	foreheadSites = []layout.Name{"Fp1", "Fpz", "Fp2", "AF7", "AF8"}
	templePairs   = [][2]layout.Name{{"F9", "F10"}, {"F7", "F8"}, {"AF7", "AF8"}}
)

// nearEyes says of rows whether they are at the forehead or the temples.
func nearEyes(rows []string) []bool {
	near := make([]bool, len(rows))
	for i, name := range rows {
		near[i] = strings.HasPrefix(name, "Fp") || strings.HasPrefix(name, "AF") ||
			strings.HasPrefix(name, "N") ||
			slices.Contains([]string{"F5", "F6", "F7", "F8", "F9", "F10"}, name)
	}
	return near
}

// watchEyes finds the signals that the eyes move most.
func (out *Unmixed) watchEyes(u Unmixing, pl *plan, eyes [][]float64) {
	row := func(name layout.Name) []float64 {
		if i := slices.Index(out.Rows, string(name)); i >= 0 {
			return out.Watched.Data[i]
		}
		return nil
	}
	if len(eyes) > 0 {
		out.Watched.Vertical, out.EyeSource[0] = eyes[0], u.Eyes[0].String()
	} else {
		var rows [][]float64
		var names []layout.Name
		for _, name := range foreheadSites {
			if r := row(name); r != nil {
				rows, names = append(rows, r), append(names, name)
			}
		}
		if rows != nil {
			out.Watched.Vertical = combined(rows,
				slices.Repeat([]float64{1 / float64(len(rows))}, len(rows)))
			out.EyeSource[0] = fmt.Sprintf("the mean of %s", list.Join(names))
		}
	}
	if len(eyes) > 1 {
		out.Watched.Sideways, out.EyeSource[1] = eyes[1], u.Eyes[1].String()
		return
	}
	for _, pair := range templePairs {
		if left, right := row(pair[0]), row(pair[1]); left != nil && right != nil {
			out.Watched.Sideways = combined([][]float64{right, left}, []float64{1, -1})
			out.EyeSource[1] = fmt.Sprintf("%s minus %s", pair[1], pair[0])
			return
		}
	}
}

// combined is a weighted sum of rows.
func combined(rows [][]float64, weights []float64) []float64 {
	sum := make([]float64, len(rows[0]))
	for i, row := range rows {
		for t, x := range row {
			sum[t] += weights[i] * x
		}
	}
	return sum
}
