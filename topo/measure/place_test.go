package measure

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"calotte/layout"
)

func TestPlaces(t *testing.T) {
	written := strings.Fields("T5 Pz P8")
	values := [][]float64{{1, 2}, {10, 20}, {3, 6}}
	got, err := Places(written, []layout.Name{"P8", "P7"}, []Pool{{"sides", []layout.Name{"P7", "P8"}}})
	if err != nil || len(got) != 3 {
		t.Fatal(got, err)
	}
	for i, want := range []struct {
		title string
		wave  []float64
	}{{"P8", []float64{3, 6}}, {"T5", []float64{1, 2}}, {"sides", []float64{2, 4}}} {
		if got[i].Title != want.title || !slices.Equal(got[i].Wave(values), want.wave) {
			t.Errorf("%+v gives %v, want %+v", got[i], got[i].Wave(values), want)
		}
	}
	_, err = Places(written, nil, []Pool{{"front", []layout.Name{"Fz"}}})
	if absent, ok := errors.AsType[*layout.AbsentError](err); !ok || absent.Name != "Fz" ||
		!strings.HasPrefix(err.Error(), "pool front: there is no Fz: there are [T5 ") {
		t.Error(err)
	}
}
