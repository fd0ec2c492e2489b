package capcheck

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

func TestCheckCapAgainstScipy(t *testing.T) {
	want := headtest.ReadReference(t).Cap
	c, err := CheckSites(headtest.Numbered(want.Ideal), headtest.Numbered(want.Measured), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range []Angle{c.Turn.Pitch, c.Turn.Roll, c.Turn.Yaw} {
		// The errors are those of small turns and of a numerical
		// Hessian, which sees the residuals' curvature too.
		if math.Abs(a.Degrees-want.Turn[i]) > 1e-7 || math.Abs(a.Error/want.Errors[i]-1) > 0.01 {
			t.Errorf("angle %d is %+v, scipy %g ± %g", i, a, want.Turn[i], want.Errors[i])
		}
	}
	for i, s := range c.Sites {
		if math.Abs(s.Along-want.Along[i]) > 1e-9 {
			t.Errorf("%s is %g mm off, numpy %g", s.Name, s.Along, want.Along[i])
		}
	}
	if d := r3.Norm(r3.Sub(c.Rigid.Turn, headtest.Vec(want.Rigid.Turn))); d > 1e-7 {
		t.Errorf("rigid turn %v, scipy %v", c.Rigid.Turn, want.Rigid.Turn)
	}
	if d := r3.Norm(r3.Sub(c.Rigid.Shift, headtest.Vec(want.Rigid.Shift))); d > 1e-7 ||
		math.Abs(c.Rigid.RMS-want.Rigid.RMS) > 1e-8 {
		t.Errorf("rigid shift %v, rms %g, scipy %+v", c.Rigid.Shift, c.Rigid.RMS, want.Rigid)
	}
}

// The signs, one axis at a time, in words: what is seen on the head, and the
// move that undoes it.
func TestCapSigns(t *testing.T) {
	model := head.Sphere(90)
	ideal := headtest.Cap64(t, model)
	rim := 90 * 5 * math.Pi / 180
	for _, c := range []struct {
		name   string
		turn   r3.Vec
		at     layout.Name // an edge and where it went
		off    r3.Vec      // rounded to mm
		advice []string
	}{
		{"slid back: front edge high, vertex back", r3.Vec{X: 5}, "Fpz", r3.Vec{Z: 8},
			[]string{"slide the cap 8 mm forward",
				"nasion to Fpz now 4.3 cm, should be 3.5 cm; inion to Oz now 2.7 cm, should be 3.5 cm"}},
		{"slid forward", r3.Vec{X: -5}, "Cz", r3.Vec{Y: 8},
			[]string{"slide the cap 8 mm backward",
				"nasion to Fpz now 2.7 cm, should be 3.5 cm; inion to Oz now 4.3 cm"}},
		{"slid right: left edge high", r3.Vec{Y: 5}, "Cz", r3.Vec{X: 8},
			[]string{"slide the cap 8 mm to the wearer's left",
				"left preauricular point to T7 now 4.3 cm, should be 3.5 cm; right preauricular " +
					"point to T8 now 2.7 cm"}},
		{"slid left", r3.Vec{Y: -5}, "T8", r3.Vec{Z: 8},
			[]string{"slide the cap 8 mm to the wearer's right",
				"left preauricular point to T7 now 2.7 cm"}},
		{"front edge turned left", r3.Vec{Z: 5}, "Fpz", r3.Vec{X: -8},
			[]string{"turn: front edge 8 mm to the wearer's right",
				"left preauricular point to Fpz now 13.4 cm, should be 14.1 cm; right preauricular " +
					"point to Fpz " +
					"now 14.9 cm"}},
		{"front edge turned right", r3.Vec{Z: -5}, "Oz", r3.Vec{X: -8},
			[]string{"turn: front edge 8 mm to the wearer's left",
				"left preauricular point to Fpz now 14.9 cm"}},
	} {
		got, err := CheckSites(ideal, headtest.Planted(ideal, c.turn, 0, nil), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		i := slices.IndexFunc(got.Edges, func(e Edge) bool { return e.Site == c.at })
		if e := got.Edges[i]; headtest.Apart(round(e.Off), c.off) > 0.5 {
			t.Errorf("%s: %s went by %v, want %v", c.name, c.at, e.Off, c.off)
		} else if onAxis := c.turn.Y == 0 || c.at != "Fpz"; onAxis && math.Abs(e.Along-rim) > 1e-9 {
			t.Errorf("%s: %s went %g mm, want %g", c.name, c.at, e.Along, rim)
		}
		if len(got.Advice) != 2 {
			t.Errorf("%s: advice %v", c.name, got.Advice)
			continue
		}
		for i, want := range c.advice {
			if !strings.Contains(got.Advice[i].String(), want) {
				t.Errorf("%s: advice %q, want %q", c.name, got.Advice[i], want)
			}
		}
		if got.RMS > 1e-6 || got.Swap != NoSwap || len(got.Exchanges) != 0 {
			t.Errorf("%s: rms %g, %v, %v", c.name, got.RMS, got.Swap, got.Exchanges)
		}
	}
}

func round(v r3.Vec) r3.Vec {
	return r3.Vec{X: math.Round(v.X), Y: math.Round(v.Y), Z: math.Round(v.Z)}
}

// Doing what the advice says brings the cap back: the move is opposite to the
// displacement found, whatever the turn.
func TestAdviceBringsTheCapBack(t *testing.T) {
	ideal := headtest.Cap64(t, headtest.Measured(t))
	rapid.Check(t, func(rt *rapid.T) {
		angle := rapid.Float64Range(-8, 8)
		turn := r3.Vec{X: angle.Draw(rt, "pitch"), Y: angle.Draw(rt, "roll"), Z: angle.Draw(rt, "yaw")}
		c, err := CheckSites(ideal, headtest.Planted(ideal, turn, 0, nil), Options{Head: headtest.Measured(t)})
		if err != nil {
			rt.Fatal(err)
		}
		radius := map[layout.Name]float64{}
		for _, e := range c.Edges {
			radius[e.Site] = e.Radius
		}
		// What each direction does, from the definition of the axes.
		undo := map[Direction]map[Action]r3.Vec{
			Forward:  {SlideCap: {X: -1 / radius["Cz"]}},
			Backward: {SlideCap: {X: 1 / radius["Cz"]}},
			ToLeft:   {SlideCap: {Y: -1 / radius["Cz"]}, TurnCap: {Z: 1 / radius["Fpz"]}},
			ToRight:  {SlideCap: {Y: 1 / radius["Cz"]}, TurnCap: {Z: -1 / radius["Fpz"]}},
		}
		left := r3.Scale(math.Pi/180, turn)
		for _, a := range c.Advice {
			left = r3.Add(left, r3.Scale(a.Amount, undo[a.Direction][a.Action]))
		}
		// Moves below 2 mm are not asked for.
		for _, v := range []float64{left.X, left.Y, left.Z} {
			if math.Abs(v)*radius["Fpz"] > smallestMove*1.2 {
				rt.Errorf("turned by %v°, advice %v leaves %v rad", turn, c.Advice, left)
			}
		}
	})
}

func TestCapCheckAsJSON(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	c, err := CheckSites(ideal[1:], headtest.Planted(ideal, r3.Vec{Z: 180}, 0, nil), Options{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"swap":"cap back to front"`, `"uncompared":["` + ideal[0].Name + `"]`,
		`"turn":{"pitch":{"degrees":`, `"off":{"x":`, `"shift":{"x":`, `"turn":{"x":`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("%s lacks %s", text, want)
		}
	}
	if strings.Contains(string(text), `"X":`) ||
		strings.Count(string(text), `"off":`) != len(c.Sites)+len(c.Edges) {
		t.Errorf("%s: want each vector once, as x, y and z", text)
	}
	var back Check
	if err := json.Unmarshal([]byte(strings.ReplaceAll(string(text), `"swap":"cap back to front"`, `"swap":0`)),
		&back); err != nil {
		t.Fatal(err)
	}
	if back.Sites[3] != c.Sites[3] || *back.Rigid != *c.Rigid {
		t.Errorf("%+v comes back as %+v", c.Sites[3], back.Sites[3])
	}
}

func TestTurnAsText(t *testing.T) {
	for _, c := range []struct {
		turn Turn
		want string
	}{
		{Turn{Angle{5.21, 0.29, true}, Angle{-1.26, 0.9, true}, Angle{}},
			"the cap is turned: pitch +5.2 ± 0.3° (front edge too high), roll −1.3 ± 0.9° (right edge " +
				"too high), " +
				"yaw not known"},
		{Turn{Angle{-0.04, 0.3, true}, Angle{2, 1, true}, Angle{-3, 1, true}},
			"the cap is turned: pitch 0.0 ± 0.3°, roll +2.0 ± 1.0° (left edge too high), yaw −3.0 ± 1.0° " +
				"(front edge " +
				"too far right)"},
	} {
		if got := c.turn.String(); got != c.want {
			t.Errorf("%s, want %s", got, c.want)
		}
	}
}
