package cause

import (
	"slices"

	"calotte/layout"
)

// A Cause is why an electrode is bad or an epoch is lost.
type Cause string

// Causes, as they follow "to" or "it is".
const (
	Blink     Cause = "blinks"
	Sideways  Cause = "sideways looks"
	Movement  Cause = "movement"
	Jaw       Cause = "jaw and temple muscle"
	Forehead  Cause = "forehead muscle"
	Neck      Cause = "neck muscle"
	Contact   Cause = "a loose contact"
	Dead      Cause = "a dead electrode"
	Exchanged Cause = "an exchange of wires"
	LoneHum   Cause = "hum at one electrode"
	SharedHum Cause = "hum of all electrodes"
)

// regions are where muscles lie under the cap (common practice, no source).
var regions = []struct {
	muscle Cause
	sites  []layout.Name
}{
	{Jaw, []layout.Name{"AF7", "AF8", "F7", "F8", "F9", "F10", "FT7", "FT8", "FT9", "FT10", "T7", "T8", "T9", "T10",
		"TP7", "TP8", "TP9", "TP10"}},
	{Forehead, []layout.Name{"Nz", "Fp1", "Fpz", "Fp2", "AF3", "AFz", "AF4"}},
	{Neck, []layout.Name{"O1", "Oz", "O2", "I1", "Iz", "I2", "PO7", "PO8", "PO9", "PO10", "P9", "P10"}},
}

// muscleAt is the muscle under an electrode, empty where there is none, and the
// other electrodes over it.
func muscleAt(sites []layout.Name, site int) (muscle Cause, others []int) {
	for _, r := range regions {
		if !slices.Contains(r.sites, sites[site]) {
			continue
		}
		for i, s := range sites {
			if i != site && slices.Contains(r.sites, s) {
				others = append(others, i)
			}
		}
		return r.muscle, others
	}
	return "", nil
}
