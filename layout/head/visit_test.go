package head_test

import (
	"bytes"
	"os"
	"reflect"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
)

func fullVisit() head.Visit {
	return head.Visit{
		Wearer: "P07", Date: "2026-03-09", Posture: head.Sitting,
		Readings: head.Readings{
			Circumference: []float64{559, 562}, NasionInion: []float64{365, 364, 366},
			EarEar:   []float64{340},
			LeftRing: []float64{283}, RightRing: []float64{276, 279}, LeftEar: []float64{171},
			RightEar: []float64{169},
		},
		Widest: 571.5,
		Notes: []head.Note{
			{head.InionUncertain, layout.Midline, ""},
			{head.SkullDefect, layout.LeftSide, "above the ear, 30 × 20 mm"},
		},
	}
}

func TestVisitMeans(t *testing.T) {
	want := head.Head{Wearer: "P07", Circumference: 560.5, NasionInion: 365, EarEar: 340,
		Halves: head.Halves{283, 277.5, 171, 169}}
	if got := fullVisit().Head(); got != want {
		t.Errorf("head %+v, want %+v", got, want)
	}
	sums := head.Visit{Readings: head.Readings{
		NasionInion: []float64{365}, LeftRing: []float64{283}, RightRing: []float64{277, 279},
		LeftEar:  []float64{171},
		RightEar: []float64{169},
	}}.Head()
	if sums.Circumference != 561 || sums.EarEar != 340 {
		t.Errorf("wholes %g and %g, want the sums 561 and 340", sums.Circumference, sums.EarEar)
	}
}

func TestVisitFile(t *testing.T) {
	for _, v := range []head.Visit{fullVisit(), head.Default().Visit()} {
		var b bytes.Buffer
		if err := v.Encode(&b); err != nil {
			t.Fatal(err)
		}
		got, err := head.DecodeVisit(bytes.NewReader(b.Bytes()))
		if err != nil || !reflect.DeepEqual(got, v) {
			t.Errorf("%+v comes back as %+v, %v", v, got, err)
		}
		if measures, err := head.Decode(&b); err != nil || measures != v.Head() {
			t.Errorf("head %+v, %v", measures, err)
		}
	}
}

// A file written before visits were kept.
func TestDecodeVisitReadsEarlierFiles(t *testing.T) {
	v, err := head.DecodeVisit(strings.NewReader("\ufeff" +
		`{"kind": "calotte head", "version": 1, "wearer": "P07", "circumference_mm": 560, "nasion_inion_mm": 365, "ear_ear_mm": 340}`))
	want := head.Head{Wearer: "P07", Circumference: 560, NasionInion: 365, EarEar: 340}
	if err != nil || v.Head() != want {
		t.Errorf("%+v, %v", v, err)
	}
}

func TestVisitCheck(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(*head.Visit)
		want   string
	}{
		{"all in order", func(*head.Visit) {}, ""},
		{"readings apart", func(v *head.Visit) { v.Readings.Circumference = []float64{556, 563, 560} },
			"readings of the circumference differ by 7 mm (556 to 563): measure once more"},
		{"widest too small", func(v *head.Visit) { v.Widest = 540 },
			"the widest circumference 540 mm is less than the ring's 560.5 mm"},
		{"widest in cm", func(v *head.Visit) { v.Widest = 57 },
			"error: widest circumference 57 mm is not a head's: is it 57 cm?"},
		{"halves apart", func(v *head.Visit) { v.Readings.LeftRing = []float64{290} },
			"the half rings differ by 12 mm"},
		{"a name", func(v *head.Visit) { v.Wearer = "A. Name" }, "error: wearer: expected a code"},
		{"a date of another kind", func(v *head.Visit) { v.Date = "9.3.2026" },
			`error: date is "9.3.2026": expected year-month-day`},
		{"no such day", func(v *head.Visit) { v.Date = "2026-02-30" }, "error: date is"},
		{"posture", func(v *head.Visit) { v.Posture = "asleep" },
			`error: posture is "asleep": expected sitting, standing or lying`},
		{"a reading below zero", func(v *head.Visit) { v.Readings.EarEar = []float64{340, -340} },
			"error: ear-to-ear arc: a reading of -340 mm"},
		{"too many readings", func(v *head.Visit) { v.Readings.EarEar = make([]float64, 10) },
			"error: ear-to-ear arc: 10 readings"},
		{"kind", func(v *head.Visit) { v.Notes[1].Kind = "Scar" },
			`error: note 2: kind is "Scar": expected inion uncertain, scar,`},
		{"no side", func(v *head.Visit) { v.Notes[1].Side = "" },
			`error: note 2: side is "": expected left, right or midline`},
		{"inion beside the midline", func(v *head.Visit) { v.Notes[0].Side = layout.LeftSide },
			"error: note 1: the inion is on the midline"},
		{"a long place", func(v *head.Visit) { v.Notes[1].Place = strings.Repeat("x", 201) },
			"error: note 2: a place of 201 bytes"},
		{"two lines", func(v *head.Visit) { v.Notes[1].Place = "a\nb" }, "error: note 2: place is"},
		{"no measures", func(v *head.Visit) { v.Readings = head.Readings{} },
			"error: circumference is missing"},
	} {
		v := fullVisit()
		c.change(&v)
		warnings, err := v.Check()
		got := strings.Join(warnings, "; ")
		if err != nil {
			got = "error: " + err.Error()
		}
		if !strings.HasPrefix(got, c.want) || (c.want == "") != (got == "") {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
		if wrote := v.Encode(&bytes.Buffer{}); (wrote == nil) != (err == nil) {
			t.Errorf("%s: check %v, writing %v", c.what, err, wrote)
		}
	}
}

