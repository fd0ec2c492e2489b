package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
	"calotte/render/canvas"
	"calotte/topo/provenance"
)

// blank is a figure of nothing: what counts is what its file says of itself.
type blank struct{}

func (blank) Size() (width, height vg.Length) { return 10, 10 }
func (blank) Draw(canvas.Canvas)              {}
func (blank) Title() string                   { return "Maps" }
func (blank) Description() string             { return "" }

// hostileFile writes a file of someone who knows the program, in the format
// that its ending says, that says of itself what the attacker wants.
func hostileFile(t *testing.T, path string, made provenance.Record) string {
	t.Helper()
	made.Program, made.Version = "calotte", session.Version
	var b bytes.Buffer
	var err error
	switch ending := filepath.Ext(path); ending {
	case ".json":
		text, _ := json.Marshal(map[string]any{"provenance": made})
		b.Write(text)
	case ".html":
		text, _ := json.Marshal(made)
		fmt.Fprintf(&b, `<!DOCTYPE html><script type="application/json" id="provenance">%s</script>`, text)
	case ".gif", ".apng":
		still := canvas.Still{Image: image.NewPaletted(image.Rect(0, 0, 4, 4),
			color.Palette{color.White, color.Black}),
			Title: "x", Resolution: 100}
		var movie *canvas.Movie
		movie, err = canvas.NewMovie(&b, movingFormats[ending], still, made, 1, time.Second, time.Second)
		if err != nil {
			t.Fatal(err)
		}
		packed, _ := movie.Pack(still.Image)
		if err = movie.Add(still.Image.Rect.Size(), packed); err == nil {
			err = movie.Close()
		}
	default:
		format, unknown := canvas.ParseFormat(ending)
		if unknown != nil {
			t.Fatal(unknown)
		}
		err = canvas.Write(&b, blank{}, format, made)
	}
	if err != nil {
		t.Fatal(err)
	}
	return writeFile(t, path, b.String())
}

// A victim is a user's folder with a download of a stranger in it.
type victim struct {
	home, download string
}

func newVictim(t *testing.T) victim {
	t.Helper()
	v := victim{home: t.TempDir()}
	v.download = filepath.Join(v.home, "download")
	own := averageTable(tableHeader, wave)
	writeFile(t, filepath.Join(v.download, "own.tsv"), own)
	for _, name := range []string{"thesis.svg", "thesis.png", "private/secret.tsv", "private/own.tsv",
		"private/secret.yaml"} {
		writeFile(t, filepath.Join(v.home, filepath.FromSlash(name)), own)
	}
	t.Setenv("TMPDIR", filepath.Join(t.TempDir()))
	return v
}

// redoes has the program do the work of a file again, in the victim's hands:
// whatever comes of it, nothing is written or removed, nothing outside of the
// download is opened, and it ends soon.
func (v victim) redoes(t *testing.T, figure string, more ...string) (stdout, stderr string, code int) {
	t.Helper()
	before := snapshot(t, v.home)
	allowed := []string{v.download, os.TempDir()}
	for i, arg := range more {
		if arg == "--in" {
			allowed = append(allowed, more[i+1])
		}
	}
	var lock sync.Mutex
	var opened []string
	restore := disk.Observe(func(c disk.Call) error {
		lock.Lock()
		defer lock.Unlock()
		opened = append(opened, c.Path)
		return nil
	})
	done := make(chan bool)
	go func() {
		stdout, stderr, code = calotte(append([]string{"origin", "--redo", figure}, more...)...)
		close(done)
	}()
	select {
	case <-done:
	case <-time.After(time.Minute):
		t.Fatal("it does not end")
	}
	restore()
	for _, path := range opened {
		if real, err := filepath.EvalSymlinks(path); err == nil {
			path = real
		}
		if info, err := os.Stat(path); err == nil && info.IsDir() && slices.ContainsFunc(allowed,
			func(dir string) bool { return strings.HasPrefix(dir, path+string(filepath.Separator)) }) {
			// listed, to see whether people's folders lie beside
			// the download, or sidecars above it
			continue
		}
		if !slices.ContainsFunc(allowed,
			func(dir string) bool {
				return path == dir ||
					strings.HasPrefix(path, dir+string(filepath.Separator))
			}) {
			t.Errorf("%s was opened or written", path)
		}
	}
	if after := snapshot(t, v.home); !maps.Equal(before, after) {
		for path := range after {
			if before[path] != after[path] {
				t.Errorf("%s was written", path)
			}
		}
		for path := range before {
			if _, left := after[path]; !left {
				t.Errorf("%s was removed", path)
			}
		}
	}
	if strings.Contains(stderr, os.TempDir()) {
		t.Errorf("it names the folder for temporary files: %s", stderr)
	}
	if left, _ := os.ReadDir(os.TempDir()); len(left) > 0 {
		t.Errorf("left in the folder for temporary files: %v", left)
	}
	return stdout, stderr, code
}

