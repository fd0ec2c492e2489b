package average

import (
	"fmt"
	"math"
)

// What an average of one person has to hold at least, else it warns. The
// choices are ours.
const (
	fewestEpochs = 15
	mostNoise    = 0.5 // share of the largest value
)

// Warnings say why an average of one person may show noise more than a
// response: it holds fewer than 15 epochs, or the noise left, the root mean
// square of the plus-minus average, is half of the largest value from time zero
// on or more. They do not say which condition is meant.
func (a *Average) Warnings() []string {
	var texts []string
	if a.Info.Few() {
		texts = append(texts, fmt.Sprintf("few epochs: %d, fewer than %d", a.Info.Epochs.Kept, fewestEpochs))
	}
	if q := a.Info.Quality; q != nil && q.PlusMinus > 0 {
		if largest := a.largest(); q.PlusMinus >= mostNoise*largest {
			texts = append(texts, fmt.Sprintf("noisy: ±%.2g µV of noise are left, and the largest value is "+
				"%.2g µV", q.PlusMinus, largest))
		}
	}
	return texts
}

// Warned are the warnings of an average, of one person or of those behind a
// grand average.
func (i Info) Warned() []string {
	var texts []string
	if few := i.FewEpochs(); few != "" {
		texts = append(texts, few)
	}
	if i.Quality != nil {
		texts = append(texts, i.Quality.Warnings...)
	}
	return texts
}

// Few reports whether an average of one person rests on few epochs.
func (i Info) Few() bool { return i.Epochs != nil && i.Epochs.Kept < fewestEpochs }

// FewEpochs warns of people behind a grand average whose averages rest on few
// epochs; empty: there are none.
func (i Info) FewEpochs() string {
	few := 0
	for _, m := range i.Members {
		if m.Epochs > 0 && m.Epochs < fewestEpochs || m.Minus > 0 && m.Minus < fewestEpochs {
			few++
		}
	}
	if i.Kind != GrandAverage || few == 0 {
		return ""
	}
	return fmt.Sprintf("few epochs: fewer than %d in %d of %d people", fewestEpochs, few, len(i.Members))
}

// largest is the largest size of any value from time zero on, of the whole
// epoch where that ends before it.
func (a *Average) largest() float64 {
	from := 0
	for k, t := range a.Times {
		if t >= 0 {
			from = k
			break
		}
	}
	largest := 0.0
	for _, row := range a.Mean {
		for _, x := range row[from:] {
			largest = math.Max(largest, math.Abs(x))
		}
	}
	return largest
}
