package rehearse

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"

	"calotte/topo/inference"
)

// A Person is whose noise is drawn from.
type Person struct {
	Name   string
	Epochs [][]float64 // epoch × reading, µV, of both conditions
}

// A Study is what is rehearsed.
type Study struct {
	People  []Person
	Effect  []float64 // in each reading, of an effect of 1 µV
	Between float64   // standard deviation of the effect between people, µV
	Test    inference.Options
}

// A Design is how large a study is.
type Design struct {
	People int
	Epochs int // of each condition and person
}

// Rehearsals are the noise of so many studies of one design.
type Rehearsals struct {
	Design
	Count    int
	study    Study
	noise    *mat.Dense // person × (rehearsal, reading), µV: first condition less the second
	personal *mat.Dense // person × rehearsal: the person's effect less the mean one, µV
}

// Rehearse draws the noise of count studies of a design. People without two
// epochs, of other readings than the effect has, or with a value that is no
// number, and a design of fewer than two people or one epoch, are errors.
func (s Study) Rehearse(ctx context.Context, d Design, count int, seed uint64) (*Rehearsals, error) {
	if err := s.check(d, count); err != nil {
		return nil, err
	}
	readings := len(s.Effect)
	r := &Rehearsals{Design: d, Count: count, study: s, noise: mat.NewDense(d.People, count*readings, nil),
		personal: mat.NewDense(d.People, count, nil)}
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range count {
		group.Go(func() error {
			r.draw(i, rand.New(rand.NewPCG(seed, uint64(i))))
			return ctx.Err()
		})
	}
	return r, group.Wait()
}

func (s Study) check(d Design, count int) error {
	switch {
	case len(s.People) == 0:
		return fmt.Errorf("nobody's recordings are given to rehearse on")
	case d.People < 2 || d.Epochs < 1 || count < 1:
		return fmt.Errorf("%d rehearsals of %d people and %d epochs: expected two people or more, and one epoch "+
			"and rehearsal or more", count, d.People, d.Epochs)
	case !(s.Between >= 0) || math.IsInf(s.Between, 0):
		return fmt.Errorf("people differ by %g µV: expected zero or more", s.Between)
	}
	for _, p := range s.People {
		if len(p.Epochs) < 2 {
			return fmt.Errorf("%s has %d epochs: expected two or more", p.Name, len(p.Epochs))
		}
		for _, e := range p.Epochs {
			if len(e) != len(s.Effect) {
				return fmt.Errorf("%s has epochs of %d readings, and the effect has %d", p.Name, len(e),
					len(s.Effect))
			}
			for _, v := range e {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					return fmt.Errorf("%s has an epoch with the value %g: expected a number", p.Name, v)
				}
			}
		}
	}
	return nil
}

// draw makes one rehearsal.
func (r *Rehearsals) draw(i int, random *rand.Rand) {
	readings := len(r.study.Effect)
	sum := make([]float64, readings)
	for k := range r.People {
		epochs := r.study.People[random.IntN(len(r.study.People))].Epochs
		clear(sum)
		for range r.Epochs {
			first, second := epochs[random.IntN(len(epochs))], epochs[random.IntN(len(epochs))]
			for j := range sum {
				sum[j] += first[j] - second[j]
			}
		}
		for j, v := range sum {
			r.noise.Set(k, i*readings+j, v/float64(r.Epochs))
		}
		r.personal.Set(k, i, r.study.Between*random.NormFloat64())
	}
}
