package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/layout/head"
)

const (
	tapeArgs     = "--circumference 560mm --nasion-inion 360mm --ear-ear 345mm"
	openPoints   = "../../../shared/data/bids-electrodes/sub-02_electrodes.tsv"
	readingsText = "362mm\n36cm\n34\n34cm\n34.2cm\n56cm\n56.1cm\n\n57cm\n9\n2 left above the ear\n1\n\n"
)

// placementMistakes are command lines of the placement verbs that must fail.
func TestPlacementMistakes(t *testing.T) {
	head := func(t *testing.T, dir string) string {
		path := filepath.Join(dir, "P014_head.json")
		must(t, append([]string{"place", "-o", path}, strings.Fields(tapeArgs)...)...)
		return path
	}
	electrodes := func(text string) func(*testing.T, string) string {
		return func(t *testing.T, dir string) string {
			return writeFile(t, filepath.Join(dir, "cap_electrodes.tsv"), text)
		}
	}
	four := "name\tx\ty\tz\n%s\t0\t80\t40\n%s\t70\t10\t50\n%s\t-70\t10\t50\n%s\t0\t-80\t40\n"
	for _, c := range []mistake{
		{"guide without a head", head, "guide -o OUT.pdf", console.Misused, []string{"CODE", "--blank"}},
		{"guide without output", head, "guide --head FILE", console.Misused,
			[]string{"--output", "P014_guide.pdf"}},
		{"guide as a picture of no kind", head, "guide --head FILE -o OUT.doc", console.Misused,
			[]string{"doc"}},
		{"guide on unknown paper", head, "guide --head FILE --paper A5 -o OUT.pdf", console.Misused,
			[]string{"A5", "Letter"}},
		{"bar of another printer", head, "guide --head FILE --strips --bar 50mm -o OUT.pdf", console.Misused,
			[]string{"100 mm bar"}},
		{"bar without strips", head, "guide --head FILE --bar 98mm -o OUT.pdf", console.Misused,
			[]string{"--strips"}},
		{"no such day", head, "guide --head FILE --date 2026-02-30 -o OUT.pdf", console.Misused,
			[]string{"2026-02-30"}},
		{"more sites than a guide holds", head, "guide --head FILE --sites 10-5 -o OUT.pdf", console.Misused,
			[]string{"345", "99"}},
		{"a head for any head", head, "guide --blank --head FILE -o OUT.pdf", console.Misused,
			[]string{"--head"}},
		{"again without a code", head, "guide --again --head FILE -o OUT.pdf", console.Misused,
			[]string{"CODE"}},
		{"a name for a code", head, "guide --head FILE --wearer A_B -o OUT.pdf", console.Misused,
			[]string{"code", "never a name"}},
		{"flags of placing for a comparison", electrodes(fmt.Sprintf(four, "Fz", "C4", "C3", "Pz")),
			"place FILE FILE --sites 10-20", console.Misused, []string{"--sites"}},
		{"axes of a tape", head, "capcheck --tape Nz-Fpz4.2cm --axes RAS --head FILE", console.Misused,
			[]string{"--axes"}},
		{"bar without unit", head, "guide --head FILE --bar 98.4 -o OUT.pdf", console.Misused,
			[]string{"98.4mm"}},
		{"code and head file", head, "guide P014 --head FILE", console.Misused, []string{"--head"}},
		{"code that is a path", head, "guide a/b", console.Misused, []string{"code"}},
		{"cap sizes that are none", electrodes("M 54 58"), "guide --blank --cap-sizes FILE -o OUT.pdf",
			console.Failed,
			[]string{"cap_electrodes.tsv", "line 1"}},
		{"words that are none", electrodes("title: x"), "guide --blank --text FILE -o OUT.pdf", console.Failed,
			[]string{"cap_electrodes.tsv"}},

		{"capcheck of nothing", head, "capcheck --head FILE", console.Misused, []string{"--tape"}},
		{"capcheck without a head", electrodes(fmt.Sprintf(four, "Fz", "C4", "C3", "Pz")), "capcheck FILE",
			console.Misused, []string{"--head"}},
		{"capcheck of unknown names", electrodes(fmt.Sprintf(four, "E1", "E2", "E3", "E4")),
			"capcheck FILE " + tapeArgs, console.Failed, []string{"cap_electrodes.tsv"}},
		{"two points of one name", electrodes(fmt.Sprintf(four, "Fz", "C4", "C4", "Pz")),
			"capcheck FILE " + tapeArgs,
			console.Failed, []string{"cap_electrodes.tsv", "C4"}},
		{"tape that is none", head, "capcheck --tape Nz-Fpz --head FILE", console.Misused, []string{"--tape"}},
		{"tape with a comma", head, "capcheck --tape Nz-Fpz4,2cm --head FILE", console.Misused,
			[]string{"--tape"}},
		{"error of landmarks of a tape", head, "capcheck --tape Nz-Fpz4.2cm --landmark-error 4mm --head FILE",
			console.Misused,
			[]string{"--landmark-error"}},
		{"error of landmarks that none have", electrodes(fmt.Sprintf(four, "Fz", "C4", "C3", "Pz")),
			"capcheck FILE --landmark-error 40mm " + tapeArgs, console.Misused,
			[]string{"--landmark-error", "20mm"}},
		{"limit of nothing", head, "capcheck --tape Nz-Fpz4.2cm --limit 0mm --head FILE", console.Misused,
			[]string{"--limit"}},
		{"axes that are none", electrodes(fmt.Sprintf(four, "Fz", "C4", "C3", "Pz")),
			"capcheck FILE --axes RRS " + tapeArgs, console.Misused, []string{"--axes"}},
		{"unit that is none", electrodes(fmt.Sprintf(four, "Fz", "C4", "C3", "Pz")),
			"capcheck FILE --unit inch " + tapeArgs, console.Misused, []string{"--unit"}},

		{"two ways to a head", head, "place --head FILE --circumference 560mm -o OUT_electrodes.tsv",
			console.Misused,
			[]string{"two ways"}},
		{"scan without landmarks", electrodes("ply"), "place --scan FILE -o OUT_electrodes.tsv",
			console.Misused,
			[]string{"--landmarks"}},
		{"scan that is none", electrodes("solid nothing"),
			"place --scan FILE --landmarks FILE -o OUT_electrodes.tsv",
			console.Failed, []string{"cap_electrodes.tsv"}},
		{"unit of a scan", electrodes("x"),
			"place --scan FILE --landmarks FILE --scan-unit inch -o OUT_electrodes.tsv",
			console.Misused, []string{"--scan-unit"}},
		{"one file to compare", electrodes(fmt.Sprintf(four, "Fz", "C4", "C3", "Pz")), "place FILE",
			console.Misused,
			[]string{"second"}},
		{"note of no kind", head, "place --note bump_left " + tapeArgs + " -o OUT_head.json", console.Misused,
			[]string{"bump_left", "scar"}},
		{"note without a side", head, "place --note scar " + tapeArgs + " -o OUT_head.json", console.Misused,
			[]string{"left, right or midline"}},
		{"halves that do not add up", head,
			"place " + tapeArgs + " --left-ring 200mm --right-ring 300mm -o OUT_electrodes.tsv",
			console.Misused,
			[]string{"ring"}},
	} {
		t.Run(strings.ReplaceAll(c.name, " ", "_"), c.check)
	}
}

