package option

import "testing"

// The share of electrodes that may be repaired in an epoch is read, told again
// as it was meant, and refused where it means nothing.
func TestRepairsOfEachEpoch(t *testing.T) {
	for text, want := range map[string]string{
		"each": "each=10%", "F6,each=5%": "F6,each=5%", "each=2.5%,found": "found,each=2.5%",
	} {
		var r Repairs
		if err := r.Set(text); err != nil || r.String() != want {
			t.Errorf("%q: %q, want %q (%v)", text, r, want, err)
		}
	}
	for _, text := range []string{"each=", "each=0%", "each=60%", "each=-1%", "each=NaN%", "each=0.1", "eaches",
		"each5%"} {
		var r Repairs
		if err := r.Set(text); err == nil {
			t.Errorf("%q: %v", text, r)
		}
	}
}
