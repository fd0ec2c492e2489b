package canvas

import (
	"math"
	"testing"
)

// Advances in thousandths of the size from the metrics that Adobe publishes
// for Helvetica and Helvetica Bold (from memory), which Liberation Sans keeps.
func TestTextWidth(t *testing.T) {
	for _, row := range []struct {
		text string
		bold bool
		want float64
	}{
		{"", false, 0},
		{"P7", false, 667 + 556},
		{"Fpz", false, 611 + 556 + 500},
		{"AV", false, 667 + 667}, // a pair that kerning would draw together
		{"11", false, 556 + 556},
		{"W i.", false, 944 + 278 + 222 + 278},
		{"−=", false, 584 + 584},
		{"P7", true, 667 + 556},
		{"a–b", true, 556 + 556 + 611},
	} {
		if got := float64(TextWidth(Sans(1000, row.bold), row.text)); math.Abs(got-row.want) > 1 {
			t.Errorf("%q, bold %v: %.1f, want %.0f", row.text, row.bold, got, row.want)
		}
	}
}

func TestCapHeight(t *testing.T) {
	// The same source gives 718 for Helvetica; this face's own table 0.729
	// of Arial's, hence the wide bound.
	if got := float64(CapHeight(Sans(1000, false))); math.Abs(got-718) > 35 {
		t.Errorf("capitals are %.0f high", got)
	}
}
