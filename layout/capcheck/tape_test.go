package capcheck

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
	"calotte/layout/internal/headtest"
)

func TestParseTapes(t *testing.T) {
	got, err := ParseTapes("Nz–Fpz 4.2cm, Oz-Inion 30mm,  lpa‑T3 3.4 cm , rpa-t8 39 mm")
	if err != nil {
		t.Fatal(err)
	}
	want := []Tape{{"Nz", "Fpz", 42}, {"Iz", "Oz", 30}, {"LPA", "T7", 34}, {"RPA", "T8", 39}}
	if !slices.Equal(got, want) {
		t.Errorf("read %v, want %v", got, want)
	}
}

func TestParseTapesRefuses(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "expected a distance such as Nz-Fpz 4.2cm"},
		{"Nz-Fpz 4.2cm,", `tape "": expected a distance`},
		{"Nz-Fpz 4,2cm", `"4,2": write decimals with a point, such as 4.2;`},
		{"Nz-Fpz 4cm,2cm", "write decimals with a point"},
		{"Nz-Fpz 4.2", `length "4.2" has no unit`},
		{"Nz-Fpz 4.2in", "has no unit: expected mm or cm"},
		{"Nz-Fpz x cm", `length "xcm": expected a number`},
		{"Nz-Fpz -3cm", "expected a number and mm or cm"},
		{"Nz-Fpz NaNcm", "expected a number"},
		{"Nz-Fpz 1e400cm", "expected a number"},
		{"Nz-Fpz", "expected a blank"},
		{"NzFpz 4cm", "expected two ends"},
		{"Nz-Fpx 4cm", `unknown site "Fpx"`},
		{"Fz-Cz 4cm", "neither Fz nor Cz is a landmark"},
		{"Nz-Iz 36cm", "both landmarks"},
		{"LPA-A1 2cm", "not a site of the scalp"},
		{"Nz-Fpz 4cm, Fpz-NAS 5cm", "tape Nz-Fpz is given twice"},
	} {
		if got, err := ParseTapes(c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, %v, want %q", c.text, got, err, c.want)
		}
	}
}

func mustParseTapes(t *testing.T, text string) []Tape {
	t.Helper()
	tapes, err := ParseTapes(text)
	if err != nil {
		t.Fatal(err)
	}
	return tapes
}

// The signs of the four usual tapes, on a head of 360 mm from nasion to inion
// and from ear to ear: 36 mm each. On its circle of 360/π · 0.8 mm, 6 mm are
// the difference of two tapes that are 12 mm apart.
func TestTapeSigns(t *testing.T) {
	model := head.Sphere(360 * 0.8 / math.Pi)
	degrees := func(mm float64) float64 { return mm / model.Up * 180 / math.Pi }
	for _, c := range []struct {
		text   string
		pitch  float64
		roll   float64
		height float64
		advice []string
	}{
		{"Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.6cm, RPA-T8 3.6cm", degrees(6), 0, 0, []string{
			"slide the cap 6 mm forward",
			"check by tape: nasion to Fpz now 4.2 cm, should be 3.6 cm; inion to Oz now 3.0 cm, " +
				"should be 3.6 cm"}},
		{"Nz-Fpz 3.0cm, Iz-Oz 4.2cm", degrees(-6), 0, 0,
			[]string{"slide the cap 6 mm backward", "check by tape: "}},
		{"LPA-T7 3.3cm, RPA-T8 3.9cm", 0, degrees(-3), 0, []string{
			"slide the cap 2 of 3 mm to the wearer's right",
			"check by tape: left preauricular point to T7 now 3.3 cm, should be 3.6 cm; right " +
				"preauricular point to " +
				"T8 now 3.9 cm, should be 3.6 cm"}},
		{"LPA-T7 4.6cm, RPA-T8 2.6cm", 0, degrees(10), 0,
			[]string{"slide the cap 10 mm to the wearer's left", "check by tape: "}},
		{"Nz-Fpz 4.1cm, Iz-Oz 4.1cm, LPA-T7 4.1cm, RPA-T8 4.1cm", 0, 0, 5,
			[]string{"the cap sits 5 mm too high all round"}},
		{"Nz-Fpz 3.2cm, Iz-Oz 3.2cm", 0, 0, -4, []string{"the cap sits 4 mm too low all round"}},
		{"Nz-Fpz 3.7cm, Iz-Oz 3.6cm, LPA-T7 3.6cm, RPA-T8 3.6cm", degrees(0.5), 0, 0.25,
			nil},
	} {
		got, err := CheckTapes(model, mustParseTapes(t, c.text), Options{TapeError: 1})
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		// Tapes turn by the exact formula on a sphere, where all sites
		// are on one great circle with their landmark.
		if math.Abs(got.Turn.Pitch.Degrees-c.pitch) > 0.05 || math.Abs(got.Turn.Roll.Degrees-c.roll) > 0.05 ||
			math.Abs(got.Height-c.height) > 0.05 {
			t.Errorf("%s: %+v, height %g, want pitch %g, roll %g, height %g", c.text, got.Turn, got.Height,
				c.pitch,
				c.roll, c.height)
		}
		if got.Turn.Yaw.Known {
			t.Errorf("%s: yaw is known: %+v", c.text, got.Turn.Yaw)
		}
		if len(got.Advice) != len(c.advice)+1 {
			t.Errorf("%s: advice %v", c.text, got.Advice)
			continue
		}
		for i, want := range c.advice {
			if !strings.HasPrefix(got.Advice[i].String(), want) {
				t.Errorf("%s: advice %q, want %q", c.text, got.Advice[i], want)
			}
		}
		// Nothing is said to be in place that was not seen.
		last := got.Advice[len(got.Advice)-1]
		if last.Action != MeasureNext ||
			!strings.HasSuffix(last.String(), "a turn about the vertical is not seen yet") {
			t.Errorf("%s: %q, want what to measure next", c.text, last)
		}
	}
}

