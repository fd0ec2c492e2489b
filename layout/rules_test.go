package layout

import (
	"slices"
	"testing"
)

func TestRulesGiveTheWholeSystem(t *testing.T) {
	given := map[Name]bool{}
	for _, r := range Rules() {
		if len(r.Sites)%2 == 0 {
			t.Errorf("%s has %d steps: no site in its middle", r.Arc(), len(r.Sites))
		}
		for _, n := range r.Sites {
			given[n] = true
		}
	}
	for _, n := range Set1005() {
		if !given[n] {
			t.Errorf("no rule gives %s", n)
		}
		delete(given, n)
	}
	for n := range given {
		t.Errorf("the rules give %s, which is not a site", n)
	}
}

// The sets are made from the letters of each row; the rules list every name.
func TestRulesRunInTheOrderOfTheRows(t *testing.T) {
	table := Rules()
	coronal := append([]Rule{table[1]}, table[8:]...)
	for i, r := range rows {
		want := r.names([]string{"7", "7h", "5", "5h", "3", "3h", "1", "1h"})
		if !slices.ContainsFunc(coronal, func(c Rule) bool {
			beyond := (len(c.Sites) - len(want)) / 2 // the coronal arc begins at the ear
			return slices.Equal(c.Sites[beyond:len(c.Sites)-beyond], want)
		}) {
			t.Errorf("no rule gives the row %v", want)
		}
		lengthwise := append([]Rule{table[0]}, table[2:8]...)
		for j, number := range []string{"z", "7", "8", "9", "10", "9h", "10h"} {
			n := Name(r.temporal + number)
			if number == "z" {
				n = Name(r.medial + number)
			}
			// The first row, AFp, is the third step from the front.
			if got := lengthwise[j].Sites[i+3]; got != n {
				t.Errorf("%s has %s in the place of %s", lengthwise[j].Arc(), got, n)
			}
		}
	}
}
