package cohort

import (
	"slices"
	"testing"
)

// What a task's record may list is what such a task can make, also by another
// recipe.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		id, path string
		fits     bool
	}{
		{"average sub-01", "sub-01/sub-01_go_average.tsv", true},
		{"average sub-01", "sub-01/sub-01_halt_epochs.npy", true},
		{"average sub-01", "sub-01/sub-01_capcheck.json", false},
		{"average sub-01", "sub-01/sub-01_task-x_eeg.edf", false},
		{"average sub-01", "sub-02/sub-02_go_average.tsv", false},
		{"average sub-01", "sub-01/sub-01_x/y_average.tsv", false},
		{"capcheck sub-01", "sub-01/sub-01_capcheck.json", true},
		{"capcheck sub-01", "sub-01/sub-01_capcheck.json.old", false},
		{"combine pilots", "group/pilots_go_average.json", true},
		{"combine pilots_go-stop", "group/pilots_go-stop_sem.tsv", true},
		{"combine pilots", "group/others_go_sem.tsv", false},
		{"map o.svg", "figures/o.svg", true},
		{"map o.svg", ".git/HEAD", false},
		{"map o.svg", "o.svg", false},
		{"compare t.tsv", "tables/t_marks.json", true},
		{"frames film", "figures/film/frame-0001.png", true},
		{"frames film", "figures/film/mine.png", false},
		{"explore page.html", "page.html", true},
		{"explore index.html", "index.html", false},
		{"report index.html", "methods.txt", true},
		{"report index.html", "recipe.yaml", false},
		{"origin o.svg", "figures/o.svg", false},
		{"", "o.svg", false},
	} {
		if got := slices.ContainsFunc(shapesOf(c.id),
			func(s shape) bool { return s.fits(c.path) }); got != c.fits {
			t.Errorf("%s of task %q: %v", c.path, c.id, got)
		}
	}
}
