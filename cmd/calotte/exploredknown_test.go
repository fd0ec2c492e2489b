package main

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/head"
	"calotte/render/scalp"
)

// smooth writes an average of a smooth field and some noise from so many sites,
// 61 samples from −100 ms at 250 Hz, and lists its latencies.
func smooth(t *testing.T, dir string, sites int) (path string, latencies []string) {
	t.Helper()
	head, rows := "time", make([]string, 61)
	for i := range rows {
		rows[i] = fmt.Sprintf("%.3f", float64(4*i-100)/1000)
		latencies = append(latencies, fmt.Sprintf("%dms", 4*i-100))
	}
	names := someSites(t, sites)
	for s, row := range cellsOf(t,
		must(t, "place", "--circumference", "560mm", "--sites", strings.Join(names, ","))) {
		x, y := number(t, row["x"])/89, number(t, row["y"])/89
		head += "\t" + row["name"]
		for i := range rows {
			v := (5*y-2*x+3*x*y)*math.Cos(float64(i-25)/20) + .2*math.Sin(float64(i*(s+3)+s*s))
			rows[i] += fmt.Sprintf("\t%.4f", v)
		}
	}
	return writeFile(t, filepath.Join(dir, "own.tsv"), head+"\n"+strings.Join(rows, "\n")+"\n"), latencies
}

// readAt is what the page says of places on its first map, in the coordinates
// of its view.
func (b *browsed) readAt(places [][2]float64) []string {
	b.t.Helper()
	list, err := json.Marshal(places)
	if err != nil {
		b.t.Fatal(err)
	}
	return ask[[]string](b, fmt.Sprintf(`(() => {
		const stage = document.querySelector(".stage"), box = stage.getBoundingClientRect();
		const [left, top, width] = stage.querySelector("svg").getAttribute("viewBox").split(" ").map(Number);
		const scale = box.width / width;
		return %s.map(([x, y]) => {
			stage.dispatchEvent(new PointerEvent("pointermove", { clientX: box.left + (x - left) * scale, clientY: box.top + (y - top) * scale }));
			return document.getElementById("readout").textContent;
		});
	})()`, list))
}

// over is places all over a map, evenly.
func over(step float64) (places [][2]float64) {
	for x := -96.; x <= 96; x += step {
		for y := -96.; y <= 96; y += step {
			places = append(places, [2]float64{x, y})
		}
	}
	return places
}

// The error of the interpolation is that of calotte values, at the electrodes
// and between them, as a field and where a potential is read.
func TestExploredErrors(t *testing.T) {
	dir := t.TempDir()
	path, latencies := smooth(t, dir, 24)
	html := filepath.Join(dir, "study.html")
	must(t, "explore", path, "--circumference", "560mm", "-o", html)
	// Values judges what the page does where it takes all of its samples.
	table := cellsOf(t, must(t, "values", path, "--at", strings.Join(latencies, ","), "--sites", "10-10",
		"--field", "interpolation", "--circumference", "560mm"))
	b := browse(t, fileURL(html)+"#at=0ms&field=interpolation", 1280, 1000)
	var places [][2]float64
	var wants []float64
	for _, row := range table {
		if row["at"] != "0ms" {
			continue
		}
		direction := r3.Vec{X: number(t, row["x"]), Y: number(t, row["y"]), Z: number(t, row["z"])}
		at := scalp.TopView(head.Sphere(89.1267)).Project(direction)
		if math.Hypot(at.X, at.Y) > .9 {
			continue // near the rim a pixel is many degrees
		}
		places, wants = append(places, [2]float64{100 * at.X, -100 * at.Y}), append(wants,
			number(t, row["value"]))
	}
	check := func(what, behind string, least int) {
		t.Helper()
		checked, worst, largest := 0, 0., 0.
		for i, text := range b.readAt(places) {
			if !strings.Contains(text, behind) {
				continue
			}
			_, text, _ = strings.Cut(text, " 0 ms")
			got := readNumber(t, text, behind)
			if !(math.Abs(got-wants[i]) <= .0101) {
				t.Errorf("%s at %v: the page says %g, values %g", what, places[i], got, wants[i])
			}
			worst, largest = max(worst, math.Abs(got-wants[i])), max(largest, wants[i])
			checked++
		}
		t.Logf("%s: %d places, off by at most %.4f of %.2f µV", what, checked, worst, largest)
		if checked < least || largest < .6 {
			t.Errorf("%s: %d places were checked", what, checked)
		}
	}
	check("the field", ": ", 40)
	if bar := b.text("scale"); !strings.Contains(bar, "error of the interpolation") || strings.Contains(bar, "−") {
		t.Errorf("the scale says %q", bar)
	}
	b.choose("site", "P7")
	if words := b.text("words"); !strings.Contains(words, "P7 at 0 ms, error of the interpolation: own ") ||
		strings.Contains(words, "s.e.") {
		t.Errorf("the words are %q", words)
	}
	b.choose("field", "potential")
	check("where potentials are read", "error of the interpolation ", 15)
	b.quiet(fileURL(html))
}

