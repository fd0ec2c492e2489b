package likeness

import (
	"bytes"
	"compress/zlib"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/disk"
	"calotte/render/canvas"
	"calotte/topo/provenance"
	"calotte/topo/recording/epochs"
)

// files are what a folder holds.
type files map[string]string

func (f files) write(t *testing.T) *disk.Folder {
	t.Helper()
	dir := t.TempDir()
	for name, text := range f {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	folder, err := disk.OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { folder.Close() })
	return folder
}

// compared compares a file of two folders.
func compared(t *testing.T, old, again files, name string) Result {
	t.Helper()
	r, err := Compare(old.write(t), again.write(t), name)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestTables(t *testing.T) {
	for _, c := range []struct {
		name, old, again string
		want             Verdict
		reason           string
	}{
		{"the same", "time\tCz\n0\t1\n", "time\tCz\n0\t1\n", SameBytes, ""},
		{"the last bit", "time\tCz\n0\t3.0000000000000004\n1\t-2\n", "time\tCz\n0\t3\n1\t-2\n", Rounded,
			"at most 1e-16"},
		{"what is nothing beside the column", "Cz\n1e-10\n9\n", "Cz\n-2e-10\n9\n", Rounded, ""},
		{"what is something beside the column", "Cz\n1e-7\n9\n", "Cz\n2e-7\n9\n", Different,
			"line 2, column Cz is 1e-7, and now 2e-7"},
		{"the column beside", "Cz\tPz\n1e-7\t900\n", "Cz\tPz\n2e-7\t900\n", Different, "column Cz"},
		{"a millionth", "Cz\n3\n", "Cz\n3.000003\n", Different, "is 3, and now 3.000003"},
		{"the last decimal", "Cz\n3.141593\n", "Cz\n3.141592\n", Rounded, ""},
		{"few decimals among many", "Cz\n3\n9.123456789\n", "Cz\n3.001\n9.123456789\n", Different, "3.001"},
		{"two of the last decimal", "Cz\n3.141593\n", "Cz\n3.141591\n", Different, "3.141591"},
		{"few decimals", "p\n0.05\n", "p\n0.06\n", Different, "0.06"},
		{"counts", "n\n10000\n", "n\n10001\n", Different, "10001"},
		{"zero of either sign", "Cz\n0\n-0\n", "Cz\n-0\n0\n", Rounded, ""},
		{"missing values", "Cz\nn/a\n1.5\n", "Cz\nn/a\n1.5000000000000002\n", Rounded, ""},
		{"a value that goes missing", "Cz\n1.5\n", "Cz\nn/a\n", Different, "n/a"},
		{"no number", "Cz\nNaN\n", "Cz\n1\n", Different, "NaN"},
		{"texts", "site\tCz\nC5\t1\n", "site\tCz\nT9\t1\n", Different, "column site is C5, and now T9"},
		{"numbers in texts", "note\n8.12345 µV of sub-07\n", "note\n8.12346 µV of sub-07\n", Rounded, ""},
		{"names with numbers", "note\n8.12345 µV of sub-07\n", "note\n8.12345 µV of sub-08\n", Different,
			"sub-08"},
		{"headers", "Cz\n1\n", "Pz\n1\n", Different, "the header is Cz, and now Pz"},
		{"lines", "Cz\n1\n", "Cz\n1\n1\n", Different, "3 lines, and now 4"},
		{"cells", "Cz\n1\n", "Cz\n1\t2\n", Different, "line 2 has 1 cells, and now 2"},
		{"too many cells", "Cz\n1\t2\n", "Cz\n2\t1\n", Different, "2 cells"},
		{"acting texts", "Cz\n\x1b[2J\n", "Cz\n1\n", Different, `\x1b[2J`},
		{"long texts", "Cz\n" + strings.Repeat("x", 1000) + "\n", "Cz\n1\n", Different, "xx…"},
		{"far too long", "Cz\n" + strings.Repeat("1\n", 1<<20), "Cz\n1\n", Different,
			"2097155 bytes, and now 5"},
	} {
		if r := compared(t, files{"x.tsv": c.old}, files{"x.tsv": c.again},
			"x.tsv"); r.Verdict != c.want || !strings.Contains(r.Reason, c.reason) || len(r.Reason) > 300 {
			t.Errorf("%s: %+v", c.name, r)
		}
	}
}

func TestDescriptions(t *testing.T) {
	const hash = `"sha256":"%[1]c%[1]c"`
	listed := func(sum byte) string { return fmt.Sprintf(`{"files":[{"name":"x.tsv",`+hash+`}]}`, sum) }
	table := files{"x.tsv": "Cz\n1.5\n"}
	for _, c := range []struct {
		name, old, again string
		beside, made     files
		want             Verdict
		reason           string
	}{
		{"the last bit", `{"a":{"b":0.17597805209205890}}`, `{"a":{"b":0.17597805209208256}}`, nil, nil,
			Rounded,
			"1e-13"},
		{"one of many", `{"v":[{"z":1e-15},{"z":90}]}`, `{"v":[{"z":-3e-15},{"z":90}]}`, nil, nil, Rounded, ""},
		{"a change", `{"v":[{"z":1},{"z":90}]}`, `{"v":[{"z":1.001},{"z":90}]}`, nil, nil, Different,
			"v[].z is 1, and now 1.001"},
		{"counts", `{"n":24}`, `{"n":25}`, nil, nil, Different, "n is 24, and now 25"},
		{"large counts", `{"n":1000000000000000000}`, `{"n":1000000000000000128}`, nil, nil, Different, "n is"},
		{"keys", `{"a":1}`, `{"b":1}`, nil, nil, Different, "the keys of it is a, and now b"},
		{"lists", `{"a":[1]}`, `{"a":[1,2]}`, nil, nil, Different, "the length of a is 1, and now 2"},
		{"kinds", `{"a":[1]}`, `{"a":{"b":1}}`, nil, nil, Different, "a is [1]"},
		{"truth", `{"a":true}`, `{"a":false}`, nil, nil, Different, "a is true"},
		{"nothing", `null`, `{"a":false}`, nil, nil, Different, "null"},
		{"no JSON", `{"a":`, `{"a":false}`, nil, nil, Different, "damaged"},
		{"another machine", `{"provenance":{"made_on":"arm64","work":"map"}}`, `{"provenance":{"work":"map"}}`,
			nil,
			nil, Rounded, ""},
		{"a machine that is none", `{"made_on":"arm64"}`, `{}`, nil, nil, Different, "keys"},
		{"other inputs", `{"provenance":{"inputs":[{"name":"x.tsv","sha256":"aa"}]}}`,
			`{"provenance":{"inputs":[{"name":"x.tsv","sha256":"bb"}]}}`, table, table, Different,
			"provenance.inputs[].sha256"},
		{"files within rounding", listed('a'), listed('b'), table, files{"x.tsv": "Cz\n1.5000000000000002\n"},
			Rounded,
			""},
		{"other files", listed('a'), listed('b'), table, files{"x.tsv": "Cz\n1.6\n"}, Different,
			"line 2, column Cz is 1.5, and now 1.6"},
		{"files that are gone", listed('a'), listed('b'), nil, table, Different,
			"x.tsv is not here to be compared"},
		{"files that are not made", listed('a'), listed('b'), table, nil, Different, "x.tsv is not made anew"},
		{"itself", `{"files":[{"name":"x.json","sha256":"aa"}]}`, `{"files":[{"name":"x.json","sha256":"bb"}]}`,
			nil,
			nil, Rounded, ""},
	} {
		old, again := files{"x.json": c.old}, files{"x.json": c.again}
		for name, text := range c.beside {
			old[name] = text
		}
		for name, text := range c.made {
			again[name] = text
		}
		if r := compared(t, old, again, "x.json"); r.Verdict != c.want ||
			!strings.Contains(r.Reason, c.reason) {
			t.Errorf("%s: %+v", c.name, r)
		}
	}
}

// What a file names beside itself is looked for in its folder only.
func TestNamesStayInTheirFolder(t *testing.T) {
	dir := t.TempDir()
	secret := filepath.Join(dir, "secret.tsv")
	var folders []*disk.Folder
	for i, sum := range []string{"aa", "bb"} {
		at := filepath.Join(dir, fmt.Sprint(i))
		for path, text := range map[string]string{
			filepath.Join(at, "x.json"): fmt.Sprintf(`{"files":[{"name":"../secret.tsv","sha256":"%s"}]}`,
				sum),
			secret: "Cz\n1\n",
		} {
			if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		folder, err := disk.OpenFolder(at)
		if err != nil {
			t.Fatal(err)
		}
		defer folder.Close()
		folders = append(folders, folder)
	}
	if r, err := Compare(folders[0], folders[1], "x.json"); err == nil && r.Verdict != Different {
		t.Errorf("%+v", r)
	}
}

// A drawing is a polygon with a text, a picture and a colour, each of which may
// be off.
type drawing struct {
	off     float64 // of each of the polygon's corners from the one before, pt
	place   float64 // of all
	text    string
	level   uint8 // of the colour
	picture func(*image.RGBA)
}

func (drawing) Size() (width, height vg.Length) { return 200, 100 }
func (drawing) Title() string                   { return "Maps" }
func (drawing) Description() string             { return "Two maps" }
func (d drawing) Draw(c canvas.Canvas) {
	var p vg.Path
	for i := range 40 {
		at := vg.Point{X: vg.Length(10.004 + float64(i)*(4.25+d.off) + d.place), Y: vg.Length(20 + 10*(i%2))}
		if i == 0 {
			p.Move(at)
			continue
		}
		p.Line(at)
	}
	p.Close()
	c.SetColor(color.NRGBA{40 + d.level, 60, 80, 255})
	c.Fill(p)
	c.FillString(canvas.Sans(7, false), vg.Point{X: 10, Y: 60}, "scale "+d.text)
	img := image.NewRGBA(image.Rect(0, 0, 64, 64))
	for i := range img.Pix {
		img.Pix[i] = uint8(i / 97)
		if i%4 == 3 {
			img.Pix[i] = 255
		}
	}
	if d.picture != nil {
		d.picture(img)
	}
	c.DrawImage(vg.Rectangle{Min: vg.Point{X: 100, Y: 40}, Max: vg.Point{X: 150, Y: 90}}, img)
}

func (d drawing) file(t *testing.T, format canvas.Format, on string) string {
	t.Helper()
	var b bytes.Buffer
	if err := canvas.Write(&b, d, format,
		provenance.Record{Program: "calotte", MadeOn: on, Work: "map",
			Arguments: []string{"--at=1ms"}}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestFigures(t *testing.T) {
	usual := drawing{text: "8.00123"}
	one := func(by uint8) func(*image.RGBA) { return func(img *image.RGBA) { img.Pix[4000] += by } }
	many := func(img *image.RGBA) {
		for i := range img.Pix {
			if i%4 == 0 {
				img.Pix[i]++
			}
		}
	}
	vector := []canvas.Format{canvas.SVG, canvas.PDF}
	all := append(vector, canvas.PNG, canvas.TIFF)
	for _, c := range []struct {
		name    string
		formats []canvas.Format
		change  func(*drawing)
		want    Verdict
	}{
		{"another machine", all, func(*drawing) {}, Rounded},
		{"places that round otherwise", vector, func(d *drawing) { d.place = .002 }, Rounded},
		{"places that are the same", all, func(d *drawing) { d.place = 1e-11 }, Rounded},
		{"a tenth of a point", all, func(d *drawing) { d.place = .1 }, Different},
		{"a drift", all, func(d *drawing) { d.off = .004 }, Different},
		{"a text", all, func(d *drawing) { d.text = "9.00123" }, Different},
		{"a colour", all, func(d *drawing) { d.level = 30 }, Different},
		{"a pixel", all, func(d *drawing) { d.picture = one(1) }, Rounded},
		{"a pixel of another colour", all, func(d *drawing) { d.picture = one(100) }, Different},
		{"many pixels", all, func(d *drawing) { d.picture = many }, Different},
	} {
		for _, format := range c.formats {
			changed := usual
			c.change(&changed)
			name := "x." + format.String()
			r := compared(t, files{name: usual.file(t, format, "arm64 v8.0")},
				files{name: changed.file(t, format, "amd64 v1")}, name)
			if r.Verdict != c.want {
				t.Errorf("%s, %v: %+v", c.name, format, r)
			}
		}
	}
}

// film writes two frames, the second of which has dots of another colour.
func film(t *testing.T, format canvas.MovingFormat, on string, dots int, index uint8) string {
	t.Helper()
	palette := color.Palette{color.White, color.Gray{250}, color.Gray{100}}
	frame := image.NewPaletted(image.Rect(0, 0, 100, 50), palette)
	var b bytes.Buffer
	made := provenance.Record{Program: "calotte", MadeOn: on, Work: "frames"}
	m, err := canvas.NewMovie(&b, format, canvas.Still{Image: frame, Title: "x", Resolution: 100}, made, 2,
		time.Second,
		time.Second)
	if err != nil {
		t.Fatal(err)
	}
	for k := range 2 {
		for i := range dots * k {
			frame.Pix[100+i] = index
		}
		packed, err := m.Pack(frame)
		if err == nil {
			err = m.Add(frame.Rect.Size(), packed)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestFilms(t *testing.T) {
	for name, format := range map[string]canvas.MovingFormat{"x.gif": canvas.GIF, "x.apng": canvas.APNG} {
		usual := film(t, format, "amd64 v1", 0, 0)
		for _, c := range []struct {
			name, file string
			want       Verdict
		}{
			{"the same", usual, SameBytes},
			{"another machine", film(t, format, "arm64 v8.0", 0, 0), Rounded},
			{"a dot", film(t, format, "arm64 v8.0", 1, 1), Rounded},
			{"a dark dot", film(t, format, "arm64 v8.0", 1, 2), Different},
			{"many dots", film(t, format, "arm64 v8.0", 50, 1), Different},
			{"cut off", usual[:len(usual)-30], Different},
		} {
			if r := compared(t, files{name: c.file}, files{name: usual}, name); r.Verdict != c.want {
				t.Errorf("%s, %s: %+v", name, c.name, r)
			}
		}
	}
}

// pageOf is a page with a table of two numbers of a step of 0.001.
func pageOf(on string, a, b int64, rest string) string {
	numbers := binary.AppendVarint(binary.AppendVarint(nil, a), b)
	var packed bytes.Buffer
	w := zlib.NewWriter(&packed)
	w.Write(numbers)
	w.Close()
	study, _ := json.Marshal(map[string]any{"values": map[string]any{
		"rows": 1, "columns": 2, "order": 0, "step": 1e-3,
		"data": base64.StdEncoding.EncodeToString(packed.Bytes()),
	}})
	return fmt.Sprintf(`<html><script type="application/json" id="provenance">{"program":"calotte","made_on":"%s"}</script>`+
		`<script type="application/json" id="study">%s</script>%s</html>`, on, study, rest)
}

func TestPages(t *testing.T) {
	usual := pageOf("amd64 v1", 5000, -70, "")
	for _, c := range []struct {
		name, file string
		want       Verdict
	}{
		{"another machine", pageOf("arm64 v8.0", 5000, -70, ""), Rounded},
		{"a step", pageOf("arm64 v8.0", 5001, -70, ""), Rounded},
		{"two steps", pageOf("arm64 v8.0", 5000, -72, ""), Different},
		{"a script", pageOf("amd64 v1", 5000, -70, "<script>1</script>"), Different},
		{"no data", "<html></html>", Different},
		{"damaged data", strings.Replace(usual, `"data":"`, `"data":"!`, 1), Different},
		{"more numbers than there are", strings.Replace(usual, `"columns":2`, `"columns":3`, 1), Different},
	} {
		if r := compared(t, files{"x.html": c.file}, files{"x.html": usual}, "x.html"); r.Verdict != c.want {
			t.Errorf("%s: %+v", c.name, r)
		}
	}
}

func TestArrays(t *testing.T) {
	array := func(values ...float64) string {
		path := filepath.Join(t.TempDir(), "x.npy")
		file, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		s, err := epochs.NewSpool(file, 1, len(values))
		if err == nil {
			err = s.Write([][]float64{values})
		}
		if err == nil {
			err = s.Close()
		}
		if err != nil {
			t.Fatal(err)
		}
		file.Close()
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	usual := array(1.5, -20, 1e-9)
	for _, c := range []struct {
		name, file string
		want       Verdict
	}{
		{"a step of 24 bits", array(1.5000001, -20, 1e-9), Rounded},
		{"nothing beside the largest", array(1.5, -20, 2e-9), Rounded},
		{"a change", array(1.50001, -20, 1e-9), Different},
		{"another shape", array(1.5, -20), Different},
		{"cut off", usual[:len(usual)-4], Different},
		{"no array", "x", Different},
	} {
		if r := compared(t, files{"x.npy": c.file}, files{"x.npy": usual}, "x.npy"); r.Verdict != c.want {
			t.Errorf("%s: %+v", c.name, r)
		}
	}
}
