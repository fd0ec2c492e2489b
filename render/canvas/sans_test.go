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
	// The same source gives 718 for Helvetica; this face's own table 0.729 of
	// Arial's, hence the wide bound.
	if got := float64(CapHeight(Sans(1000, false))); math.Abs(got-718) > 35 {
		t.Errorf("capitals are %.0f high", got)
	}
}

func TestDashes(t *testing.T) {
	straight := polyline{points: []point{{0, 0}, {10, 0}}}
	bent := polyline{points: []point{{0, 0}, {3, 0}, {3, 7}}}
	for _, row := range []struct {
		name    string
		line    polyline
		pattern []float64
		offset  float64
		want    [][2]point // first and last point of each dash
	}{
		{"none", straight, nil, 0, [][2]point{{{0, 0}, {10, 0}}}},
		{"even", straight, []float64{4, 2}, 0, [][2]point{{{0, 0}, {4, 0}}, {{6, 0}, {10, 0}}}},
		{"odd counts twice", straight, []float64{3}, 0, [][2]point{{{0, 0}, {3, 0}}, {{6, 0}, {9, 0}}}},
		{"offset", straight, []float64{4, 2}, 5, [][2]point{{{1, 0}, {5, 0}}, {{7, 0}, {10, 0}}}},
		{"offset backwards", straight, []float64{4, 2}, -1, [][2]point{{{1, 0}, {5, 0}}, {{7, 0}, {10, 0}}}},
		{"round a corner", bent, []float64{4, 2}, 0, [][2]point{{{0, 0}, {3, 1}}, {{3, 3}, {3, 7}}}},
		{"closed", polyline{points: []point{{0, 0}, {2, 0}, {2, 2}, {0, 2}}, closed: true}, []float64{3, 2}, 0,
			[][2]point{{{0, 0}, {2, 1}}, {{1, 2}, {0, 0}}}},
	} {
		got := dashes(row.line, row.pattern, row.offset)
		if len(got) != len(row.want) {
			t.Errorf("%s: %d dashes %v, want %d", row.name, len(got), got, len(row.want))
			continue
		}
		for i, d := range got {
			if first, last := d.points[0], d.points[len(d.points)-1]; first != row.want[i][0] || last != row.want[i][1] {
				t.Errorf("%s: dash %d from %v to %v, want %v", row.name, i, first, last, row.want[i])
			}
		}
	}
}
