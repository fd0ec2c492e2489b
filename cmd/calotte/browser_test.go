package main

import (
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// An SVG looks alike in librsvg and in Chromium: the mean difference of their
// pictures is small, and no part of them differs by much once both are seen
// from a little farther off.
func TestSVGInTwoRenderers(t *testing.T) {
	for _, program := range []string{"rsvg-convert", "chromium"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("%s is not installed", program)
		}
	}
	dir := drawnFolder(t)
	own := filepath.Join(dir, "own.tsv")
	for name, args := range map[string][]string{
		"maps":  {"map", own, "--at", "100ms", "--view", "top,left", "--labels"},
		"hung":  {"traces", own, "--maps", "--windows", filepath.Join(dir, "windows.tsv")},
		"scalp": {"traces", own, "--arrange", "scalp"},
	} {
		svg := filepath.Join(dir, name+".svg")
		must(t, append(args, "-o", svg)...)
		one, two := filepath.Join(dir, name+"-1.png"), filepath.Join(dir, name+"-2.png")
		command(t, "rsvg-convert", svg, "-o", one)
		size := decodeFile(t, one).Bounds().Size()
		page := writeFile(t, filepath.Join(dir, name+".html"),
			"<body style='margin:0;background:#fff'><img src='"+name+".svg' style='display:block;width:"+
				strconv.Itoa(size.X)+"px;height:"+strconv.Itoa(size.Y)+"px'></body>")
		command(t, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
			"--no-first-run",
			"--disable-background-networking",
			"--disable-component-update", "--disable-sync", "--hide-scrollbars",
			"--force-device-scale-factor=1",
			"--user-data-dir="+filepath.Join(dir, "profile"),
			"--window-size="+strconv.Itoa(size.X)+","+strconv.Itoa(size.Y+200), "--screenshot="+two,
			"file://"+page)
		mean, worst := pictureDifference(decodeFile(t, one), decodeFile(t, two))
		t.Logf("%s: %.2f of 255 on average, blocks up to %.1f", name, mean, worst)
		if mean > 6 || worst > 35 {
			t.Errorf("%s: the renderers differ by %.2f of 255 on average, and by %.1f in a block", name,
				mean,
				worst)
		}
	}
}

func command(t *testing.T, name string, args ...string) {
	t.Helper()
	if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", name, err, strings.TrimSpace(string(out)))
	}
}

func decodeFile(t *testing.T, path string) image.Image {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	img, err := png.Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// pictureDifference compares the brightness of two pictures: on average over
// the pixels, and the worst of their blocks of 8 × 8.
func pictureDifference(a, b image.Image) (mean, worst float64) {
	bright := func(img image.Image, x, y int) float64 {
		r, g, b, alpha := img.At(x, y).RGBA()
		return (float64(r+g+b)/3 + float64(0xffff-alpha)) / 257
	}
	size := a.Bounds().Size()
	for y := 0; y+8 <= size.Y; y += 8 {
		for x := 0; x+8 <= size.X; x += 8 {
			sum := 0.0
			for k := range 64 {
				d := bright(a, x+k%8, y+k/8) - bright(b, x+k%8, y+k/8)
				sum += d
				mean += math.Abs(d)
			}
			worst = max(worst, math.Abs(sum)/64)
		}
	}
	return mean / float64(size.X*size.Y), worst
}