// What is drawn as paper is read as not known, and what is hatched as guessed.
func TestExploredTerritory(t *testing.T) {
	dir := t.TempDir()
	table := writeFile(t, filepath.Join(dir, "own.tsv"), averageTable(tableHeader, wave))
	page := func(name string, flags ...string) *browsed {
		html := filepath.Join(dir, name+".html")
		must(t, append([]string{"explore", table, "--circumference", "560mm", "-o", html}, flags...)...)
		return browse(t, fileURL(html)+"#at=100ms", 900, 1000)
	}
	b := page("study")
	places := over(8)
	list, err := json.Marshal(places)
	if err != nil {
		t.Fatal(err)
	}
	// Near the shore a pixel and a cell of the grid decide.
	drawn := fmt.Sprintf(`(() => {
		const path = new Path2D(document.querySelector(".stage path.paper").getAttribute("d"));
		const pen = new OffscreenCanvas(1, 1).getContext("2d");
		pen.lineWidth = 5;
		return %s.map(([x, y]) => pen.isPointInStroke(path, x, y) ? 2 : pen.isPointInPath(path, x, y, "evenodd") ? 1 : 0);
	})()`, list)
	count := map[string]int{}
	paper := ask[[]int](b, drawn)
	for i, text := range b.readAt(places) {
		unknown := strings.HasPrefix(text, "Not known here")
		switch {
		case !strings.Contains(text, "Between") && !unknown || paper[i] == 2:
			continue
		case unknown != (paper[i] == 1):
			t.Errorf("at %v paper is %d and the page says %q", places[i], paper[i], text)
		case unknown:
			count["paper"]++
		default:
			count["field"]++
		}
	}
	if count["paper"] < 30 || count["field"] < 30 {
		t.Errorf("places of each kind: %v", count)
	}
	strokes := ask[[][2]float64](b,
		`document.querySelector(".stage .hatch path").getAttribute("d").slice(1).split("M").map((s) => {
		const [a, b] = s.split("L").map((p) => p.split(" ").map(Number));
		return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
	})`)
	guessed := 0
	for i, text := range b.readAt(strokes) {
		switch {
		case strings.Contains(text, ", guessed"):
			guessed++
		case strings.Contains(text, ", interpolated"):
			t.Errorf("the hatch at %v is on what the page says is known: %q", strokes[i], text)
		}
	}
	if guessed < 20 {
		t.Errorf("%d of %d strokes are said to be guessed", guessed, len(strokes))
	}
	if words := b.text("words"); !strings.Contains(words,
		"Hatched: guessed, the interpolation, over all latencies, may be off by over 0.50 µV") ||
		!strings.Contains(words, "over 15 mm outside of the electrodes") {
		t.Errorf("the words are %q", words)
	}
	b.picture("territory")
	b = page("all", "--extrapolate")
	if d := ask[string](b, `document.querySelector(".stage path.paper").getAttribute("d")`); d != "" {
		t.Errorf("there is paper although all was asked for: %q", d)
	}
	if words := b.text("words"); !strings.Contains(words, "extrapolated, too") ||
		strings.Contains(words, "Left empty") {
		t.Errorf("the words are %q", words)
	}
	for _, text := range b.readAt(places) {
		if strings.HasPrefix(text, "Not known") {
			t.Errorf("the page says %q", text)
		}
	}
}

