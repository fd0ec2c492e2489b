package palette

import "testing"

func TestColorTable(t *testing.T) {
	for _, v := range []float64{-1, -.5, 0, .25, 1} {
		if got, want := testTable.At(v), Diverging.At(v); got != want {
			t.Errorf("the colour of %g is %v, want %v", v, got, want)
		}
	}
	if testTable.At(7) != testTable.At(1) || testTable.At(-7) != testTable.At(-1) {
		t.Error("values beyond the limits do not have the colours of the limits")
	}
}

var testTable = NewTable(Diverging.At)