// A sphere of the scan's triangles: an octahedron whose faces are cut in four,
// over and over, stretched to the axes, in metres and in another pose.
func scanFiles(t *testing.T, dir string, e head.Ellipsoid) (mesh, landmarks string) {
	t.Helper()
	corner := []r3.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}}
	faces := [][3]r3.Vec{}
	for _, x := range corner[:2] {
		for _, y := range corner[2:4] {
			for _, z := range corner[4:] {
				f := [3]r3.Vec{x, y, z}
				if x.X*y.Y*z.Z < 0 {
					f[1], f[2] = f[2], f[1]
				}
				faces = append(faces, f)
			}
		}
	}
	for range 5 {
		var finer [][3]r3.Vec
		for _, f := range faces {
			a, b, c := r3.Unit(r3.Add(f[0], f[1])), r3.Unit(r3.Add(f[1], f[2])), r3.Unit(r3.Add(f[2], f[0]))
			finer = append(finer, [3]r3.Vec{f[0], a, c}, [3]r3.Vec{a, f[1], b}, [3]r3.Vec{c, b, f[2]},
				[3]r3.Vec{a, b, c})
		}
		faces = finer
	}
	// A quarter turn about z and a shift: x of the head points along −y of
	// the scan.
	pose := func(v r3.Vec) r3.Vec {
		return r3.Vec{X: v.Y/1000 + 0.2, Y: -v.X/1000 - 0.1, Z: v.Z/1000 + 1.5}
	}
	var stl strings.Builder
	stl.WriteString("solid head\n")
	for _, f := range faces {
		stl.WriteString("facet normal 0 0 0\nouter loop\n")
		for _, v := range f {
			p := pose(r3.Vec{X: v.X * e.Right, Y: v.Y * e.Front, Z: v.Z * e.Up})
			fmt.Fprintf(&stl, "vertex %.9f %.9f %.9f\n", p.X, p.Y, p.Z)
		}
		stl.WriteString("endloop\nendfacet\n")
	}
	stl.WriteString("endsolid head\n")
	var table strings.Builder
	table.WriteString("name\tx\ty\tz\n")
	marks := e.Landmarks()
	for _, l := range []struct {
		name string
		at   r3.Vec
	}{{"NAS", marks.Nasion}, {"INI", marks.Inion}, {"LPA", marks.LeftPreauricular},
		{"RPA", marks.RightPreauricular}} {
		p := pose(l.at)
		fmt.Fprintf(&table, "%s\t%.9f\t%.9f\t%.9f\n", l.name, p.X, p.Y, p.Z)
	}
	return writeFile(t, filepath.Join(dir, "head.stl"), stl.String()), writeFile(t,
		filepath.Join(dir, "landmarks.tsv"),
		table.String())
}