// Every kind of file that can be done again, in a stranger's hands.
func TestRedoOfHostileFiles(t *testing.T) {
	maps := []string{"--at=100ms", "own.tsv"}
	for ending, work := range map[string]struct {
		verb string
		args []string
	}{
		".svg": {"map", maps}, ".png": {"map", maps}, ".pdf": {"map", maps}, ".tiff": {"map", maps},
		".gif":  {"frames", []string{"--every=100ms", "own.tsv"}},
		".apng": {"frames", []string{"--every=100ms", "own.tsv"}},
		".html": {"explore", []string{"own.tsv"}}, ".json": {"values", maps},
	} {
		for _, attack := range []struct {
			name, work string
			args       []string // HOME is the user's folder
			want       string   // what the error says
		}{
			{"over a file", work.verb, []string{"--force=true", "--output=HOME/thesis" + ending},
				"came out otherwise"},
			{"tables into a folder", work.verb, []string{"--source-data=HOME/private"},
				"came out otherwise"},
			{"a path", work.verb, []string{"HOME/private/secret.tsv"}, "no file's name without its folder"},
			{"a head", work.verb, []string{"--head=HOME/private/secret.tsv"},
				"no file's name without its folder"},
			{"a verb that writes elsewhere", "demo", []string{"HOME/demo"},
				"nothing that can be done again"},
		} {
			if attack.name == "tables into a folder" && work.verb != "map" {
				attack.want = "no such flag"
			}
			t.Run(ending[1:]+" "+attack.name, func(t *testing.T) {
				v := newVictim(t)
				writeFile(t, filepath.Join(v.home, "thesis"+ending), "a year's work")
				made := provenance.Record{Work: attack.work}
				for _, arg := range append(attack.args, work.args...) {
					made.Arguments = append(made.Arguments, strings.ReplaceAll(arg, "HOME", v.home))
				}
				_, stderr, code := v.redoes(t,
					hostileFile(t, filepath.Join(v.download, "figure"+ending), made))
				if code != failed || !strings.Contains(stderr, attack.want) {
					t.Errorf("exit %d: %s", code, stderr)
				}
			})
		}
	}
}

