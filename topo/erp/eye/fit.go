package eye

import (
	"errors"
	"fmt"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/internal/matrix"
)

// A Fit finds how much of the eye channels every site picks up, from all epochs
// of one person: regression after G. Gratton, M. G. H. Coles and E. Donchin, "A
// new method for off-line removal of ocular artifact", Electroencephalogr Clin
// Neurophysiol 55:468 (1983). Make one with NewEyeFit, add every epoch of every
// condition, then ask for the [Fit.Coefficients].
//
// # Definition
//
// Of each epoch and channel, site or eye, the level is subtracted: its mean
// over the epoch's samples outside blinks (over all samples where every one
// lies in a blink). With y the site, e the eye channels and ȳ, ē the averages,
// sample by sample, of the condition's epochs that are not in a blink there (of
// all where there is none),
//
//	b = [Σ (ė − m)(ė − m)ᵀ]⁻¹ Σ (ė − m)(ẏ − n),  ẏ = y − ȳ,  ė = e − ē
//
// where the sums run over the samples of one class, within blinks or outside,
// of all epochs, and m and n are the means of ė and ẏ over them. The averages
// are subtracted so that what the events evoke, in the eye channels too, is no
// part of b. Blinks and other movements have coefficients of their own since
// the lid and the turning eyeball spread differently.
//
// A class with fewer than 100 samples for each eye channel, or in which the eye
// channels cannot be told apart, takes the coefficients of all samples
// together.
//
// Epochs pass once and are not kept: the sums are expanded so that the averages
// may come last. The memory is that of two averages a condition.
type Fit struct {
	rule      BlinkRule
	sites     int
	eyes      int
	samples   int
	averages  map[string]*eyeSums
	products  [classes]*mat.Dense // Σ e·(e, y), eye × channel
	totals    [classes][]float64  // Σ of each channel
	counts    [classes]int        // samples
	deviation [][]float64         // of the latest epoch from its levels; eyes first
}

// Classes of samples.
const (
	restClass = iota
	blinkClass
	classes
)

const leastForEye = 100 // samples of a class for each eye channel

// eyeSums are what an average needs, for each class.
type eyeSums struct {
	counts [classes][]int       // a sample
	sums   [classes][][]float64 // channel × sample
}

// NewFit prepares for epochs of so many sites, eye channels (one or more, the
// vertical one first) and samples.
func NewFit(sites, eyes, samples int, rule BlinkRule) (*Fit, error) {
	switch {
	case eyes < 1:
		return nil, errors.New("no eye channel: the correction of blinks needs one or more")
	case !(rule.Edge >= 0 && rule.Peak >= rule.Edge):
		return nil, fmt.Errorf("blinks of %g µV that end at %g µV: expected the end at a smaller amplitude",
			rule.Peak,
			rule.Edge)
	}
	f := &Fit{rule: rule, sites: sites, eyes: eyes, samples: samples,
		averages: map[string]*eyeSums{}, deviation: matrix.New(eyes+sites, samples)}
	for c := range classes {
		f.products[c] = mat.NewDense(eyes, eyes+sites, nil)
		f.totals[c] = make([]float64, eyes+sites)
	}
	return f, nil
}

// Add takes an epoch of a condition: the sites and the eye channels, channel ×
// sample in µV, all as recorded and filtered alike. The epoch's mean of a
// sample is that of its condition; an epoch that belongs to several is added
// once, under a name of its own for that mixture.
func (f *Fit) Add(condition string, sites, eyes [][]float64) {
	blink := f.rule.Find(eyes[0])
	for i, row := range eyes[:f.eyes] {
		fromLevel(f.deviation[i], row, blink)
	}
	for i, row := range sites[:f.sites] {
		fromLevel(f.deviation[f.eyes+i], row, blink)
	}
	s := f.of(condition)
	class := make([]int, f.samples)
	for t, in := range blink {
		if in {
			class[t] = blinkClass
		}
		s.counts[class[t]][t]++
		f.counts[class[t]]++
	}
	for i, row := range f.deviation {
		for t, x := range row {
			s.sums[class[t]][i][t] += x
			f.totals[class[t]][i] += x
		}
		for k := range f.eyes {
			eye := f.deviation[k]
			var sum [classes]float64
			for t, x := range row {
				sum[class[t]] += eye[t] * x
			}
			for c := range classes {
				f.products[c].Set(k, i, f.products[c].At(k, i)+sum[c])
			}
		}
	}
}

// fromLevel writes the row less its level.
func fromLevel(to, row []float64, blink []bool) {
	level := levelOf(row, blink)
	for t, x := range row {
		to[t] = x - level
	}
}

// levelOf is the mean of the samples outside blinks, of all where there are
// none.
func levelOf(row []float64, blink []bool) float64 {
	sum, n := 0.0, 0
	for t, x := range row {
		if !blink[t] {
			sum += x
			n++
		}
	}
	if n > 0 {
		return sum / float64(n)
	}
	for _, x := range row {
		sum += x
	}
	return sum / float64(len(row))
}

func (f *Fit) of(condition string) *eyeSums {
	s := f.averages[condition]
	if s == nil {
		s = &eyeSums{}
		for c := range classes {
			s.counts[c] = make([]int, f.samples)
			s.sums[c] = matrix.New(f.eyes+f.sites, f.samples)
		}
		f.averages[condition] = s
	}
	return s
}
