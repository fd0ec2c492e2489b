package capcheck

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// An Angle is one of the three that a cap can be turned by.
type Angle struct {
	Degrees float64 `json:"degrees"`
	Error   float64 `json:"error"` // standard error in degrees
	Known   bool    `json:"known"` // false where the measures cannot tell
}

// A Turn is a rotation vector: the angles about the three axes, counted like a
// right-handed screw along the axis.
//
// The errors come from what the turn leaves unexplained, and from the errors of
// the axes where CapOptions has them: a landmark that was touched 2 mm too high
// turns all sites alike, by about 1°, and leaves nothing unexplained.
type Turn struct {
	// about x, to the right ear. Positive: the front edge is too high, the
	// vertex too far back
	Pitch Angle `json:"pitch"`
	// about y, to the nasion. Positive: the vertex is too far right, the
	// left edge too high
	Roll Angle `json:"roll"`
	Yaw  Angle `json:"yaw"` // about z, up. Positive: the front edge is too far left
}

// Vector returns the turn in radians; angles that are not known are zero.
func (t Turn) Vector() r3.Vec {
	return r3.Scale(math.Pi/180, r3.Vec{X: t.Pitch.Degrees, Y: t.Roll.Degrees, Z: t.Yaw.Degrees})
}

// String gives the angle with its standard error: "+5.2 ± 0.3°".
func (a Angle) String() string {
	if !a.Known {
		return "not known"
	}
	return fmt.Sprintf("%s ± %.1f°", layout.SignedTenths(a.Degrees), a.Error)
}

// String gives the three angles, and what a positive one is, as a line for the
// technician.
func (t Turn) String() string {
	var parts []string
	for _, a := range [...]struct {
		name               string
		angle              Angle
		positive, negative string
	}{
		{"pitch", t.Pitch, "front edge too high", "front edge too low"},
		{"roll", t.Roll, "left edge too high", "right edge too high"},
		{"yaw", t.Yaw, "front edge too far left", "front edge too far right"},
	} {
		text := a.name + " " + a.angle.String()
		switch sign := layout.SignedTenths(a.angle.Degrees)[:1]; {
		case a.angle.Known && sign == "+":
			text += " (" + a.positive + ")"
		case a.angle.Known && sign != "0":
			text += " (" + a.negative + ")"
		}
		parts = append(parts, text)
	}
	return "the cap is turned: " + strings.Join(parts, ", ")
}
