package layout

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Landmark spellings, folded. NAS, LPA and RPA are BIDS's, LHJ and RHJ are the
// helix-tragus junctions that stand for the preauricular points in its
// EEGLAB-HJ (from memory); the others are common practice, no source. Nz and Iz
// are not among them: a cap has electrodes of these names, and an electrode
// must not say where the head is.
var landmarkSpellings = map[string]Name{
	"nas": "Nz", "nasion": "Nz", "fidnz": "Nz", "nosebridge": "Nz",
	"lpa": "LPA", "pal": "LPA", "lhj": "LPA", "fidt9": "LPA", "leftear": "LPA", "leftpreauricular": "LPA",
	"lear": "LPA",
	"rpa":  "RPA", "par": "RPA", "rhj": "RPA", "fidt10": "RPA", "rightear": "RPA", "rightpreauricular": "RPA",
	"rear": "RPA",
	"ini":  "Iz", "inion": "Iz", "fidiz": "Iz",
}

var joints = strings.NewReplacer("_", "", "-", "")

// ParseLandmark finds the landmark that a text names.
func ParseLandmark(text string) (Name, bool) {
	n, ok := landmarkSpellings[Fold(joints.Replace(text))]
	return n, ok
}

// StrayLandmark finds one that is more than twice as far from its nearest
// neighbour as the others are from each other at most. On a head all are some
// 0.7 to 1.2 times as far.
func StrayLandmark(landmarks map[Name]r3.Vec) (Name, bool) {
	const far = 2
	for _, n := range landmarkOrder {
		p, ok := landmarks[n]
		if !ok || len(landmarks) < 3 {
			continue
		}
		nearest, others := math.Inf(1), 0.0
		for m, q := range landmarks {
			if m == n {
				continue
			}
			nearest = min(nearest, r3.Norm(r3.Sub(p, q)))
			for k, r := range landmarks {
				if k != n {
					others = max(others, r3.Norm(r3.Sub(q, r)))
				}
			}
		}
		if others > 0 && nearest > far*others {
			return bidsName(n), true
		}
	}
	return "", false
}

// bidsName is what files call a landmark.
func bidsName(n Name) Name {
	switch n {
	case "Nz":
		return "NAS"
	case "Iz":
		return "INI"
	}
	return n
}

// landmarkOrder keeps sums the same from run to run.
var landmarkOrder = [...]Name{"Nz", "LPA", "RPA", "Iz"}
