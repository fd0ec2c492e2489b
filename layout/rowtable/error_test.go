package rowtable

import "testing"

func TestErrorSaysWhereAndWhat(t *testing.T) {
	for want, e := range map[string]Error{
		`line 3, column "onset": bad: expected good`: {Line: 3, Column: "onset", Got: "bad",
			Want: "expected good"},
		`line 3, column "onset": bad`: {Line: 3, Column: "onset", Got: "bad"},
		"line 3: bad":                 {Line: 3, Got: "bad"},
		`column "onset": bad`:         {Column: "onset", Got: "bad"},
		"bad: expected good":          {Got: "bad", Want: "expected good"},
		"bad":                         {Got: "bad"},
	} {
		if got := e.Error(); got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}