// What a record may not hold, and what of it has no part.
func TestRedoRefuses(t *testing.T) {
	many := slices.Repeat([]string{"own.tsv"}, mostArguments)
	for _, attack := range []struct {
		name, work string
		args       []string
		want       string // what the error says
	}{
		{"folders above", "map", []string{"--at=100ms", "../private/secret.tsv"},
			"no file's name without its folder"},
		{"the folder above", "average", []string{"--condition=a=go", ".."},
			"no file's name without its folder"},
		{"this folder", "average", []string{"--condition=a=go", "."}, "no file's name without its folder"},
		{"nothing", "map", []string{"--at=100ms", ""}, "no file's name without its folder"},
		{"separators of another system", "map", []string{"--at=100ms", `..\private\secret.tsv`},
			"no file's name without its folder"},
		{"the end of a text in C", "map", []string{"--at=100ms", "own.tsv\x00"},
			"no file's name without its folder"},
		{"a pattern", "map", []string{"--at=100ms", "*.tsv"}, "is not here"},
		{"a flag's path", "map", []string{"--at=100ms", "--mark=HOME/private/secret.tsv", "own.tsv"},
			"no file's name without its folder"},
		{"a flag's path from above", "map",
			[]string{"--at=100ms", "--windows=../private/secret.tsv", "own.tsv"},
			"no file's name without its folder"},
		{"a path behind a name", "combine",
			[]string{"--onto=10-20", "--electrodes=a=HOME/private/secret.tsv", "own.tsv"},
			"no file's name without its folder"},
		{"a path behind a path", "combine", []string{"--onto=10-20", "--electrodes=../x=own.tsv", "own.tsv"},
			"no file's name without its folder"},
		{"sites in a file", "average",
			[]string{"--rate=100Hz", "--first=0ms", "--sites=HOME/private/secret.tsv", "own.npy"},
			"the name of a file here"},
		{"a short flag", "map", []string{"--at=100ms", "-oHOME/thesis.svg", "own.tsv"},
			"no file's name without its folder"},
		{"a short flag in two words", "map", []string{"--at=100ms", "-o", "HOME/thesis.svg", "own.tsv"},
			"no file's name without its folder"},
		{"a flag in two words", "map", []string{"--at=100ms", "--output", "HOME/thesis.svg", "own.tsv"},
			"no file's name without its folder"},
		{"a flag without a value", "map", []string{"--at=100ms", "--force", "own.tsv"},
			"no file's name without its folder"},
		{"the end of flags", "map", []string{"--at=100ms", "--", "own.tsv"},
			"no file's name without its folder"},
		{"a flag without a name", "map", []string{"--at=100ms", "--=x", "own.tsv"}, "no such flag"},
		{"a flag of another verb", "map", []string{"--at=100ms", "--each=true", "own.tsv"}, "no such flag"},
		{"a flag in a flag's name", "map",
			[]string{"--at=100ms", "--output HOME/thesis.svg --at=100ms", "own.tsv"},
			"no such flag"},
		{"a guide that asks", "guide", []string{"P014"}, "asks for more"},
		{"a study", "cohort", []string{"run", "own.tsv"}, "nothing that can be done again"},
		{"itself", "origin", []string{"--redo=true", "figure.svg"}, "nothing that can be done again"},
		{"a head file", "place", []string{"--circumference=56cm"}, "nothing that can be done again"},
		{"help", "help", []string{"--x=y"}, "nothing that can be done again"},
		{"two verbs", "map --force", []string{"own.tsv"}, "nothing that can be done again"},
		{"no verb", "", []string{"own.tsv"}, "nothing that can be done again"},
		{"too much", "map", append(many, "own.tsv"), "10001 arguments"},
		{"too many flags", "map", append(slices.Repeat([]string{"--at=100ms"}, mostFlags/10+1), "own.tsv"),
			"flags of 8200 bytes"},
		{"too long", "map", []string{"--at=100ms", "--limit=" + strings.Repeat("1", mostFlags), "own.tsv"},
			"flags of 8210 bytes"},
		{"another kind of file", "explore", []string{"own.tsv"},
			"-o figure.svg: expected a name that ends in .html"},
		{"too many maps", "map", []string{latencies(101), "own.tsv"},
			"101 maps on a sheet: work of a record is done again up to 100"},
		{"too many values", "values", []string{"--sites=10-5", latencies(320), "own.tsv"},
			"done again up to 100000"},
		{"too many frames", "frames", []string{"--every=100us", "own.tsv"}, "done again up to 2000"},
		{"far too many frames", "frames", []string{"--every=1us", "own.tsv"}, "expected at most 20000"},
		{"frames too large", "frames", []string{"--every=1ms", "--side=2000", "own.tsv"},
			"done again up to 1000000000"},
		{"too many flips", "asymmetry", []string{"--at=100ms", "--arrangements=1000000", "own.tsv"},
			"done again up to 100000"},
		{"too many exchanges", "compare", []string{"--arrangements=1000000", "own.tsv", "own.tsv"},
			"done again up to 100000"},
		{"a name too long", "map", []string{"--at=100ms", strings.Repeat("x", 1<<19) + ".tsv"},
			"xxx…, which is not here"},
		{"acting on the terminal", "map", []string{"--\x1b]0;x\x07=1", "own.tsv"}, `--\x1b]0;x\a`},
		{"the other verdict", "\x1b[2J", []string{"own.tsv"}, `\x1b[2J`},
	} {
		t.Run(attack.name, func(t *testing.T) {
			v := newVictim(t)
			made := provenance.Record{Work: attack.work}
			for _, arg := range attack.args {
				made.Arguments = append(made.Arguments, strings.ReplaceAll(arg, "HOME", v.home))
			}
			name := "figure.svg"
			if attack.work == "values" {
				name = "table.json"
			}
			_, stderr, code := v.redoes(t, hostileFile(t, filepath.Join(v.download, name), made))
			if code != failed || !strings.Contains(stderr, attack.want) || len(stderr) > 1000 {
				t.Errorf("exit %d: %.2000s", code, stderr)
			}
		})
	}
}

