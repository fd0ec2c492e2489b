package contrast

import (
	"cmp"
	"context"
	"fmt"
	"iter"
	"math"

	"calotte/topo/erp/epoch"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

const (
	// resamples of a person's epochs, by which a measurement error is known
	// to 1/√2000 = 2 %
	resamples = 1000
	// mostMissing is the share of resamples without a score above which its
	// error is not told: where a peak often is none, the others say too
	// little.
	mostMissing = .1
)

// MeasurementErrors are those of the scores that [Scoring.Components] finds, in
// the same order (Luck et al. 2021): by how much a person's own score would
// spread over recordings of as many epochs. That of the mean is sd/√n over the
// epochs, those of other scores are the sd over 1,000 resamples of the epochs,
// which draw from the seed; NaN where a tenth of the resamples or more have no
// such score. Of several people each error is their root mean square. Each
// sample is a person's average in one condition with two epochs or more behind
// it. The work stops when the context ends.
func (s Scoring) MeasurementErrors(ctx context.Context, people iter.Seq2[Sample, error],
	windows []measure.Window, seed uint64) ([]Scores, error) {
	var each [][]Scores // of each person
	for p, err := range people {
		if err = cmp.Or(err, ctx.Err()); err != nil {
			return nil, err
		}
		own, err := s.measurementErrors(p, windows, seed)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.Average.Info.Name, err)
		}
		each = append(each, own)
	}
	return joined(each, scoresOf)
}

// joined are the root mean squares over people, of each score of each of
// equally many measured things.
func joined[T interface{ scores() []float64 }](each [][]T, from func([]float64) T) ([]T, error) {
	if len(each) == 0 {
		return nil, nil
	}
	out := make([]T, len(each[0]))
	for c := range out {
		var joint []float64
		for i := range out[c].scores() {
			column := make([]float64, len(each))
			for k, own := range each {
				column[k] = own[c].scores()[i]
			}
			sme, err := epoch.GroupSME(column)
			if err != nil {
				return nil, err
			}
			joint = append(joint, sme)
		}
		out[c] = from(joint)
	}
	return out, nil
}

// measurementErrors are those of one person.
func (s Scoring) measurementErrors(of Sample, windows []measure.Window, seed uint64) ([]Scores, error) {
	if s.Placement != nil {
		var err error
		if of, err = s.Placement.AtIdeal(of, s.Spline); err != nil {
			return nil, err
		}
	}
	places := make([][]measure.Place, len(windows))
	for i, w := range windows {
		var err error
		if places[i], err = s.places(of.Average.Sites, w); err != nil {
			return nil, err
		}
	}
	found, err := collected(of).Bootstrap(resamples, seed, func(mean [][]float64) []float64 {
		var out []float64
		add := func(values []float64, w measure.Window) {
			out = append(out, s.scores(measure.Wave{Times: of.Average.Times, Values: values},
				w).scores()...)
		}
		for i, w := range windows {
			for _, p := range places[i] {
				add(p.Wave(mean), w)
			}
			w.Polarity = measure.Positive
			add(measure.FieldPowers(mean), w)
		}
		return out
	})
	if err != nil {
		return nil, err
	}
	return s.withMeans(of, errorsOf(found), windows, places)
}

// errorsOf are resampled errors, score by score and place by place.
func errorsOf(found []epoch.BootstrapSME) []Scores {
	var out []Scores
	for len(found) > 0 {
		own := make([]float64, len(Scores{}.scores()))
		for i, b := range found[:len(own)] {
			own[i] = b.SME
			if float64(b.Missing) >= mostMissing*resamples {
				own[i] = math.NaN()
			}
		}
		out, found = append(out, scoresOf(own)), found[len(own):]
	}
	return out
}

