package erp

import (
	"math"
	"strings"
	"testing"

	"calotte/layout/hostile"
	"calotte/topo/erp/reject"
)

func FuzzReadExclusions(f *testing.F) {
	f.Add("file\tonset\telectrode\treason\none.edf\t12.5\tn/a\tmoved\none.edf\t14\tT3\tloose\n")
	f.Add("file,onset\none.edf,12.5\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		all, err := reject.ReadExclusions(strings.NewReader(text))
		for i, x := range all {
			if err != nil || x.Source == "" || math.IsNaN(x.Onset) || math.IsInf(x.Onset, 0) {
				t.Errorf("%d: %+v, %v", i, x, err)
			}
		}
	})
}
