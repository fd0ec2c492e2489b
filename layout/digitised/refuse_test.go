package digitised_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
	"calotte/layout/internal/headtest"
)

func TestDigitiseWarns(t *testing.T) {
	points, _ := headtest.Digitised(t, head.Sphere(92))
	plain := digitised.Coordinates{System: "Other", Units: "mm"}
	stray := slices.Clone(points)
	stray[20].Position = r3.Scale(1.6, stray[20].Position)
	elsewhere := digitised.Coordinates{System: "CTF", Units: "mm", LandmarkUnits: "mm", LandmarkSystem: "ACPC",
		Landmarks: map[string]r3.Vec{"NAS": {Y: 100}, "LPA": {X: -70}, "RPA": {X: 70}}}
	for _, c := range []struct {
		points []layout.Site
		c      digitised.Coordinates
		o      digitised.Options
		want   string
	}{
		{stray, plain, digitised.Options{}, "site " + stray[20].Name + " is "},
		{points, plain, digitised.Options{Head: head.Sphere(75)}, "circumference, the tape says 471 mm"},
		{points[:6], plain, digitised.Options{},
			"3 sites give no sphere and no head is measured: a circumference of 560 mm is supposed"},
		{as(points[3:], "LPS", 1), digitised.Coordinates{System: "ACPC", Units: "mm"}, digitised.Options{},
			"most sites with names of the left are on the right"},
		{points[3:], elsewhere, digitised.Options{},
			"landmarks are in system ACPC, electrodes in CTF: the landmarks are not used"},
	} {
		d, err := digitised.Digitise(digitised.Points{Sites: c.points}, c.c, c.o)
		if err != nil || !strings.Contains(strings.Join(d.Warnings, "\n"), c.want) {
			t.Errorf("%v, %q, want %q", err, d.Warnings, c.want)
		}
	}
}