// withMeans gives the errors of means at places the values that need no
// resampling. That of the field power's mean stays as it is.
func (s Scoring) withMeans(of Sample, errors []Scores, windows []measure.Window,
	places [][]measure.Place) ([]Scores, error) {
	k := 0
	for i, w := range windows {
		for _, p := range places[i] {
			var means []float64
			for _, u := range of.Units {
				mean, err := measure.Wave{Times: of.Average.Times, Values: p.Wave(u.Mean)}.Mean(w.Span)
				if err != nil {
					mean = math.NaN()
				}
				means = append(means, mean)
			}
			var err error
			if errors[k].Mean, err = epoch.SME(means); err != nil {
				return nil, err
			}
			k++
		}
		k++ // the field power
	}
	return errors, nil
}

// collected are the epochs behind a person's average.
func collected(of Sample) *epoch.Collection {
	e := epoch.NewCollection(of.Average.Sites, epoch.WindowOf(of.Average.Times, of.Average.Rate()))
	for _, u := range of.Units {
		e.Add(epoch.Row{Kept: true}, u.Mean)
	}
	return e
}

// scores are the numbers in the order of their fields.
func (s Scores) scores() []float64 {
	return []float64{s.Mean, s.Peak, s.PeakLatency, s.Onset, s.Area, s.AreaLatency}
}

func scoresOf(n []float64) Scores {
	return Scores{Mean: n[0], Peak: n[1], PeakLatency: n[2], Onset: n[3], Area: n[4], AreaLatency: n[5]}
}

// A SideError is the measurement error of the two sides of a pair and of their
// difference, in µV.
type SideError struct{ First, Second, Difference float64 }

func (e SideError) scores() []float64 { return []float64{e.First, e.Second, e.Difference} }

func sideErrorOf(n []float64) SideError { return SideError{n[0], n[1], n[2]} }

// MeasurementErrors are those of the sides that [Sides.RightMinusLeft] finds,
// in the same order (Luck et al. 2021): sd/√n over a person's own epochs, of
// several people their root mean square. Each sample is a person's average in
// one condition with two epochs or more behind it.
func (s Sides) MeasurementErrors(ctx context.Context, people iter.Seq2[Sample, error],
	at []unit.Latency) ([]SideError, error) {
	var each [][]SideError // of each person
	for p, err := range people {
		if err = cmp.Or(err, ctx.Err()); err != nil {
			return nil, err
		}
		own, err := s.measurementErrors(p, at)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.Average.Info.Name, err)
		}
		each = append(each, own)
	}
	return joined(each, sideErrorOf)
}

// measurementErrors are those of one person.
func (s Sides) measurementErrors(of Sample, at []unit.Latency) ([]SideError, error) {
	pairs, err := s.Pairs(of.Average.Sites)
	if err != nil {
		return nil, err
	}
	if of, err = s.atIdeal(of); err != nil {
		return nil, err
	}
	var out []SideError
	for _, latency := range at {
		scores := make([][3][]float64, len(pairs)) // left, right and the difference, an epoch each
		for _, u := range of.Units {
			values, err := u.At(latency)
			if err != nil {
				return nil, err
			}
			for k, p := range pairs {
				left, right := p.of(values)
				for i, v := range [3]float64{left, right, right - left} {
					scores[k][i] = append(scores[k][i], v)
				}
			}
		}
		for _, own := range scores {
			errors := make([]float64, len(own))
			for i, list := range own {
				if errors[i], err = epoch.SME(list); err != nil {
					return nil, err
				}
			}
			out = append(out, sideErrorOf(errors))
		}
	}
	return out, nil
}

// SidedErrors are the measurement errors of what [Sides.Contralateral] finds of
// the same people, from those of stimuli on the left and on the right: the two
// have no epoch in common, so that their squares add.
func SidedErrors(left, right []SideError) []SideError {
	out := make([]SideError, len(left))
	for k, l := range left {
		r := right[k]
		out[k] = SideError{math.Hypot(l.First, r.Second) / 2, math.Hypot(l.Second, r.First) / 2,
			math.Hypot(l.Difference, r.Difference) / 2}
	}
	return out
}
