package recording

import (
	"fmt"
	"testing"
)

func TestColumns(t *testing.T) {
	names := []string{"trial_type", "response"}
	rows := []Columns{NewColumns(names, []string{"known", "left"}), NewColumns(names, []string{"novel", "n/a"})}
	for _, c := range []struct {
		columns Columns
		want    string
	}{
		{rows[0], "trial_type known, response left, "},
		{rows[1], "trial_type novel, response n/a, "},
		{Columns{}, ""},
	} {
		got := ""
		for name, value := range c.columns.All() {
			got += fmt.Sprintf("%s %s, ", name, value)
			if again, ok := c.columns.Get(name); !ok || again != value {
				t.Errorf("column %s: %q, %v; want %q", name, again, ok, value)
			}
		}
		if got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
		if _, ok := c.columns.Get("Response"); ok {
			t.Error("a column whose name is spelt otherwise was found")
		}
	}
}
