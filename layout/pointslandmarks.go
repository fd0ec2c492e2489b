package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Landmark spellings, folded. NAS, LPA and RPA are BIDS's, LHJ and RHJ are the
// helix-tragus junctions that stand for the preauricular points in its EEGLAB-HJ
// (from memory); the others are common practice, no source. Nz and Iz are not
// among them: a cap has electrodes of these names, and an electrode must not say
// where the head is.
var landmarkSpellings = map[string]Name{
	"nas": "Nz", "nasion": "Nz", "fidnz": "Nz", "nosebridge": "Nz",
	"lpa": "LPA", "pal": "LPA", "lhj": "LPA", "fidt9": "LPA", "leftear": "LPA", "leftpreauricular": "LPA", "lear": "LPA",
	"rpa": "RPA", "par": "RPA", "rhj": "RPA", "fidt10": "RPA", "rightear": "RPA", "rightpreauricular": "RPA", "rear": "RPA",
	"ini": "Iz", "inion": "Iz", "fidiz": "Iz",
}

var joints = strings.NewReplacer("_", "", "-", "")

// landmark finds the landmark that a text names.
func landmark(text string) (Name, bool) {
	n, ok := landmarkSpellings[fold(joints.Replace(text))]
	return n, ok
}

// pointKey is the same for two texts that name the same point. The landmark INI
// and the electrode Iz are two points.
func pointKey(name string) string {
	if n, ok := landmark(name); ok {
		return "landmark " + string(n)
	}
	return spelling(name)
}

// part takes the landmarks out of the points.
func part(points []Site) (sites []Site, landmarks map[Name]r3.Vec) {
	landmarks = map[Name]r3.Vec{}
	for _, p := range points {
		if n, ok := landmark(p.Name); ok {
			landmarks[n] = p.Position
			continue
		}
		sites = append(sites, p)
	}
	return sites, landmarks
}

// landmarks finds those that are known, by name.
func (c Coordinates) landmarks() (map[Name]r3.Vec, error) {
	found := map[Name]r3.Vec{}
	for text, p := range c.Landmarks {
		n, ok := landmark(text)
		if !ok {
			continue
		}
		if _, twice := found[n]; twice {
			return nil, fmt.Errorf("landmark %s is given twice in the coordinate system: keep one", n)
		}
		if norm := r3.Norm(p); math.IsNaN(norm) || math.IsInf(norm, 0) {
			return nil, fmt.Errorf("landmark %s is at %v: expected finite numbers", n, p)
		}
		found[n] = p
	}
	return found, nil
}

// takeNasion makes the site Nz the nasion. It reports whether there is one.
func takeNasion(sites []Site, landmarks map[Name]r3.Vec) ([]Site, bool) {
	i := slices.IndexFunc(sites, func(s Site) bool { return spelling(s.Name) == "Nz" })
	if i < 0 {
		return sites, false
	}
	landmarks["Nz"] = sites[i].Position
	return slices.Delete(sites, i, i+1), true
}

// complete reports whether nasion and both preauricular points are there.
func complete(landmarks map[Name]r3.Vec) bool {
	for _, n := range [...]Name{"Nz", "LPA", "RPA"} {
		if _, ok := landmarks[n]; !ok {
			return false
		}
	}
	return true
}

// breadth is the distance between the preauricular points.
func breadth(landmarks map[Name]r3.Vec) float64 {
	return r3.Norm(r3.Sub(landmarks["RPA"], landmarks["LPA"]))
}

// farLandmark finds one that is more than twice as far from its nearest neighbour
// as the others are from each other at most. On a head all are some 0.7 to 1.2
// times as far.
func farLandmark(landmarks map[Name]r3.Vec) (Name, bool) {
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
