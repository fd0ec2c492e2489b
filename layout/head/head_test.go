package head_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
	"calotte/layout/internal/headtest"
)

func TestModelOfCircumferenceIsSphere(t *testing.T) {
	e, err := head.Default().Model()
	if err != nil {
		t.Fatal(err)
	}
	if r := 560 / (2 * math.Pi); e != head.Sphere(r) || head.Default().Radius() != r {
		t.Errorf("model %+v, radius %g, want a sphere of %g mm", e, head.Default().Radius(), r)
	}
}

// Axes computed apart from this package while the method was written down, to
// six decimals; scipy's are in the stored sites.
func TestModelReference(t *testing.T) {
	e := headtest.Measured(t)
	for _, c := range []struct{ got, want float64 }{
		{e.Right, 82.617843}, {e.Front, 95.405964}, {e.Up, 90.454024},
	} {
		if math.Abs(c.got-c.want) > 0.5e-6 {
			t.Errorf("axis %.6f mm, want %.6f", c.got, c.want)
		}
	}
}

// Any head that passes the check has a model with its measures.
func TestModelKeepsTheMeasures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.Float64Range(300, 700).Draw(t, "median")
		off := rapid.Float64Range(-head.ShareTolerance, head.ShareTolerance)
		h := head.Head{
			Circumference: base * (1 + off.Draw(t, "circumference")),
			NasionInion:   0.64 * base * (1 + off.Draw(t, "nasion-inion")),
			EarEar:        0.62 * base * (1 + off.Draw(t, "ear-ear")),
		}
		if _, err := h.Check(); err != nil {
			t.Skip(err)
		}
		e, err := h.Model()
		if err != nil {
			t.Fatalf("%+v: %v", h, err)
		}
		at := map[string]layout.Arc{}
		for _, r := range layout.Rules()[:4] {
			if at[r.Arc()], err = r.Section(e); err != nil {
				t.Fatal(err)
			}
		}
		ring := at["Fpz-T7-Oz"].Length() + at["Fpz-T8-Oz"].Length()
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"circumference", ring, h.Circumference},
			{"nasion-inion", at["Nz-Cz-Iz"].Length(), h.NasionInion},
			{"ear-ear", at["LPA-Cz-RPA"].Length(), h.EarEar},
		} {
			if math.Abs(c.got-c.want) > 1e-9 {
				t.Errorf("%+v: %s of the model is %g mm", h, c.what, c.got)
			}
		}
	})
}

func TestCheckRefuses(t *testing.T) {
	for _, c := range []struct {
		head head.Head
		want string
	}{
		{head.Head{}, "circumference is missing: measure it, no head goes without"},
		{head.Head{NasionInion: 365, EarEar: 340},
			"circumference is missing: measure it, no head goes without"},
		{head.Head{Circumference: 56}, "circumference 56 mm is not a head's: is it 56 cm?"},
		{head.Head{Circumference: 5600}, "circumference 5600 mm is not a head's: is it 560 mm?"},
		{head.Head{Circumference: 800}, "circumference 800 mm is not a head's: expected 300 to 700 mm"},
		{head.Head{Circumference: -560}, "circumference -560 mm is not a head's"},
		{head.Head{Circumference: math.NaN()}, "circumference NaN mm is not a head's"},
		{head.Head{Circumference: math.Inf(1)}, "circumference +Inf mm is not a head's"},
		{head.Head{Circumference: 560, NasionInion: 360},
			"ear-to-ear arc is missing: measure it, or give the circumference alone"},
		{head.Head{Circumference: 560, EarEar: 340}, "nasion-inion arc is missing"},
		{head.Head{Circumference: 560, NasionInion: 36, EarEar: 340},
			"nasion-inion arc 36 mm is not a head's: is it 36 cm?"},
		{head.Head{Circumference: 560, NasionInion: math.NaN(), EarEar: 340}, "nasion-inion arc NaN mm"},
		{head.Head{Circumference: 560, NasionInion: 460, EarEar: 340},
			"nasion-inion arc 460 mm does not fit the other two measures: expected 305 to 412 mm"},
		{head.Head{Circumference: 560, NasionInion: 360, EarEar: 240}, "ear-to-ear arc 240 mm does not fit"},
		{head.Head{Circumference: 420, NasionInion: 360, EarEar: 345}, "circumference 420 mm does not fit"},
	} {
		_, err := c.head.Check()
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %s", c.head, err, c.want)
		}
		if _, err := c.head.Model(); err == nil {
			t.Errorf("%+v: has a model", c.head)
		}
	}
}

