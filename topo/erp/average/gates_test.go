package average

import (
	"slices"
	"testing"
)

// An average is warned of at 14 epochs and not at 15, and at half of its
// largest value after time zero: what is before does not count.
func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		kept  int
		noise float64
		want  []string
	}{
		{15, 1.99, nil},
		{14, 1.99, []string{"few epochs: 14, fewer than 15"}},
		{15, 2, []string{"noisy: ±2 µV of noise are left, and the largest value is 4 µV"}},
		{3, 9, []string{"few epochs: 3, fewer than 15",
			"noisy: ±9 µV of noise are left, and the largest value is 4 µV"}},
		{15, 0, nil}, // of one epoch there is no plus-minus average
	} {
		a := &Average{Info: Info{Epochs: &Counts{Kept: c.kept}, Quality: &Measured{PlusMinus: c.noise}},
			Times: []float64{-0.1, 0, 0.1}, Mean: [][]float64{{-50, 1, 2}, {50, -4, 3}}}
		if got := a.Warnings(); !slices.Equal(got, c.want) {
			t.Errorf("%d epochs, noise %v: %q, want %q", c.kept, c.noise, got, c.want)
		}
	}
	i := Info{Quality: &Measured{Warnings: []string{"few epochs: 3, fewer than 15"}}}
	if got := i.Remarks(); !slices.Equal(got, []string{"Few epochs: 3, fewer than 15."}) {
		t.Errorf("remarks %q", got)
	}
	grand := Info{Kind: GrandAverage, Members: []Member{{Epochs: 14}, {Epochs: 15}, {Epochs: 40, Minus: 3}, {}}}
	if got := grand.Remarks(); !slices.Equal(got, []string{"Few epochs: fewer than 15 in 2 of 4 people."}) {
		t.Errorf("remarks of a grand average: %q", got)
	}
	if got := (Info{Kind: GrandAverage, Members: []Member{{Epochs: 15}}}).FewEpochs(); got != "" {
		t.Errorf("15 epochs: %q", got)
	}
	if got := (&Average{Info: Info{Kind: GrandAverage}}).Warnings(); got != nil {
		t.Errorf("a grand average: %q", got)
	}
}
