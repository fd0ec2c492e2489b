package chart

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/recorder"

	"calotte/render/paper"
)

func valuesOf(ticks []plot.Tick) (values []float64) {
	for _, t := range ticks {
		values = append(values, t.Value)
	}
	return values
}

// An axis shows the ticks of any ticker at the places of any scale, those
// beyond its ends left out.
func TestAxisTakesAnyTickerAndScale(t *testing.T) {
	given := plot.ConstantTicks{
		{Value: .5, Label: "below"}, {Value: 1, Label: "one"}, {Value: 10},
		{Value: 100, Label: "end"}, {Value: 101, Label: "above"},
	}
	for _, a := range []Axis{
		{Low: 1, High: 100, marker: given, scale: plot.LogScale{}},
		{Low: 100, High: 1, marker: given, scale: plot.LogScale{}},
		{Low: 1, High: 100, marker: given, scale: plot.InvertedScale{Normalizer: plot.LogScale{}}},
	} {
		if got := valuesOf(a.Ticks()); !slices.Equal(got, []float64{1, 10, 100}) {
			t.Errorf("%v: ticks %v, want 1, 10, 100", a, got)
		}
		if got := valuesOf(a.numbered()); !slices.Equal(got, []float64{1, 100}) {
			t.Errorf("%v: numbers at %v, want 1, 100", a, got)
		}
		if got := a.at(10); math.Abs(got-.5) > 1e-12 {
			t.Errorf("%v: 10 lies at %v, want the middle", a, got)
		}
	}
}

// A tick without a number has half the length of one with a number.
func TestMinorTicks(t *testing.T) {
	c := Chart{
		Rect: vg.Rectangle{Max: vg.Point{X: 100, Y: 100}},
		X: Axis{
			Low: 0, High: 1, scale: plot.LinearScale{},
			marker: plot.ConstantTicks{{Value: .25}, {Value: .75, Label: "¾"}},
		},
		Y: downAxis(1),
	}
	var drawn recorder.Canvas
	c.DrawAxes(&drawn)
	want := []struct{ x, length vg.Length }{{25, paper.TickLength / 2}, {75, paper.TickLength}}
	for _, action := range drawn.Actions {
		line, ok := action.(*recorder.Stroke)
		if !ok || line.Path[1].Pos.Y >= 0 {
			continue
		}
		if len(want) == 0 {
			t.Fatal("more than two ticks below the axis")
		}
		if end := line.Path[1].Pos; end.X != want[0].x || end.Y != -want[0].length {
			t.Errorf("a tick to %v, want one at %v, %v long", end, want[0].x, want[0].length)
		}
		want = want[1:]
	}
	if len(want) > 0 {
		t.Errorf("%d ticks are missing", len(want))
	}
	if texts := c.Texts(); texts[0].Text != "¾" {
		t.Errorf("the first number is %q", texts[0].Text)
	}
}
