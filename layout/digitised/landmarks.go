package digitised

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// pointKey is the same for two texts that name the same point. The landmark INI
// and the electrode Iz are two points.
func pointKey(name string) string {
	if n, ok := layout.ParseLandmark(name); ok {
		return "landmark " + string(n)
	}
	return spelling(name)
}

// part takes the landmarks out of the points.
func part(points []layout.Site) (sites []layout.Site, landmarks map[layout.Name]r3.Vec) {
	landmarks = map[layout.Name]r3.Vec{}
	for _, p := range points {
		if n, ok := layout.ParseLandmark(p.Name); ok {
			landmarks[n] = p.Position
			continue
		}
		sites = append(sites, p)
	}
	return sites, landmarks
}

// landmarks finds those that are known, by name.
func (c Coordinates) landmarks() (map[layout.Name]r3.Vec, error) {
	found := map[layout.Name]r3.Vec{}
	for text, p := range c.Landmarks {
		n, ok := layout.ParseLandmark(text)
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
func takeNasion(sites []layout.Site, landmarks map[layout.Name]r3.Vec) ([]layout.Site, bool) {
	i := slices.IndexFunc(sites, func(s layout.Site) bool { return spelling(s.Name) == "Nz" })
	if i < 0 {
		return sites, false
	}
	landmarks["Nz"] = sites[i].Position
	return slices.Delete(sites, i, i+1), true
}

// complete reports whether nasion and both preauricular points are there.
func complete(landmarks map[layout.Name]r3.Vec) bool {
	for _, n := range [...]layout.Name{"Nz", "LPA", "RPA"} {
		if _, ok := landmarks[n]; !ok {
			return false
		}
	}
	return true
}

// breadth is the distance between the preauricular points.
func breadth(landmarks map[layout.Name]r3.Vec) float64 {
	return r3.Norm(r3.Sub(landmarks["RPA"], landmarks["LPA"]))
}
