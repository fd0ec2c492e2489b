package option

import "testing"

func TestOneOf(t *testing.T) {
	side := "left"
	flag := OneOf(&side, "side", "left", "right", "both")
	if flag.String() != "left" || flag.Type() != "side" {
		t.Errorf("%s %s", flag, flag.Type())
	}
	if err := flag.Set("both"); err != nil || side != "both" {
		t.Errorf("%v, %s", err, side)
	}
	for _, text := range []string{"", "Left", "middle"} {
		if err := flag.Set(text); err == nil || err.Error() != "expected left, right or both" || side != "both" {
			t.Errorf("%q: %v, %s", text, err, side)
		}
	}
}
