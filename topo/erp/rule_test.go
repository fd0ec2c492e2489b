package erp

import (
	"testing"

	"calotte/topo/erp/internal/screentest"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
)

// The last 80 samples of the open recordings are zero in every channel.
func TestFlatEndOfTheOpenRecordings(t *testing.T) {
	_, pieces := screentest.Seconds(t, erptest.OpenRecordings(t, "S001R03.edf")[0])
	rule := reject.Flat{Limits: reject.Limits{0}, Samples: 16}
	for k, piece := range pieces {
		for site, row := range piece {
			if _, _, broken := rule.Measure(site, row); broken != (k == len(pieces)-1) {
				t.Errorf("second %d, site %d: flat %v", k, site, broken)
			}
		}
	}
}
