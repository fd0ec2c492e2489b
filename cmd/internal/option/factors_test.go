package option

import (
	"strings"
	"testing"
)

// Two factors are taken in either order, and told in one.
func TestFactors(t *testing.T) {
	for text, want := range map[string]string{
		"conditions": "conditions", "sides": "sides", "sides,conditions": "sides,conditions",
		"conditions,sides": "sides,conditions", "groups,conditions": "conditions,groups",
		"groups,sites": "sites,groups",
	} {
		var f Factors
		if err := f.Set(text); err != nil || f.String() != want || f.Two() != strings.Contains(text, ",") {
			t.Errorf("%q is %q, %v, want %q", text, f, err, want)
		}
	}
	for _, text := range []string{"", "groups", "sites", "sides,sites", "conditions,conditions", "sides,",
		"hemispheres", "sides,conditions,groups"} {
		f := Factors{}
		if err := f.Set(text); err == nil || !strings.Contains(err.Error(), "sites,groups") || len(f) > 0 {
			t.Errorf("%q: %v, %v", text, f, err)
		}
	}
}
