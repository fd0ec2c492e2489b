package scan

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Lengths of the smoothing along a tape, in mm.
const (
	bendStep    = 1
	bendWindow  = 35 // on each side, of the polynomials
	bendDegree  = 5
	bendBreadth = 8 // to both sides, of the surface whose normals are averaged
	bendAlong   = 3 // and along the tape

	bendColumns = 5
)

// Near the ends of a tape, where a window is one-sided, the curvature is that
// at this share of the window's half from its middle: farther out a polynomial
// is not to be trusted.
const bendSure = 0.8

// smoothBends estimates the geodesic curvature of a tape at even steps. The
// triangles of a scan have none of their own: the tape's line in its plane, and
// the surface's normals along it, are each fitted by polynomials of fifth
// degree over 70 mm, which follow a head's curves and pass over its triangles.
// With the curvature k of the line, counterclockwise in the plane, the geodesic
// curvature is k times the cosine of the angle between the normals of plane and
// surface.
func (a tapeArc) smoothBends(p plane, m *Mesh) []float64 {
	n := max(bendDegree+1, int(math.Ceil(a.Length()/bendStep)))
	u := r3.Unit(r3.Sub(a.points[len(a.points)-1], a.points[0]))
	v := r3.Cross(p.normal, u)

	// Columns: the line's two coordinates in the plane, and the surface's
	// normal along these and the plane's normal.
	samples := mat.NewDense(n+1, bendColumns, nil)
	stations := make([]r3.Vec, n+1)
	for i := range stations {
		stations[i] = a.At(float64(i) / float64(n))
	}
	normals := m.normalsAlong(p, stations)
	for i, q := range stations {
		q = r3.Sub(q, stations[0])
		samples.SetRow(i, []float64{r3.Dot(q, u), r3.Dot(q, v), r3.Dot(normals[i], u), r3.Dot(normals[i], v),
			r3.Dot(normals[i], p.normal)})
	}
	width := min(n+1, 2*bendWindow/bendStep+1)
	powers := mat.NewDense(width, bendDegree+1, nil)
	for i := range width {
		x := float64(2*i-width+1) / float64(width) // from -1 to 1 over the window
		for k, power := 0, 1.0; k <= bendDegree; k++ {
			powers.Set(i, k, power)
			power *= x
		}
	}
	var fit mat.QR
	fit.Factorize(powers)
	bends := make([]float64, n+1)
	for i := range bends {
		first := min(max(i-width/2, 0), n+1-width)
		var c mat.Dense
		if err := fit.SolveTo(&c, false, samples.Slice(first, first+width, 0, bendColumns)); err != nil {
			continue // cannot be: the powers are independent
		}
		x := float64(2*(i-first)-width+1) / float64(width)
		x = min(max(x, -bendSure), bendSure)
		_, dx, ddx := polynomial(c.ColView(0), x)
		_, dy, ddy := polynomial(c.ColView(1), x)
		su, _, _ := polynomial(c.ColView(2), x)
		sv, _, _ := polynomial(c.ColView(3), x)
		up, _, _ := polynomial(c.ColView(4), x)
		// The surface's normal is normal to the line, whatever the fits
		// say.
		speed := math.Hypot(dx, dy)
		out := (su*dy - sv*dx) / speed
		bends[i] = up / math.Hypot(up, out) * (dx*ddy - dy*ddx) / (speed * speed * speed)
	}
	return bends
}

// polynomial returns the value and the first two derivatives.
func polynomial(c mat.Vector, x float64) (v, d, dd float64) {
	for k := c.Len() - 1; k >= 0; k-- {
		dd = dd*x + 2*d
		d = d*x + v
		v = v*x + c.AtVec(k)
	}
	return v, d, dd
}

// normalsAlong returns the mean normals, of length 1, of the triangles about
// each of many points that follow each other around a plane. They point away
// from the middle of the points, however the triangles are wound.
func (m *Mesh) normalsAlong(p plane, stations []r3.Vec) []r3.Vec {
	last := len(stations) - 1
	middle := areaCentre(p, stations[0], stations[1:last], stations[last])
	turn := anglesFrom(p, middle, stations[0])
	angles := make([]float64, len(stations))
	for i := range angles[1:] {
		angles[i+1] = turn(stations[i+1])
	}
	sums := make([]normalSum, len(stations)+1) // of the triangles nearest to the first i stations
	for _, t := range m.triangles {
		a, b, c := m.vertices[t[0]], m.vertices[t[1]], m.vertices[t[2]]
		centre := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		height := p.above(centre)
		if math.Abs(height) > bendBreadth {
			continue
		}
		i := min(sort.SearchFloat64s(angles, turn(centre)), last)
		if r3.Norm(r3.Sub(centre, stations[i])) > 3*bendBreadth {
			continue
		}
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if r3.Dot(n, r3.Sub(centre, middle)) < 0 {
			n = r3.Scale(-1, n)
		}
		sums[i+1].add(normalOf(n, height), 1)
	}
	for i := range stations {
		sums[i+1].add(sums[i], 1)
	}
	normals := make([]r3.Vec, len(stations))
	for i := range normals {
		around := sums[min(i+bendAlong/bendStep, last)+1]
		around.add(sums[max(i-bendAlong/bendStep, 0)], -1)
		if around.area <= 0 { // triangles larger than that
			around = sums[last+1]
		}
		normals[i] = around.inPlane()
	}
	return normals
}

// A normalSum holds what a straight line through normals by their heights above
// a plane needs. The line leaves out that more of a head's surface lies on one
// side of the plane than on the other.
type normalSum struct {
	area, height, square float64 // sums of area, times height, times its square
	normal, lever        r3.Vec  // sums of area times normal, times height
}

// normalOf is one triangle; n has the length of its area.
func normalOf(n r3.Vec, height float64) normalSum {
	area := r3.Norm(n)
	return normalSum{area, area * height, area * height * height, n, r3.Scale(height, n)}
}

func (s *normalSum) add(o normalSum, sign float64) {
	s.area += sign * o.area
	s.height += sign * o.height
	s.square += sign * o.square
	s.normal = r3.Add(s.normal, r3.Scale(sign, o.normal))
	s.lever = r3.Add(s.lever, r3.Scale(sign, o.lever))
}

// inPlane returns the line's normal at height 0.
func (s normalSum) inPlane() r3.Vec {
	n := r3.Sub(r3.Scale(s.square, s.normal), r3.Scale(s.height, s.lever))
	if !(s.area*s.square-s.height*s.height > 1e-3*s.area*s.square) { // one height
		n = s.normal
	}
	return r3.Unit(n)
}
