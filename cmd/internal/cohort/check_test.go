package cohort

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

func TestDeviations(t *testing.T) {
	a, b, c := strings.Repeat("a", 64), strings.Repeat("b", 64), strings.Repeat("c", 64)
	for _, k := range []struct {
		recorded, now []File
		want          []string
	}{
		{[]File{{"x", a}, {"y", b}}, []File{{"y", b}, {"x", a}}, nil},
		{[]File{{"x", a}}, []File{{"x", b}}, []string{"x changed"}},
		{[]File{{"x", a}}, nil, []string{"x missing"}},
		{[]File{{"x", a}}, []File{{"x", Missing}}, []string{"x missing"}},
		{[]File{{"x", a}}, []File{{"x", Unreadable}}, []string{"x unreadable"}},
		{nil, []File{{"x", a}}, []string{"x added"}},
		// Recordings of one name, out of several folders.
		{[]File{{"x", a}, {"x", b}}, []File{{"x", a}, {"x", c}}, []string{"x changed"}},
		{[]File{{"x", a}, {"x", a}}, []File{{"x", a}, {"x", b}}, []string{"x changed"}},
		{[]File{{"x", a}, {"x", b}}, []File{{"x", b}, {"x", a}}, nil},
		{[]File{{"x", a}}, []File{{"x", a}, {"x", b}}, []string{"x added"}},
	} {
		var got []string
		for _, d := range deviations(k.recorded, k.now) {
			got = append(got, fmt.Sprint(d.File, " ", d.State))
		}
		if !slices.Equal(got, k.want) {
			t.Errorf("%v and now %v: %v, want %v", k.recorded, k.now, got, k.want)
		}
	}
}
