package digitised

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/decimal"
	"calotte/layout/rowtable"
)

// The units of length that BIDS allows, in mm.
var lengthUnits = [...]struct {
	name string
	mm   float64
}{{"mm", 1}, {"cm", 10}, {"m", 1000}}

// millimetres returns the length of a unit in mm, 0 where the unit is not
// given.
func millimetres(unit string) (float64, error) {
	if unit == "" || unit == rowtable.Missing {
		return 0, nil
	}
	for _, u := range lengthUnits {
		if u.name == unit {
			return u.mm, nil
		}
	}
	return 0, fmt.Errorf("unit %.40q of positions: expected m, cm or mm", unit)
}

// An extent is a length among points, in their unit, with limits in mm that any
// head keeps to. The limits lie less than a factor of ten apart, so that at
// most one unit fits.
type extent struct {
	what     string
	value    float64
	min, max float64
}

// Preauricular points of people from newborns to adults are this far apart,
// with room to spare (common practice, no source).
const minBreadth, maxBreadth = 70, 220 // mm

// The greatest distance between two electrodes of a cap: from a newborn's cap
// that covers the top only to twice an adult's (common practice, no source).
const minSpan, maxSpan = 50, 300 // mm

// fewestSpan is how many electrodes may be taken for a cap.
const fewestSpan = 8

// landmarkExtent is the distance between the ears.
func landmarkExtent(landmarks map[layout.Name]r3.Vec) (extent, bool) {
	e := extent{"LPA and RPA are %s apart", breadth(landmarks), minBreadth, maxBreadth}
	return e, complete(landmarks)
}

// siteExtent is the greatest distance between two sites.
func siteExtent(sites []layout.Site) (extent, bool) {
	e := extent{what: "the sites are up to %s apart", min: minSpan, max: maxSpan}
	for i, a := range sites {
		for _, b := range sites[:i] {
			e.value = max(e.value, r3.Norm(r3.Sub(a.Position, b.Position)))
		}
	}
	return e, len(sites) >= fewestSpan
}

// unit returns the unit in which the extent is a head's: the stated one, else
// the only one that fits, with a warning.
func (e extent) unit(stated string) (mm float64, warning string, err error) {
	mm, err = millimetres(stated)
	if err != nil {
		return 0, "", err
	}
	if e.fits(mm) {
		return mm, "", nil
	}
	for _, u := range lengthUnits {
		if !e.fits(u.mm) {
			continue
		}
		if mm == 0 {
			return u.mm, fmt.Sprintf("no unit is stated: taken as %s, since %s then", u.name, e.in(u.mm)),
				nil
		}
		return u.mm, fmt.Sprintf("unit %s contradicts the numbers: taken as %s, since %s then and would be "+
			"%s mm with %s",
			stated, u.name, e.in(u.mm), decimal.Digits(e.value*mm, 4), stated), nil
	}
	if mm == 0 {
		mm = 1
	}
	return 0, "", fmt.Errorf("%s with unit %s: no head has that in mm, cm or m: expected %g to %g mm, check "+
		"the positions",
		e.in(mm), unitName(mm), e.min, e.max)
}

func (e extent) fits(mm float64) bool {
	v := e.value * mm
	return v >= e.min && v <= e.max && !math.IsInf(v, 0)
}

func (e extent) in(mm float64) string {
	return fmt.Sprintf(e.what, decimal.Digits(e.value*mm, 4)+" mm")
}

func unitName(mm float64) string {
	for _, u := range lengthUnits {
		if u.mm == mm {
			return u.name
		}
	}
	return ""
}

// scaled multiplies positions, in place of those given.
func scaled(sites []layout.Site, by float64) []layout.Site {
	out := make([]layout.Site, len(sites))
	for i, s := range sites {
		out[i] = layout.Site{Name: s.Name, Position: r3.Scale(by, s.Position)}
	}
	return out
}