// latencies is a flag of so many.
func latencies(n int) string {
	var list []string
	for i := range n {
		list = append(list, fmt.Sprintf("%.1fms", float64(i)/2))
	}
	return "--at=" + strings.Join(list, ",")
}

// A spec is found beside the figure, and so is what it names, wherever it says
// that lies.
func TestRedoOfHostileSpecs(t *testing.T) {
	for name, text := range map[string]string{
		"inputs":  "figure: map\nat: 100ms\ninputs: HOME/private/secret.tsv\n",
		"a flag":  "figure: map\nat: 100ms\ninputs: own.tsv\nmark: HOME/private/own.tsv\n",
		"pattern": "figure: map\nat: 100ms\ninputs: HOME/private/*.tsv\n",
	} {
		t.Run(name, func(t *testing.T) {
			v := newVictim(t)
			writeFile(t, filepath.Join(v.download, "spec.yaml"), strings.ReplaceAll(text, "HOME", v.home))
			_, stderr, code := v.redoes(t,
				hostileFile(t, filepath.Join(v.download, "figure.svg"),
					provenance.Record{Work: "map", Arguments: []string{"--spec=spec.yaml"}}))
			if code == console.OK {
				t.Errorf("exit %d: %s", code, stderr)
			}
		})
	}
	v := newVictim(t)
	_, stderr, code := v.redoes(t,
		hostileFile(t, filepath.Join(v.download, "figure.svg"),
			provenance.Record{Work: "map",
				Arguments: []string{"--spec=" + v.home + "/private/secret.yaml"}}))
	if code != failed || !strings.Contains(stderr, "no file's name without its folder") {
		t.Errorf("exit %d: %s", code, stderr)
	}
}

// plainTexts are the flags of text that are no names of files.
var plainTexts = []string{
	"name", "participant", "session", "task", "run", "event-label", "restore-reference", "scan-unit",
	"axes", "unit", "variable", "difference", "limit", "title", "prefix", "tape",
	"wearer", "date", "initials", "ground", "reference",
}

// A value that counts is not the name of a file, but for what says that it may
// be one.
func TestRedoneFlagsOpenNothing(t *testing.T) {
	own := writeFile(t, filepath.Join(t.TempDir(), "own.txt"), "Cz\n")
	for verb := range redoneVerbs {
		c, _, err := (&app{&session.Session{}}).root().Find([]string{verb})
		if err != nil || c.Name() != verb {
			t.Fatalf("%s: %v", verb, err)
		}
		for name, fate := range session.Fates(c) {
			f := c.Flag(name)
			if fate != session.KeptValue || f.Value.Type() == "bool" {
				continue
			}
			if strings.HasPrefix(f.Value.Type(), "string") {
				if !slices.Contains(plainTexts, name) {
					t.Errorf("%s --%s: a text that is not known to be none of a file", verb, name)
				}
				continue
			}
			opened := false
			restore := disk.Observe(func(disk.Call) error { opened = true; return nil })
			_ = f.Value.Set(own) // most refuse it
			restore()
			if v, ok := f.Value.(session.FileOrText); opened && !(ok && v.IsFile(own)) {
				t.Errorf("%s --%s opens a file", verb, name)
			}
		}
	}
}