// The stipple lies where values are within two errors of zero, and the state of
// the page holds it.
func TestExploredDoubt(t *testing.T) {
	dir := t.TempDir()
	path, _ := smooth(t, dir, 40)
	html := filepath.Join(dir, "study.html")
	must(t, "explore", path, "--circumference", "560mm", "-o", html)
	b := browse(t, fileURL(html)+"#at=100ms", 1280, 1000)
	if words := b.text("words"); strings.Contains(words, "Stippled") {
		t.Errorf("nothing was asked for, and the page says %q", words)
	}
	b.tick("doubt")
	if address, words := ask[string](b, "location.hash"), b.text("words"); !strings.Contains(address, "doubt=on") ||
		!strings.Contains(words, "within 2 errors of the interpolation of zero") {
		t.Errorf("the address is %s and the words are %q", address, words)
	}
	b.do(chromedp.Reload())
	b.settle()
	if !ask[bool](b, `document.getElementById("doubt").checked`) {
		t.Error("the address does not bring the stipple back")
	}
	b.picture("doubt")
	svg := b.saveAll(t, "svg")[".svg"]
	_, drawn, ok := strings.Cut(svg, `class="stipple" d="`)
	drawn, _, _ = strings.Cut(drawn, `"`)
	var dots [][2]float64
	for _, text := range strings.Split(drawn, "M")[1:] {
		var at [2]float64
		if _, err := fmt.Sscanf(text, "%g %gh", &at[0], &at[1]); err != nil {
			t.Fatal(err)
		}
		dots = append(dots, [2]float64{at[0] + .5, at[1] + .5})
	}
	if !ok || len(dots) < 100 {
		t.Fatalf("the stipple has %d dots", len(dots))
	}
	near := func(at [2]float64) bool {
		for _, d := range dots {
			if math.Hypot(d[0]-at[0], d[1]-at[1]) < 3 {
				return true
			}
		}
		return false
	}
	places := over(6)
	inside, outside := 0, 0
	for i, text := range b.readAt(places) {
		if !strings.Contains(text, "error of the interpolation") {
			continue
		}
		_, text, _ = strings.Cut(text, "100 ms")
		ratio := math.Abs(readNumber(t, text, ": ")) / readNumber(t, text, "error of the interpolation ")
		switch dotted := near(places[i]); {
		case ratio < 1.5 && !dotted:
			t.Errorf("at %v without a dot the page says %q", places[i], text)
		case ratio > 2.7 && dotted:
			t.Errorf("at %v near a dot the page says %q", places[i], text)
		case dotted:
			inside++
		default:
			outside++
		}
	}
	if inside < 30 || outside < 30 {
		t.Errorf("%d places with dots, %d without", inside, outside)
	}
	b.choose("field", "current density")
	if !ask[bool](b, `document.getElementById("doubt").disabled`) || strings.Contains(b.text("words"), "Stippled") {
		t.Error("a current density is stippled by the error of a potential")
	}
	b.quiet(fileURL(html))
	b.do(chromedp.Navigate(fileURL(writeFile(t, filepath.Join(dir, "doubt.svg"), svg))))
	b.picture("doubt-figure")
}

// tick presses a box.
func (b *browsed) tick(id string) {
	b.t.Helper()
	ask[bool](b, fmt.Sprintf("(document.getElementById(%q).click(), true)", id))
	b.settle()
}

// A loose electrode has a ring while it is loose, with the number of errors
// that calotte values says; a box takes it off.
func TestExploredRings(t *testing.T) {
	dir := t.TempDir()
	sites := someSites(t, 19)
	const loose, from, to = "C4", 100, 200 // ms
	var b strings.Builder
	b.WriteString("time\t" + strings.Join(sites, "\t"))
	var every []string
	for i := range 101 {
		at := 4*i - 100
		every = append(every, fmt.Sprintf("%dms", at))
		fmt.Fprintf(&b, "\n%.3f", float64(at)/1000)
		for s, name := range sites {
			v := 2*math.Sin(float64(s)/4)*math.Cos(float64(at)/90) + .3*math.Sin(float64(i*(s+3)+s*s))
			if name == loose && from <= at && at <= to {
				v += 25
			}
			fmt.Fprintf(&b, "\t%.4f", v)
		}
	}
	table := writeFile(t, filepath.Join(dir, "own.tsv"), b.String()+"\n")
	html := filepath.Join(dir, "study.html")
	must(t, "explore", table, "-o", html)
	text := must(t, "values", table, "--at", strings.Join(every, ","), "--sites", loose, "-o",
		filepath.Join(dir, "values.tsv"))
	_, want, ok := strings.Cut(text, loose+" at 152 ms: ")
	_, want, _ = strings.Cut(want, "predict, ")
	want, _, _ = strings.Cut(want, " times")
	if !ok {
		t.Fatalf("values does not find the fault: %s", text)
	}
	p := browse(t, fileURL(html)+"#at=152ms", 900, 900)
	const rings = `document.querySelectorAll(".stage circle.departing").length`
	if n := ask[int](p, rings); n != 2 {
		t.Errorf("%d circles, want a pale and a dark one", n)
	}
	words := p.text("words")
	if got := readNumber(t, words, loose+" by "); math.Abs(got-number(t, want)) > .06*got {
		t.Errorf("the page says %g errors, values %s", got, want)
	}
	if !strings.Contains(words, "by chance on 1 map in 100") {
		t.Errorf("the words are %q", words)
	}
	p.picture("rings")
	p.tick("rings")
	if n := ask[int](p, rings); n != 0 || strings.Contains(p.text("words"), "Rings") {
		t.Errorf("%d circles after they were turned off, and %q", n, p.text("words"))
	}
	if address := ask[string](p, "location.hash"); !strings.Contains(address, "rings=off") {
		t.Errorf("the address is %s", address)
	}
	p.tick("rings")
	p.press("Home")
	if n := ask[int](p, rings); n != 0 || strings.Contains(p.text("words"), loose+" by") {
		t.Errorf("%d circles before the fault, and %q", n, p.text("words"))
	}
	p.quiet(fileURL(html))
}
