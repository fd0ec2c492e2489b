package average

import (
	"math"
	"testing"

	"calotte/topo/internal/erptest"
)

func TestInfoValidate(t *testing.T) {
	if err := (Info{Kind: Participant, Rate: 250,
		Epochs:  &Counts{Kept: 3, Rejected: map[string]int{"peak to peak": 0}},
		Members: []Member{{}}}).Validate(); err != nil {
		t.Error(err)
	}
	for want, i := range map[string]Info{
		`kind "": expected "participant", "grand average" or "table"`: {},
		`kind "mean"`:      {Kind: "mean"},
		"rate_hz NaN":      {Kind: Table, Rate: math.NaN()},
		"rate_hz -1":       {Kind: Table, Rate: -1},
		"rate_hz 1e+300":   {Kind: Table, Rate: 1e300},
		`name "a·b"`:       {Kind: Table, Name: "a\nb"},
		`condition "·[2J"`: {Kind: Table, Condition: "\x1b[2J"},
		`reference "·"`:    {Kind: Table, Reference: "\x00"},
		"-1 epochs kept":   {Kind: Participant, Epochs: &Counts{Kept: -1}},
		"-2 epochs rejected (peak to peak)": {Kind: Participant,
			Epochs: &Counts{Rejected: map[string]int{"peak to peak": -2}}},
		`member "sub-01" has -3 epochs`: {Kind: GrandAverage, Members: []Member{{Name: "sub-01", Minus: -3}}},
	} {
		erptest.WantError(t, i.Validate(), want)
	}
}
