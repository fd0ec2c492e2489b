package digitised

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/decimal"
	"calotte/layout/internal/geometry"
)

// landmarkOrder keeps sums the same from run to run.
var landmarkOrder = [...]layout.Name{"Nz", "LPA", "RPA", "Iz"}

// addAxesError says how uncertain the axes are, by the landmarks' scatter and
// by that of the centre, which looks like a turn of sites that are all on one
// side of it.
func (d *digitiser) addAxesError(centre r3.Vec) error {
	if complete(d.Landmarks) {
		marks := d.markPoints()
		covariance, ok := geometry.TurnCovariance(geometry.Shifted(marks, geometry.Centroid(marks)))
		if !ok {
			return errors.New("NAS, LPA and RPA lie on one line: digitise them again")
		}
		scatter := d.options.LandmarkError
		if scatter == 0 {
			scatter = usualLandmarkError
		}
		d.AxesCovariance = layout.PoseCovarianceOf(covariance, scatter*scatter)
	}
	points := pointsOf(d.Sites)
	if covariance, ok := geometry.TurnCovariance(points); ok {
		for _, shift := range [...]r3.Vec{{X: centre.X}, {Y: centre.Y}, {Z: centre.Z}} {
			d.AxesCovariance = d.AxesCovariance.PlusTurn(geometry.TurnOfShift(points, covariance, shift))
		}
	}
	return nil
}

// markPoints lists the landmarks in a fixed order.
func (d *digitiser) markPoints() []r3.Vec {
	var points []r3.Vec
	for _, n := range landmarkOrder {
		if p, ok := d.Landmarks[n]; ok {
			points = append(points, p)
		}
	}
	return points
}

// usualLandmarkError is the standard error of each coordinate of a landmark
// that is felt and touched, in mm (common practice, no source).
const usualLandmarkError = 2

// followLandmarks turns and moves everything so that the landmarks come nearest
// to the head model's.
func (d *digitiser) followLandmarks() error {
	if err := d.checkLandmarks(); err != nil {
		return err
	}
	model := d.head.Landmarks().Named()
	var to []r3.Vec
	for _, n := range landmarkOrder {
		if _, ok := d.Landmarks[n]; ok {
			to = append(to, model[n])
		}
	}
	m, ok := geometry.BestMotion(d.markPoints(), to)
	if !ok {
		return errors.New("NAS, LPA and RPA lie on one line: digitise them again")
	}
	d.follows(m)
	return nil
}

// The nasion's distance from the line between the ears, as a share of theirs,
// from memory between 0.5 and 0.8 on heads; wide limits tell a slip.
const minNasion, maxNasion = 0.3, 1.2

// lowest is how far below the landmarks' plane the sites' mean may lie, in mm.
const lowest = -10

// checkLandmarks refuses triangles that no head has, and mirrored points: of
// these, the sites are below the plane of the landmarks, where up is the way
// that a screw goes when turned from the right ear to the nasion.
func (d *digitiser) checkLandmarks() error {
	nasion, left, right := d.Landmarks["Nz"], d.Landmarks["LPA"], d.Landmarks["RPA"]
	across := r3.Sub(right, left)
	if b := r3.Norm(across); !(b >= minBreadth && b <= maxBreadth) {
		return fmt.Errorf("LPA and RPA are %s mm apart: expected %d to %d mm, digitise them again",
			decimal.Digits(b, 4), minBreadth, maxBreadth)
	}
	x := r3.Unit(across)
	front := r3.Sub(nasion, left)
	along := r3.Dot(front, x) / r3.Norm(across)
	front = r3.Sub(front, r3.Scale(r3.Dot(front, x), x))
	if share := r3.Norm(front) / r3.Norm(across); share < minNasion || share > maxNasion || along < 0 || along > 1 {
		return fmt.Errorf("NAS is %.0f mm from the line between LPA and RPA, at %.2f of the way: "+
			"expected %.0f to "+
			"%.0f mm near the middle, digitise them again",
			r3.Norm(front), along, minNasion*r3.Norm(across), maxNasion*r3.Norm(across))
	}
	up := r3.Cross(x, r3.Unit(front))
	height := r3.Dot(r3.Sub(geometry.Centroid(pointsOf(d.Sites)), nasion), up)
	if height < lowest {
		return fmt.Errorf("the sites lie %.0f mm below the plane of NAS, LPA and RPA: %s", -height,
			d.mirrorCause())
	}
	if d.Axes == "" {
		if d.coordinates.System == "" {
			d.warn("no axes are stated: NAS, LPA and RPA are followed")
		}
		return nil
	}
	if x.X < axisShare || front.Y < axisShare*r3.Norm(front) {
		d.warn("NAS, LPA and RPA do not lie along axes %s: the landmarks are followed", d.Axes)
		d.Axes = ""
	}
	return nil
}

// mirrorCause tells from the site names whether left sites are near the LPA,
// and front sites near the nasion.
func (d *digitiser) mirrorCause() string {
	left, right := d.Landmarks["LPA"], d.Landmarks["RPA"]
	front := r3.Sub(d.Landmarks["Nz"], r3.Scale(0.5, r3.Add(left, right)))
	middle := geometry.Centroid(pointsOf(d.Sites))
	across := sides(d.Sites, func(p r3.Vec) float64 { return r3.Norm(r3.Sub(p, left)) - r3.Norm(r3.Sub(p, right)) })
	ahead := fronts(d.Sites, func(p r3.Vec) float64 { return r3.Dot(front, r3.Sub(p, middle)) })
	_, inion := d.Landmarks["Iz"]
	switch {
	case across > 0 && ahead < 0 && inion:
		return "NAS and INI are exchanged"
	case across > 0 && ahead < 0:
		return "NAS is at the back of the head, digitise it again"
	case across > 0:
		return "the positions are mirrored, state the axes as they are"
	case across < 0:
		return "LPA and RPA are exchanged"
	}
	return "LPA and RPA are exchanged, or the positions are mirrored"
}

// warnSides compares the names with the sides that they are on. It is no error:
// a cap check finds out more.
func (d *digitiser) warnSides() {
	if sides(d.named(), func(p r3.Vec) float64 { return p.X }) < 0 {
		d.warn("most sites with names of the left are on the right: check plugs, names, axes and landmarks")
	}
}

// sides counts the names of left and right that agree with a side, negative on
// the left, less those that do not.
func sides(sites []layout.Site, side func(r3.Vec) float64) int {
	agreeing := 0
	for _, s := range sites {
		n, err := layout.Parse(s.Name)
		if err != nil || n.Mirror() == n {
			continue
		}
		if (side(s.Position) < 0) == layout.IsLeft(n) {
			agreeing++
		} else {
			agreeing--
		}
	}
	return agreeing
}

// fronts does the same for front and back: positive in front. Sites of the
// coronal arc do not count.
func fronts(sites []layout.Site, ahead func(r3.Vec) float64) int {
	agreeing := 0
	for _, s := range sites {
		p, ok := onUnitSphere(s.Name)
		if !ok || math.Abs(p.Y) < 0.1 {
			continue
		}
		if (ahead(s.Position) > 0) == (p.Y > 0) {
			agreeing++
		} else {
			agreeing--
		}
	}
	return agreeing
}