func TestDigitiseRefuses(t *testing.T) {
	points, _ := headtest.Digitised(t, head.Sphere(92))
	plain := digitised.Coordinates{System: "Other", Units: "mm"}
	change := func(edit func(p []layout.Site)) []layout.Site {
		p := slices.Clone(points)
		edit(p)
		return p
	}
	exchanged := change(func(p []layout.Site) { p[1].Name, p[2].Name = "RPA", "LPA" })
	unnamed := change(func(p []layout.Site) {
		for i := range p[3:] {
			p[3+i].Name = fmt.Sprintf("E%d", i)
		}
	})
	l := head.Sphere(92).Landmarks()
	ears := r3.Scale(0.5, r3.Add(l.LeftPreauricular, l.RightPreauricular))
	quarter := change(func(p []layout.Site) {
		p[0].Position, p[1].Position, p[2].Position = r3.Sub(l.RightPreauricular, ears), r3.Sub(l.Nasion, ears),
			r3.Sub(l.Inion, ears)
	})
	for _, c := range []struct {
		text   string
		points []layout.Site
		c      digitised.Coordinates
		o      digitised.Options
		want   string
	}{
		{"ears exchanged", exchanged, plain, digitised.Options{},
			"below the plane of NAS, LPA and RPA: LPA and RPA are exchanged"},
		{"mirrored", as(points, "LAS", 1), plain, digitised.Options{},
			"the positions are mirrored, state the axes"},
		{"mirrored, stated wrongly", as(points, "LAS", 1),
			digitised.Coordinates{System: "CapTrak", Units: "mm"},
			digitised.Options{}, "the positions are mirrored"},
		{"mirrored without names", as(unnamed, "LAS", 1), plain, digitised.Options{},
			"LPA and RPA are exchanged, or the positions are mirrored"},
		{"mirrored without landmarks", as(points[3:], "LAS", 1), digitised.Coordinates{Units: "mm"},
			digitised.Options{}, "the site names say axes LAS, which are mirrored"},
		{"nasion behind", change(func(p []layout.Site) { p[0].Position.Y *= -1 }), plain, digitised.Options{},
			"below the plane"},
		{"nasion and inion exchanged",
			append(change(func(p []layout.Site) { p[0].Name = "INI" }),
				layout.Site{Name: "NAS", Position: r3.Sub(head.Sphere(92).Landmarks().Inion, ears)}),
			plain,
			digitised.Options{}, "below the plane of NAS, LPA and RPA: NAS and INI are exchanged"},
		{"nasion at the back", change(func(p []layout.Site) { p[0].Position.Y *= -1 }), plain,
			digitised.Options{},
			"NAS is at the back of the head, digitise it again"},
		{"a quarter turn off", quarter, plain, digitised.Options{},
			"a quarter turn off against NAS, LPA and RPA: are the landmarks in another order?"},
		{"one landmark far away", change(func(p []layout.Site) { p[1].Position = r3.Scale(20, p[1].Position) }),
			plain,
			digitised.Options{}, "landmark LPA lies far from the others"},
		{"nasion on the ears' line", change(func(p []layout.Site) { p[0].Position.Y = 0 }), plain,
			digitised.Options{},
			"NAS is 0 mm from the line between LPA and RPA"},
		{"landmarks on one point", change(func(p []layout.Site) { p[0].Position = p[1].Position }), plain,
			digitised.Options{}, "digitise them again"},
		{"no names, no landmarks, no axes", unnamed[3:], plain, digitised.Options{},
			"the axes are not known and only 0 sites have names"},
		{"too few for axes", points[3:7], plain, digitised.Options{}, "the axes are not known"},
		{"a head in inches", as(points, "RAS", 25.4), plain, digitised.Options{},
			"no head has that in mm, cm or m"},
		{"half a head", as(points, "RAS", 3), plain, digitised.Options{}, "no head has that"},
		{"ears fit, sites do not", change(func(p []layout.Site) {
			for i := range p[3:] {
				p[3+i].Position = r3.Scale(0.1, p[3+i].Position)
			}
		}), plain, digitised.Options{}, "no head has both"},
		{"small sites", change(func(p []layout.Site) {
			for i := range p[3:] {
				p[3+i].Position = r3.Scale(0.4, p[3+i].Position)
			}
		}), plain, digitised.Options{},
			"the sites lie on a head of 231 mm circumference: expected 300 to 700 mm"},
		{"an unknown unit", points, digitised.Coordinates{System: "Other", Units: "inches"},
			digitised.Options{},
			`unit "inches" of positions: expected m, cm or mm`},
		{"no unit for a few", points[3:6], digitised.Coordinates{System: "CTF", Units: "n/a"},
			digitised.Options{},
			"the unit of positions is missing: state m, cm or mm"},
		{"no landmarks for a few", points[3:12], digitised.Coordinates{System: "ACPC", Units: "mm"},
			digitised.Options{}, "give NAS, LPA and RPA"},
		{"axes that are none", points, plain, digitised.Options{Axes: "RAR"}, `axes "RAR"`},
		{"twice", append(slices.Clone(points), layout.Site{Name: "cz", Position: r3.Vec{Z: 120}}), plain,
			digitised.Options{}, `site "cz" is given twice`},
		{"nasion twice", append(slices.Clone(points), layout.Site{Name: "nasion", Position: r3.Vec{Y: 120}}),
			plain,
			digitised.Options{}, `site "nasion" is given twice`},
		{"not finite", append(slices.Clone(points), layout.Site{Name: "E1", Position: r3.Vec{Z: math.Inf(1)}}),
			plain,
			digitised.Options{}, "finite numbers"},
		{"no name", append(slices.Clone(points), layout.Site{Name: "", Position: r3.Vec{Z: 1}}), plain,
			digitised.Options{}, "no name"},
		{"landmarks only", points[:3], plain, digitised.Options{}, "no electrode among the points"},
		{"nothing", nil, plain, digitised.Options{}, "no electrode among the points"},
		{"a far offset", points, plain, digitised.Options{TipOffset: 60}, "tip offset 60 mm"},
		{"a landmark not finite", points[3:],
			digitised.Coordinates{System: "Other", Units: "mm",
				Landmarks: map[string]r3.Vec{"NAS": {X: math.NaN()}}},
			digitised.Options{}, "landmark Nz is at"},
		{"a landmark twice", points[3:],
			digitised.Coordinates{System: "Other", Units: "mm",
				Landmarks: map[string]r3.Vec{"NAS": {}, "nasion": {}}},
			digitised.Options{}, "landmark Nz is given twice"},
		{"beyond measure", change(func(p []layout.Site) { p[9].Position.X = 1e300 }), plain,
			digitised.Options{},
			"expected a position on a head"},
		{"at the centre", change(func(p []layout.Site) { p[9].Position = r3.Scale(-1, ears) }), plain,
			digitised.Options{}, "from the centre of the head"},
		{"far away", change(func(p []layout.Site) { p[9].Position.X = 1e5 }), plain, digitised.Options{},
			"no head has both"},
	} {
		d, err := digitised.Digitise(digitised.Points{Sites: c.points}, c.c, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, warnings %q, want %q", c.text, err, d.Warnings, c.want)
		}
	}
}