// The error of an angle follows from that of a reading: two opposite tapes of 2
// mm give 2/√2 mm, and tell the height as well, without which the third would
// say nothing.
func TestTapeErrors(t *testing.T) {
	c, err := CheckTapes(head.Sphere(90), mustParseTapes(t, "Nz-Fpz 4cm, Iz-Oz 3cm, LPA-T7 3.5cm"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if pitch := 5 / 90. * 180 / math.Pi; math.Abs(c.Turn.Pitch.Degrees-pitch) > 0.05 {
		t.Errorf("pitch %+v, want %g°", c.Turn.Pitch, pitch)
	}
	for _, a := range []struct {
		angle Angle
		mm    float64
	}{{c.Turn.Pitch, math.Sqrt2}, {c.Turn.Roll, math.Sqrt(6)}} {
		want := a.mm / 90 * 180 / math.Pi
		if !a.angle.Known || math.Abs(a.angle.Error-want) > 1e-9 {
			t.Errorf("%+v, want an error of %g°", a.angle, want)
		}
	}
}

// What is seen and in doubt is neither moved nor left: the tape that tells most
// of it is asked for, until all are there.
func TestTapesInDoubt(t *testing.T) {
	model := head.Sphere(90)
	six := "Nz-Fpz 3.53cm, Iz-Oz 3.53cm, LPA-T7 3.53cm, RPA-T8 3.53cm, LPA-Fpz 13.83cm, RPA-Fpz 14.45cm"
	for text, want := range map[string]string{
		six: "measure left preauricular point to Oz next, some 14.4 cm: " +
			"a turn about the vertical is not sure yet",
		six + ", LPA-Oz 14.14cm, RPA-Oz 14.14cm": "leave the cap as it is",
	} {
		c, err := CheckTapes(model, mustParseTapes(t, text), Options{})
		if err != nil || c.Headline() != want {
			t.Errorf("%s: %q, %v, want %q", text, c.Headline(), err, want)
		}
	}
}

// Any turn comes back from the six tapes that it gives, on a sphere and on an
// ellipsoid.
func TestTapesSeeTurns(t *testing.T) {
	heads := []head.Ellipsoid{head.Sphere(90), headtest.Measured(t)}
	rapid.Check(t, func(rt *rapid.T) {
		model := rapid.SampledFrom(heads).Draw(rt, "head")
		angle := rapid.Float64Range(-8, 8)
		turn := r3.Vec{X: angle.Draw(rt, "pitch"), Y: angle.Draw(rt, "roll"), Z: angle.Draw(rt, "yaw")}
		var tapes []Tape
		for _, ends := range [][2]layout.Name{{"Nz", "Fpz"}, {"Iz", "Oz"}, {"LPA", "T7"}, {"RPA", "T8"},
			{"LPA", "Fpz"},
			{"RPA", "Fpz"}} {
			line, err := newTapeLine(model, ends[0], ends[1])
			if err != nil {
				rt.Fatal(err)
			}
			tapes = append(tapes, Tape{ends[0], ends[1],
				line.should + line.change(r3.Scale(math.Pi/180, turn))})
		}
		c, err := CheckTapes(model, tapes, Options{})
		if err != nil {
			rt.Fatal(err)
		}
		got := r3.Vec{X: c.Turn.Pitch.Degrees, Y: c.Turn.Roll.Degrees, Z: c.Turn.Yaw.Degrees}
		if !c.Turn.Yaw.Known || headtest.Apart(got, turn) > 1e-6 || math.Abs(c.Height) > 1e-6 {
			rt.Errorf("turn %v comes back as %v, height %g", turn, got, c.Height)
		}
	})
}

// Where no rule's arc runs from the landmark over the site, the tape goes the
// shortest way: on a sphere, LPA, 22.5° below the ring, and Fpz are 90° apart.
func TestTapeWays(t *testing.T) {
	for _, c := range []struct {
		from, to layout.Name
		want     float64
	}{
		{"Nz", "Fz", 0.3 * 225}, {"Iz", "Pz", 0.3 * 225}, {"RPA", "C4", 0.3 * 225}, {"LPA", "Fpz", 90},
	} {
		line, err := newTapeLine(head.Sphere(180/math.Pi), c.from, c.to)
		if err != nil || math.Abs(line.should-c.want) > 1e-9 {
			t.Errorf("%s-%s: %g mm, %v, want %g", c.from, c.to, line.should, err, c.want)
		}
	}
}

func TestCheckTapesRefuses(t *testing.T) {
	for _, c := range []struct {
		tapes []Tape
		want  string
	}{
		{nil, "no tapes"},
		{[]Tape{{"Nz", "Fpz", 4.2}}, "tape Nz-Fpz: 4.2 mm: expected some 35 mm: is it 4.2 cm?"},
		{[]Tape{{"Nz", "Fpz", 420}}, "420 mm: expected some 35 mm: is it 42 mm?"},
		{[]Tape{{"Nz", "Fpz", 120}}, "120 mm: expected some 35 mm on this head"},
		{[]Tape{{"Nz", "Fpz", 0}}, "0 mm: expected more than 0"},
		{[]Tape{{"Nz", "Fpz", math.NaN()}}, "expected more than 0"},
		{[]Tape{{"LPA", "T9", 3}}, "T9 is at LPA"},
		{[]Tape{{"Cz", "Fpz", 30}}, "neither Cz nor Fpz is a landmark"},
		{[]Tape{{"Nz", "Fpz", 40}, {"Nz", "Fpz", 41}}, "given twice"},
	} {
		_, err := CheckTapes(head.Sphere(90), c.tapes, Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.tapes, err, c.want)
		}
	}
}

func FuzzParseTapes(f *testing.F) {
	f.Add("Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.4cm, RPA-T8 3.9cm")
	f.Add("nasion - Fpz 4,2 cm")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		tapes, err := ParseTapes(text)
		if err != nil {
			return
		}
		for _, tape := range tapes {
			if tape.check() != nil || !(tape.Distance > 0) {
				t.Errorf("%q: %+v", text, tape)
			}
		}
		// What it reads is either refused or judged.
		if c, err := CheckTapes(head.Sphere(90), tapes,
			Options{}); err == nil &&
			math.IsNaN(c.RMS+c.Turn.Pitch.Degrees+c.Turn.Roll.Degrees+c.Turn.Yaw.Degrees) {
			t.Errorf("%q: %+v", text, c)
		}
	})
}