func TestDecodeVisitRefuses(t *testing.T) {
	const good = `{"kind": "calotte head", "version": 1, "circumference_mm": 560`
	for _, c := range []struct{ more, want string }{
		{`, "circumference_mm": [560]}`, `key "circumference_mm" is given twice`},
		{`, "ear_ear_mm": [340, null]}`,
			`key "ear_ear_mm" is [340, null]: expected a number or a list of numbers`},
		{`, "ear_ear_mm": [340, "341"]}`, "expected a number or a list"},
		{`, "ear_ear_mm": {}}`, "expected a number or a list"},
		{`, "left_ring_mm": 280}`, `unknown key "left_ring_mm"`},
		{`, "notes": {}}`, `key "notes" is {}: expected a list of objects`},
		{`, "notes": [1]}`, "note 1: not a JSON object"},
		{`, "notes": [{"kind": "scar", "side": "left"}, {"kind": "scar", "where": "left"}]}`,
			`note 2: unknown key "where": expected kind, side, place`},
		{`, "notes": [{"kind": "scar", "side": "left", "side": "right"}]}`,
			`note 1: key "side" is given twice`},
		{`, "notes": [{"kind": "scar", "side": null}]}`, `note 1: key "side" is null`},
		{`, "notes": [{"kind": "wound", "side": "left"}]}`, `note 1: kind is "wound"`},
		{`, "posture": "asleep"}`, `posture is "asleep"`},
		{`, "widest_mm": [570]}`, `key "widest_mm" is [570]: expected a number`},
	} {
		_, err := head.DecodeVisit(strings.NewReader(good + c.more))
		if err == nil || !strings.HasPrefix(err.Error(), "head file: ") ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", c.more, err, c.want)
		}
	}
}

// A head file that is wrong in a few places is refused in one line, or a head.
func FuzzVisitEdited(f *testing.F) {
	var document bytes.Buffer
	if err := fullVisit().Encode(&document); err != nil {
		f.Fatal(err)
	}
	f.Add([]byte{0, 3, 0, 4, 0, 7, 1, 2})
	f.Add([]byte{0, 5, 6, 9})
	f.Fuzz(func(t *testing.T, script []byte) {
		text := hostile.Edit(document.Bytes(), script)
		defer hostile.Budget(t, len(text))()
		v, err := head.DecodeVisit(bytes.NewReader(text))
		switch {
		case err == nil:
			if _, err := v.Head().Surface(); err != nil {
				t.Errorf("%s: no surface: %v", text, err)
			}
		case strings.ContainsAny(err.Error(), "\r\n\x1b"), len(err.Error()) > 500:
			t.Errorf("not a short line: %q", err)
		}
	})
}

func FuzzDecodeVisit(f *testing.F) {
	var b bytes.Buffer
	if err := fullVisit().Encode(&b); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte(`{"kind": "calotte head", "version": 1, "circumference_mm": [], "left_half_ring_mm": 283, "right_half_ring_mm": [277, 278], "nasion_inion_mm": 365, "ear_ear_mm": 340}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		defer hostile.Budget(t, len(text))()
		v, err := head.DecodeVisit(bytes.NewReader(text))
		if err != nil {
			return
		}
		if _, err := v.Head().Surface(); err != nil {
			t.Errorf("%q: no surface: %v", text, err)
		}
		var b bytes.Buffer
		if err := v.Encode(&b); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if again, err := head.DecodeVisit(&b); err != nil || !reflect.DeepEqual(again, v) {
			t.Errorf("%q: %+v comes back as %+v, %v", text, v, again, err)
		}
	})
}

func ExampleVisit_Encode() {
	v := head.Visit{
		Wearer: "P07", Posture: head.Sitting,
		Readings: head.Readings{Circumference: []float64{559, 561}, NasionInion: []float64{365},
			EarEar: []float64{340}},
		Notes: []head.Note{{Kind: head.Scar, Side: layout.LeftSide, Place: "behind the ear"}},
	}
	v.Encode(os.Stdout)
	// Output:
	// {
	//   "kind": "calotte head",
	//   "version": 1,
	//   "wearer": "P07",
	//   "posture": "sitting",
	//   "circumference_mm": [
	//     559,
	//     561
	//   ],
	//   "nasion_inion_mm": 365,
	//   "ear_ear_mm": 340,
	//   "notes": [
	//     {
	//       "kind": "scar",
	//       "side": "left",
	//       "place": "behind the ear"
	//     }
	//   ]
	// }
}
