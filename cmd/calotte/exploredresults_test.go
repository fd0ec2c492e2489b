package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/head"
	"calotte/render/scalp"
)

// Between electrodes a map's values are those of calotte values, seen from
// above and aside.
func TestExploredFields(t *testing.T) {
	dir := t.TempDir()
	known := studied(t, dir, someSites(t, 40))[0]
	html := filepath.Join(dir, "study.html")
	must(t, "explore", known, "--circumference", "560mm", "--extrapolate", "-o", html)
	b := browse(t, fileURL(html)+"#at=170ms", 1280, 1000)
	table := cellsOf(t, must(t, "values", "--at", "170ms", "--sites", "10-10", "--circumference", "560mm", known))
	for _, v := range []struct {
		from  scalp.View
		label string
	}{{scalp.Top, "above"}, {scalp.Left, "the left"}, {scalp.Right, "the right"}, {scalp.Back, "behind"}} {
		b.choose("view", v.label)
		checked := 0
		for _, row := range table {
			p := scalp.SideView(head.Sphere(89.1267), v.from)
			direction := r3.Vec{X: number(t, row["x"]), Y: number(t, row["y"]), Z: number(t, row["z"])}
			at := p.Project(direction)
			if !p.Visible(direction) || math.Hypot(at.X, at.Y) > .9 || !p.Shows(at) {
				continue // near the rim a pixel is many degrees
			}
			said := ask[string](b, fmt.Sprintf(`(() => {
				const stage = document.querySelector(".stage"), box = stage.getBoundingClientRect();
				const [left, top, width] = stage.querySelector("svg").getAttribute("viewBox").split(" ").map(Number);
				const scale = box.width / width;
				stage.dispatchEvent(new PointerEvent("pointermove", { clientX: box.left + (%g - left) * scale, clientY: box.top + (%g - top) * scale }));
				return document.getElementById("readout").textContent;
			})()`, 100*at.X, -100*at.Y))
			_, said, _ = strings.Cut(said, "170 ms")
			if got, want := readNumber(t, said, ":"), number(t,
				row["value"]); !(math.Abs(got-want) <= .03+.002*math.Abs(want)) {
				t.Errorf("from %s, %s: the page says %g, values %g", v.label, row["name"], got, want)
			}
			checked++
		}
		if checked < 20 {
			t.Errorf("from %s only %d places were checked", v.label, checked)
		}
	}
	b.quiet(fileURL(html))
}

// What tests and measures found stands on the page.
func TestExploredResults(t *testing.T) {
	dir := t.TempDir()
	paths := studied(t, dir, someSites(t, 19))
	at := func(name string) string { return filepath.Join(dir, name) }
	must(t, "components", paths[0], paths[1], "--window", "n170=150..190ms", "--polarity", "negative", "--of",
		"P7,P8",
		"--in", at("people"), "-o", at("components.tsv"))
	// Rows of single people stay out of the page of a group.
	text := readText(t, at("components.tsv"))
	_, first, _ := strings.Cut(text, "\n")
	row, _, _ := strings.Cut(first, "\n")
	writeFile(t, at("components.tsv"), text+strings.Replace(row, "pilots", "sub-01", 1)+"\n")
	writeFile(t, at("marks.tsv"), "site\tfrom\tto\nP8\t0.16\t0.18\n")
	must(t, append([]string{"explore", "--components", at("components.tsv"), "--mark", at("marks.tsv"), "-o",
		at("study.html")}, paths...)...)
	b := browse(t, fileURL(at("study.html"))+"#at=170ms&site=P8", 1000, 900)
	diamonds := `document.querySelectorAll(".stage svg g g path[fill='#ffffff']").length`
	if n := ask[int](b, diamonds); n != 3 {
		t.Errorf("%d diamonds at 170 ms, want one on each map", n)
	}
	if words := b.text("words"); !strings.Contains(words, "no test, uncorrected") {
		t.Errorf("the marks are not said to be without a test: %q", words)
	}
	if text := b.text("measures"); !strings.Contains(text, "n170") || !strings.Contains(text, "P8") ||
		strings.Contains(text, "P7") {
		t.Errorf("the components of P8 are %q", text)
	}
	if strings.Contains(readText(t, at("study.html")), "\"sub-01\"") {
		t.Error("a single person's row is in the page")
	}
	b.press("End")
	if n := ask[int](b, diamonds); n != 0 {
		t.Errorf("%d diamonds at the end", n)
	}
	b.quiet(fileURL(at("study.html")))
}

// Two choices in quick succession leave what was chosen last; groups have bands
// of their own and names with commas; a difference of conditions that are not
// here is shown; the address brings all back.
func TestExploredGroups(t *testing.T) {
	dir := t.TempDir()
	alpha := studied(t, filepath.Join(dir, "alpha"), someSites(t, 19))
	args := slices.Clone(alpha[:2])
	// The same people under another name are another group as far as the
	// page can tell.
	people, err := filepath.Glob(filepath.Join(dir, "alpha", "people", "*_known_average.tsv"))
	if err != nil || len(people) != 6 {
		t.Fatal(people, err)
	}
	must(t, append(append([]string{"combine"}, people[:4]...), "--name", "beta", "-o",
		filepath.Join(dir, "beta"))...)
	args = append(args, filepath.Join(dir, "beta", "beta_known_average.tsv"))
	html := filepath.Join(dir, "study.html")
	must(t, append([]string{"explore", "-o", html}, args...)...)
	b := browse(t, fileURL(html)+"#at=170ms&site=P7", 1200, 900)

	ask[bool](b, `(() => {
		const field = document.getElementById("field");
		const choose = (v) => { field.value = v; field.dispatchEvent(new Event("change")); };
		choose("csd");
		requestAnimationFrame(() => requestAnimationFrame(() => choose("potential")));
		return true;
	})()`)
	time.Sleep(300 * time.Millisecond)
	b.settle()
	if words := b.text("words"); strings.Contains(words, "cm²") || strings.Contains(b.text("scale"), "cm²") {
		t.Errorf("potential was chosen last, and the page says %q", words)
	}
	if words := b.text("words"); !strings.Contains(words, "Bands: 95 %") {
		t.Errorf("the group of its own has no band: %q", words)
	}
	b.choose("minus", "known, beta")
	address := ask[string](b, "location.hash")
	ask[bool](b, `(location.hash = "#at=170ms", true)`)
	time.Sleep(100 * time.Millisecond)
	b.settle()
	ask[bool](b, fmt.Sprintf("(location.hash = %q, true)", address))
	time.Sleep(100 * time.Millisecond)
	b.settle()
	if maps := b.text("maps"); !strings.Contains(maps, "known, pilots minus known, beta") ||
		b.text("trouble") != "" {
		t.Errorf("the address %s brings %q back, and says %q", address, maps, b.text("trouble"))
	}
	must(t, append([]string{"explore", "--force", "-o", html, "--link", "beta=" + address}, args...)...)

	// A difference whose conditions are not here stands beside the others.
	other := filepath.Join(dir, "other.html")
	must(t, "explore", alpha[0], args[2], alpha[2], "-o", other)
	b.do(chromedp.Navigate(fileURL(other)))
	b.settle()
	if maps := b.text("maps"); !strings.Contains(maps, "known minus novel") {
		t.Errorf("the maps are %q", maps)
	}
	b.quiet("file://")
}
