package main

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/console"
)

// Every sentence of advice and every warning of average is provoked by a
// recording that has just the fault that it speaks of, and by no other.
func TestEachFaultOfAnAverageIsTold(t *testing.T) {
	const limit = "--reject=150uV"
	front := func(c *wornCap) func(int) float64 {
		return func(i int) float64 {
			return math.Exp(-r3.Norm2(r3.Sub(c.places[i], r3.Unit(r3.Vec{Y: 1, Z: .1}))) / .25)
		}
	}
	sentences := map[string]string{
		"blinks that cost epochs": "rejections are at the forehead, as blinks are: calotte unmix finds them",
		"blinks that are kept":    "that are kept swing at the forehead as in blinks, which no limit found",
		"a bad electrode":         "rejections: --repair FC3 keeps",
		"limits that find none":   "the limits that --reject robust found reach",
		"few epochs":              "few epochs: 12, fewer than 15",
		"noise":                   "noisy: ±",
		"unequal numbers":         "(--same-number)",
	}
	faults := map[string]struct {
		spoil func(c *wornCap)
		args  []string
	}{
		"none":                    {func(*wornCap) {}, []string{limit}},
		"blinks that cost epochs": {func(c *wornCap) { c.add(front(c), c.bumps(300)) }, []string{limit}},
		"blinks that are kept":    {func(c *wornCap) { c.add(front(c), c.bumps(300)) }, nil},
		"a bad electrode":         {func(c *wornCap) { c.alone("FC3", c.bumps(400)) }, []string{limit}},
		"limits that find none": {func(c *wornCap) { c.alone("FC3", c.wander(.9, 150)) },
			[]string{"--reject=robust"}},
		"few epochs": {func(c *wornCap) { c.events = c.events[:12] }, []string{limit}},
		"noise": {func(c *wornCap) { // of the other sign in every second epoch, so that the mean is small
			course := c.bumps(30)
			for k := 1; k < len(c.events)-1; k += 2 {
				to, from := int((c.events[k]+.2)*capRate), int((c.events[k-1]+.2)*capRate)
				for t := range 100 {
					course[to+t] = -course[from+t]
				}
			}
			c.add(func(i int) float64 { return math.Copysign(1, c.places[i].X) }, course)
		}, []string{limit, "--sme", "200..600ms"}},
		"unequal numbers": {func(*wornCap) {}, []string{limit, "--condition", "late=go and time:31s..60s"}},
	}
	for name, fault := range faults {
		t.Run(name, func(t *testing.T) {
			for seed := range uint64(2) {
				c := newCap(t, seed+40)
				fault.spoil(c)
				dir := t.TempDir()
				rec := c.write(t, filepath.Join(dir, "cap.edf"))
				stdout, stderr, code := calotte(append([]string{"average", rec, "--condition", "all=go",
					"--reference", "average", "-o", dir}, fault.args...)...)
				if code != console.OK {
					t.Fatalf("exit %d: %s", code, stderr)
				}
				for of, sentence := range sentences {
					if told := strings.Contains(stdout+stderr, sentence); told != (of == name) {
						t.Errorf("%q is told: %v: %s%s", sentence, told, stdout, stderr)
					}
				}
			}
		})
	}
}