// Landmarks of the table and of the sidecar complete each other.
func TestDigitiseLandmarksOfBoth(t *testing.T) {
	points, truth := headtest.Digitised(t, head.Sphere(92))
	c := digitised.Coordinates{System: "Other", Units: "mm", LandmarkUnits: "mm", Landmarks: map[string]r3.Vec{
		"NAS": points[0].Position, "LPA": points[1].Position, "RPA": r3.Scale(9, points[2].Position), "Cz": {},
	}}
	d, err := digitised.Digitise(digitised.Points{Sites: points[2:]}, c, digitised.Options{})
	if err != nil || len(d.Landmarks) != 3 || len(d.Warnings) != 0 {
		t.Errorf("%v, %v, %q", err, d.Landmarks, d.Warnings)
	}
	expectSites(t, "both", d, truth, 1e-6)
}

// Sites of one ring lie on many spheres: the head's stays.
func TestDigitiseRing(t *testing.T) {
	model := head.Sphere(92)
	points, _ := headtest.Digitised(t, model)
	truth := layout.Sites(headtest.Place(t, model, "Fpz", "Fp1", "AF7", "F7", "FT7", "T7", "TP7", "P7", "PO7", "O1",
		"Oz", "O2", "PO8", "P8", "TP8", "T8", "FT8", "F8"))
	up := r3.Sub(points[3].Position, headtest.Cap64(t, model)[0].Position)
	ring := slices.Clone(points[:3])
	for _, s := range truth {
		ring = append(ring, layout.Site{Name: s.Name, Position: r3.Add(s.Position, up)})
	}
	d, err := digitised.Digitise(digitised.Points{Sites: ring}, digitised.Coordinates{System: "Other", Units: "mm"},
		digitised.Options{Head: model})
	if err != nil || d.Fitted != 0 ||
		!slices.Equal(d.Warnings, []string{"the sites determine no sphere: the head model's is used"}) {
		t.Errorf("%v, %d fitted, %q", err, d.Fitted, d.Warnings)
	}
	expectSites(t, "ring", d, truth, 1e-9)
}

// A head whose sides differ keeps its origin.
func TestDigitiseOnHalves(t *testing.T) {
	surface, err := head.Head{Circumference: 560, NasionInion: 360, EarEar: 350,
		Halves: head.Halves{LeftRing: 276, RightRing: 284, LeftEar: 173, RightEar: 177}}.Surface()
	if err != nil {
		t.Fatal(err)
	}
	points, truth := headtest.Digitised(t, surface)
	for i, p := range points {
		points[i].Position = geometry.Turned(p.Position, r3.Vec{X: 0.4, Y: -0.2, Z: 0.7})
	}
	d, err := digitised.Digitise(digitised.Points{Sites: points},
		digitised.Coordinates{System: "Other", Units: "mm"},
		digitised.Options{Head: surface})
	if err != nil || len(d.Warnings) != 0 || d.Fitted != 64 {
		t.Errorf("%v, %d fitted, %q", err, d.Fitted, d.Warnings)
	}
	expectSites(t, "halves", d, truth, 1e-5)
	c, err := capcheck.CheckSites(truth, d.Sites, capcheck.Options{Head: surface})
	if err != nil || c.RMS > 1e-4 || c.Headline() != "leave the cap as it is" {
		t.Errorf("rms %g, %q, %v", c.RMS, c.Headline(), err)
	}
}

// A scan has its own origin: points come to it by the landmarks alone.
func TestDigitiseOnScan(t *testing.T) {
	type scan struct{ layout.Surface } // knows its landmarks and sections only
	head := headtest.Measured(t)
	points, truth := headtest.Digitised(t, head)
	for i := range truth {
		bump := r3.Vec{Z: 5 * math.Sin(float64(i))}
		truth[i].Position = r3.Add(truth[i].Position, bump)
		points[3+i].Position = r3.Add(points[3+i].Position, bump)
	}
	d, err := digitised.Digitise(digitised.Points{Sites: points},
		digitised.Coordinates{System: "Other", Units: "mm"},
		digitised.Options{Head: scan{head}})
	if err != nil || len(d.Warnings) != 0 {
		t.Errorf("%v, %q", err, d.Warnings)
	}
	expectSites(t, "scan", d, truth, 1e-9)
}
