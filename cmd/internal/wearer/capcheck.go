package wearer

import (
	"encoding/json"
	"fmt"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/topo/contrast"
	"calotte/topo/provenance"
)

// ReadCapCheck reads what calotte capcheck --format json printed: how the cap
// sat, with a covariance where the file has one.
func ReadCapCheck(path string) (contrast.Pose, provenance.Source, error) {
	text, err := disk.ReadFile(path)
	if err != nil {
		return contrast.Pose{}, provenance.Source{}, err
	}
	var check struct {
		Turn       *capcheck.Turn
		Swap       string
		Covariance layout.PoseCovariance
	}
	if err := json.Unmarshal(text, &check); err != nil || check.Turn == nil || *check.Turn == (capcheck.Turn{}) {
		return contrast.Pose{}, provenance.Source{},
			fmt.Errorf("%s: expected what calotte capcheck --format json "+
				"prints, with the turn of the cap", path)
	}
	if check.Swap != "" && check.Swap != capcheck.NoSwap.String() {
		return contrast.Pose{}, provenance.Source{},
			fmt.Errorf("%s: the check found %s, which no turn undoes: "+
				"correct the names of the electrodes, and check again", path, check.Swap)
	}
	return contrast.Pose{Turn: check.Turn.Vector(), Covariance: check.Covariance}, archive.Source(path, text), nil
}
