package layout

import (
	"slices"
	"strings"
	"testing"
)

func TestRow(t *testing.T) {
	sites := strings.Fields("P7 t4 Cz EEG001")
	for name, want := range map[Name]int{"P7": 0, "T8": 1, "Cz": 2} {
		if got, err := Row(sites, name); err != nil || got != want {
			t.Errorf("%s is at %d, %v, want %d", name, got, err, want)
		}
	}
	_, err := Row(sites, "F7")
	if want := "there is no F7: there are [P7 t4 Cz EEG001]"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	var many []string
	for _, n := range Set1010() {
		many = append(many, string(n))
	}
	_, err = Row(many, "A1")
	if err == nil || !strings.HasSuffix(err.Error(), "and 69 more") {
		t.Errorf("%v, want a list that is cut", err)
	}
	if names := Names(sites); !slices.Equal(names, []Name{"P7", "T8", "Cz"}) {
		t.Errorf("%v", names)
	}
	if rows := Rows(sites); len(rows) != 3 {
		t.Errorf("%v", rows)
	}
}