func TestCheckWarns(t *testing.T) {
	for _, c := range []struct {
		head head.Head
		want string
	}{
		{head.Head{Circumference: 560}, ""},
		{head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}, ""},
		{head.Head{Circumference: 560, NasionInion: 340, EarEar: 365},
			"the head is wider than long (breadth/length 1.15)"},
		{head.Head{Circumference: 560, NasionInion: 400, EarEar: 320}, "the head is very long"},
	} {
		warnings, err := c.head.Check()
		if err != nil {
			t.Errorf("%+v: %v", c.head, err)
		}
		if got := strings.Join(warnings, "; "); !strings.HasPrefix(got, c.want) ||
			(c.want == "") != (got == "") {
			t.Errorf("%+v: warnings %q, want %q", c.head, got, c.want)
		}
	}
}

func TestHeadFile(t *testing.T) {
	for _, h := range []head.Head{
		{Circumference: 560},
		{Wearer: "P07", Circumference: 562.5, NasionInion: 365, EarEar: 340},
		{Circumference: 560, NasionInion: 365, EarEar: 340, Halves: head.Halves{283, 277, 171, 169}},
	} {
		var b bytes.Buffer
		if err := h.Encode(&b); err != nil {
			t.Fatal(err)
		}
		if got, err := head.Decode(&b); err != nil || got != h {
			t.Errorf("%+v comes back as %+v, %v", h, got, err)
		}
	}
	for _, h := range []head.Head{{Circumference: 56}, {Circumference: 560, Wearer: "A. Name"}} {
		if err := h.Encode(&bytes.Buffer{}); err == nil {
			t.Errorf("%+v is written", h)
		}
	}
}

func TestDecodeHeadRefuses(t *testing.T) {
	const good = `"kind": "calotte head", "version": 1, "circumference_mm": 560`
	if _, err := head.Decode(strings.NewReader("{" + good + "}")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, want string }{
		{``, "not a JSON object"},
		{`[]`, "not a JSON object"},
		{`{`, "not JSON"},
		{`{"kind"`, `key "kind": not JSON`},
		{`{"kind": "calotte head"`, "not JSON"},
		{`{` + good + `} {}`, "text after the JSON object"},
		{`{` + good + `} x`, "text after the JSON object"},
		{`{` + good + `, "circumference_cm": 56}`, `unknown key "circumference_cm"`},
		{`{` + good + `, "Wearer": "P1"}`, `unknown key "Wearer"`},
		{`{` + good + `, "version": 1}`, `key "version" is given twice`},
		{`{` + good + `, "ear_ear_mm": null}`, `key "ear_ear_mm" is null`},
		{`{` + good + `, "ear_ear_mm": "340"}`,
			`key "ear_ear_mm" is "340": expected a number or a list of numbers`},
		{`{` + good + `, "ear_ear_mm": 340}`, "nasion-inion arc is missing"},
		{`{` + good + `, "wearer": "A. Name"}`, "expected a code"},
		{`{"kind": "calotte average", "version": 1, "circumference_mm": 560}`,
			`kind is "calotte average": expected "calotte head"`},
		{`{"version": 1, "circumference_mm": 560}`, `kind is ""`},
		{`{"kind": "calotte head", "version": 2, "circumference_mm": 560}`,
			"version is 2: this program reads version 1"},
		{`{"kind": "calotte head", "version": 1.5}`, `key "version" is 1.5: expected a whole number`},
		{`{"kind": "calotte head", "version": 1}`, "circumference is missing"},
		{`{` + good + `}` + strings.Repeat(" ", head.MaxFile), "longer than"},
	} {
		_, err := head.Decode(strings.NewReader(c.text))
		if err == nil || !strings.HasPrefix(err.Error(), "head file: ") ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%.80s: %v, want %s", c.text, err, c.want)
		}
	}
}

func FuzzDecodeHead(f *testing.F) {
	f.Add([]byte(`{"kind": "calotte head", "version": 1, "wearer": "P1", "circumference_mm": 560, "nasion_inion_mm": 365, "ear_ear_mm": 340}`))
	f.Add([]byte(`{"kind": "calotte head", "version": 1, "circumference_mm": 5.6e2}`))
	f.Add([]byte(`{"kind": null}`))
	f.Add([]byte(`{{`))
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		h, err := head.Decode(bytes.NewReader(text))
		if err != nil {
			return
		}
		if _, err := h.Model(); err != nil {
			t.Errorf("%q: no model: %v", text, err)
		}
		var b bytes.Buffer
		if err := h.Encode(&b); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if again, err := head.Decode(&b); err != nil || again != h {
			t.Errorf("%q: %+v comes back as %+v, %v", text, h, again, err)
		}
	})
}
