package cohort

import (
	"math"
	"strings"
	"testing"
)

func TestParseCapCheck(t *testing.T) {
	got, err := parseCapCheck([]byte(`{"sites": [{"name": "Cz", "along": 3}, {"name": "Pz", "along": 4, "later": {}}], "later": []}`))
	if err != nil || math.Abs(got-math.Sqrt(12.5)) > 1e-12 {
		t.Errorf("%v (%v)", got, err)
	}
	for text, want := range map[string]string{
		"null": "null", "[]": "array", "": "end of JSON", "{}": "no sites", `{"sites": null}`: "no sites",
		`{"sites": []}`: "no sites",
		`{"sites": {}}`: "object", `{"sites": [null]}`: "site 1", `{"sites": [{"along": 1}, {}]}`: "site 2",
		`{"sites": [{"along": "1"}]}`: "string",
		`{"sites": [{"along": -1}]}`:  "site 1", `{"sites": [{"along": NaN}]}`: "invalid character",
		`{"sites": [{"along": 1e999}]}`: "number",
	} {
		if _, err := parseCapCheck([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}