// A scan of an ellipsoid gives the sites of the ellipsoid.
func TestPlaceOnScan(t *testing.T) {
	measures := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}
	model, err := measures.Model()
	if err != nil {
		t.Fatal(err)
	}
	mesh, landmarks := scanFiles(t, t.TempDir(), model)
	stdout, stderr, code := calotte("place", "--scan", mesh, "--landmarks", landmarks, "--sites", "10-10")
	if code != console.OK || !strings.Contains(stderr, "taken to be in m") {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	placed, err := layout.Place(model, layout.Set1010())
	if err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(strings.TrimSpace(stdout), "\n")[1:] {
		f := strings.Split(line, "\t")
		var p [3]float64
		for k := range p {
			if p[k], err = strconv.ParseFloat(f[k+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		d := r3.Norm(r3.Sub(r3.Vec{X: p[0], Y: p[1], Z: p[2]}, placed[i].Position))
		if f[0] != string(placed[i].Name) || d > 0.2 {
			t.Errorf("%s: %.3f mm from the ellipsoid's %s", f[0], d, placed[i].Name)
		}
	}
}

// Answers at the prompt become a head file and a guide; the second time nothing
// is asked.
func TestGuideAsks(t *testing.T) {
	t.Chdir(t.TempDir())
	answer := func(text string) (string, int) {
		var out, errs bytes.Buffer
		code := console.Report(&errs,
			run(context.Background(), []string{"guide", "P020"}, strings.NewReader(text), &out, &errs))
		return errs.String(), code
	}
	if said, code := answer("362mm\n"); code != console.Misused || !strings.Contains(said, "ended early") {
		t.Errorf("answers that end early: exit %d: %s", code, said)
	}
	if left := listing(t, "."); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	said, code := answer(readingsText)
	if code != console.OK || !strings.Contains(said, `"34" has no unit`) ||
		!strings.Contains(said, "a number from 1 to 5") {
		t.Fatalf("exit %d: %s", code, said)
	}
	file, err := os.Open("P020_head.json")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	visit, err := head.DecodeVisit(file)
	if err != nil {
		t.Fatal(err)
	}
	h := visit.Head()
	if visit.Wearer != "P020" || h.NasionInion != 361 || h.EarEar != 341 || h.Circumference != 560.5 ||
		visit.Widest != 570 || len(visit.Notes) != 2 {
		t.Errorf("%+v", visit)
	}
	if pdf, err := os.ReadFile("P020_guide.pdf"); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF")) {
		t.Errorf("no guide was written (%v)", err)
	}
	if _, stderr, code := calotte("guide", "P020", "--force"); code != console.OK ||
		strings.Contains(stderr, "reading:") {
		t.Errorf("the second guide: exit %d: %s", code, stderr)
	}
}

// An interrupt while a question waits ends the guide: nothing is written.
func TestGuideInterrupted(t *testing.T) {
	t.Chdir(t.TempDir())
	ctx, cancel := context.WithCancel(context.Background())
	answers, asker := io.Pipe()
	defer asker.Close()
	go func() {
		fmt.Fprintln(asker, "362mm")
		cancel()
	}()
	var out, errs bytes.Buffer
	code := console.Report(&errs, run(ctx, []string{"guide", "P020"}, answers, &out, &errs))
	if code != console.Interrupted {
		t.Errorf("exit %d: %s", code, errs.String())
	}
	if left := listing(t, "."); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Readings that differ are taken a third time, measures of no head all anew.
func TestInterviewDoubts(t *testing.T) {
	var said bytes.Buffer
	answers := "20cm\n20cm\n34cm\n34cm\n56cm\n56cm\n\n\n" + // no such arc
		"36cm\n39cm\n36.2cm\n34cm\n34cm\n56cm\n56cm\n" +
		"yes\n27.5cm\n27.5cm\n28.5cm\n28.5cm\n16.5cm\n16.5cm\n17.5cm\n17.5cm\n\n\n"
	visit, err := wearer.NewInterview(context.Background(), strings.NewReader(answers), &said).Measures("P1")
	if err != nil {
		t.Fatalf("%v\n%s", err, said.String())
	}
	if !slices.Equal(visit.Readings.NasionInion, []float64{360, 362}) ||
		!strings.Contains(said.String(), "differ by 30mm") ||
		visit.Head().Halves != (head.Halves{LeftRing: 275, RightRing: 285, LeftEar: 165, RightEar: 175}) {
		t.Errorf("%v\n%s", visit.Readings, said.String())
	}
}

// A head file of somebody else is not this wearer's.
func TestGuideOfAnotherWearer(t *testing.T) {
	t.Chdir(t.TempDir())
	must(t, append([]string{"place", "--wearer", "P013", "-o", "P014_head.json"}, strings.Fields(tapeArgs)...)...)
	if _, stderr, code := calotte("guide", "P014"); code != console.Failed || !strings.Contains(stderr, `"P013"`) {
		t.Errorf("exit %d: %s", code, stderr)
	}
	must(t, append([]string{"place", "-o", "P015_head.json"}, strings.Fields(tapeArgs)...)...)
	if _, stderr, code := calotte("guide", "P015"); code != console.OK || !strings.Contains(stderr, "--again") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// Notes and the widest circumference go into the head file.
func TestNotesOfAHead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "P014_head.json")
	args := append([]string{"place", "--note", "Skull defect right above the ear", "--note", "inion uncertain",
		"--widest", "57cm", "-o", path}, strings.Fields(tapeArgs)...)
	must(t, args...)
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	visit, err := head.DecodeVisit(file)
	if err != nil {
		t.Fatal(err)
	}
	want := []head.Note{{Kind: head.SkullDefect, Side: layout.RightSide, Place: "above the ear"},
		{Kind: head.InionUncertain, Side: layout.Midline}}
	if visit.Widest != 570 || !slices.Equal(visit.Notes, want) {
		t.Errorf("%+v", visit)
	}
}

func TestGuideAsPictures(t *testing.T) {
	dir := t.TempDir()
	must(t, "guide", "--blank", "-o", filepath.Join(dir, "blank.svg"))
	pages := listing(t, dir)
	if len(pages) < 3 || filepath.Base(pages[0]) != "blank-01.svg" {
		t.Errorf("%v", pages)
	}
}

// A cap that was turned by a known angle is told to turn back, by digitised
// points and by tape.
func TestCapcheckAdvice(t *testing.T) {
	dir := t.TempDir()
	head := filepath.Join(dir, "P014_head.json")
	ideal := filepath.Join(dir, "P014_electrodes.tsv")
	must(t, append([]string{"place", "--sites", "10-10", "-o", ideal}, strings.Fields(tapeArgs)...)...)
	text, err := os.ReadFile(ideal)
	if err != nil {
		t.Fatal(err)
	}
	sin, cos := math.Sincos(5 * math.Pi / 180) // the front edge to the wearer's left
	var turned strings.Builder
	for i, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		f := strings.Split(line, "\t")
		if i == 0 {
			turned.WriteString(line + "\n")
			continue
		}
		x, errX := strconv.ParseFloat(f[1], 64)
		y, errY := strconv.ParseFloat(f[2], 64)
		if errX != nil || errY != nil {
			t.Fatal(errX, errY)
		}
		fmt.Fprintf(&turned, "%s\t%.4f\t%.4f\t%s\n", f[0], cos*x-sin*y, sin*x+cos*y, f[3])
	}
	cap := writeFile(t, filepath.Join(dir, "cap_electrodes.tsv"), turned.String())
	sidecar, err := os.ReadFile(filepath.Join(dir, "P014_coordsystem.json"))
	if err != nil {
		t.Fatal(err)
	}
	writeFile(t, filepath.Join(dir, "cap_coordsystem.json"), string(sidecar))
	drawing := filepath.Join(dir, "cap.svg")
	_, stderr, code := calotte("capcheck", cap, "--head", head, "--limit", "5mm", "-o", drawing)
	if code != console.OK || !strings.Contains(stderr, "front edge 8 mm to the wearer's right") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	if svg, err := os.ReadFile(drawing); err != nil || !bytes.Contains(svg, []byte("<svg")) {
		t.Errorf("no drawing (%v)", err)
	}
	_, stderr, code = calotte("capcheck", "--head", head, "--tape",
		"Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.45cm, RPA-T8 3.45cm")
	if code != console.OK ||
		!strings.Contains(stderr,
			"1. slide the cap 3 of 6 mm forward; 2. check by tape; 3. measure left preauricular point "+
				"to Fpz next") ||
		!strings.Contains(stderr, "nasion to Fpz now 4.2 cm, should be 3.6 cm") {
		t.Errorf("by tape: exit %d: %s", code, stderr)
	}
}

// Two files of one head are compared by what they share, whatever one lacks.
func TestComparePlaces(t *testing.T) {
	dir := t.TempDir()
	whole := filepath.Join(dir, "A_electrodes.tsv")
	must(t, append([]string{"place", "--sites", "10-10", "-o", whole}, strings.Fields(tapeArgs)...)...)
	text, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	var part strings.Builder
	for _, line := range strings.SplitAfter(string(text), "\n") {
		if name, _, _ := strings.Cut(line, "\t"); !slices.Contains([]string{"O1", "Oz", "O2", "Iz"}, name) {
			part.WriteString(line)
		}
	}
	sidecar := `{"EEGCoordinateSystem": "Other", "EEGCoordinateUnits": "mm", "EEGCoordinateSystemDescription": "RAS",
"AnatomicalLandmarkCoordinates": {"NAS": [0, 87.9, -36], "LPA": [-76, 0, -35], "RPA": [76, 0, -35]}, "AnatomicalLandmarkCoordinateUnits": "mm"}`
	writeFile(t, filepath.Join(dir, "B_electrodes.tsv"), string(text))
	writeFile(t, filepath.Join(dir, "B_coordsystem.json"), sidecar)
	writeFile(t, filepath.Join(dir, "C_electrodes.tsv"), part.String())
	writeFile(t, filepath.Join(dir, "C_coordsystem.json"), sidecar)
	stdout, stderr, code := calotte("place", filepath.Join(dir, "B_electrodes.tsv"),
		filepath.Join(dir, "C_electrodes.tsv"))
	if code != console.OK || !strings.Contains(stderr, "only in") || !strings.Contains(stderr, "largest 0.0 mm") {
		t.Errorf("exit %d: %s", code, stderr)
	}
	if lines := strings.Split(strings.TrimSpace(stdout), "\n"); len(lines) != 86 {
		t.Errorf("%d lines, want a header and 85 shared sites", len(lines))
	}
}

// The open data set whose sidecar says mm of metres is read, corrected aloud.
func TestOpenDigitisedPoints(t *testing.T) {
	if _, err := os.Stat(openPoints); err != nil {
		t.Skip("no open data at ", openPoints)
	}
	var table strings.Builder
	table.WriteString("time_ms")
	for i := 1; i <= 60; i++ {
		fmt.Fprintf(&table, "\tEEG%03d", i)
	}
	for row := range 3 {
		fmt.Fprintf(&table, "\n%d", 4*row)
		for i := 1; i <= 60; i++ {
			fmt.Fprintf(&table, "\t%d", i%7)
		}
	}
	own := writeFile(t, filepath.Join(t.TempDir(), "own.tsv"), table.String()+"\n")
	stdout, stderr, code := calotte("values", own, "--at", "4ms", "--electrodes", openPoints)
	if code != console.OK || !strings.Contains(stderr, "taken as m") ||
		len(strings.Split(strings.TrimSpace(stdout), "\n")) != 61 {
		t.Errorf("exit %d: %s", code, stderr)
	}
}
