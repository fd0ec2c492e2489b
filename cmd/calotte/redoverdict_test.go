package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"hash/crc32"
	"path/filepath"
	"strings"
	"testing"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
)

// elsewhere is a machine whose name is as long as that of this one.
func elsewhere() string { return session.MadeOn()[:len(session.MadeOn())-1] + "?" }

// changed rewrites a file that says of itself that it was made elsewhere;
// change may do more.
func changed(t *testing.T, path string, change func(text string) string) {
	t.Helper()
	text := strings.Replace(readText(t, path), `"`+session.MadeOn()+`"`, `"`+elsewhere()+`"`, 1)
	if !strings.Contains(text, elsewhere()) {
		t.Fatalf("%s does not say on what it was made", path)
	}
	if change != nil {
		after := change(text)
		if after == text {
			t.Fatalf("%s: nothing to change", path)
		}
		text = after
	}
	writeFile(t, path, string(judged([]byte(text))))
}

// judged renews the checksums of a PNG.
func judged(file []byte) []byte {
	if !bytes.HasPrefix(file, []byte("\x89PNG")) {
		return file
	}
	for at := 8; at+12 <= len(file); {
		end := at + 8 + int(binary.BigEndian.Uint32(file[at:]))
		binary.BigEndian.PutUint32(file[end:], crc32.ChecksumIEEE(file[at+4:end]))
		at = end + 4
	}
	return file
}

// Figures of another machine: the record alone, a step of the last decimal, or
// more.
func TestRedoOfFiguresMadeElsewhere(t *testing.T) {
	dir := drawnFolder(t)
	own := filepath.Join(dir, "own.tsv")
	swap := func(old, new string) func(string) string {
		return func(text string) string { return strings.Replace(text, old, new, 1) }
	}
	for _, c := range []struct {
		file, verb string
		change     func(string) string
		code       int
		want       string
	}{
		{"a.svg", "map", nil, console.OK,
			"the same within rounding (made on " + elsewhere() + ", this is " + session.MadeOn() + ")"},
		{"a.png", "map", nil, console.OK, "the same within rounding (made on"},
		{"a.tiff", "map", nil, console.OK, "the same within rounding (made on"},
		{"a.pdf", "map", nil, console.OK, "the same within rounding (made on"},
		{"a.gif", "frames", nil, console.OK, "the same within rounding (made on"},
		{"a.apng", "frames", nil, console.OK, "the same within rounding (made on"},
		{"a.html", "explore", nil, console.OK, "the same within rounding (made on"},
		{"a.json", "values", nil, console.OK, "the same within rounding (made on"},
		{"v.tsv", "values", nil, console.OK, "the same bytes"}, // its JSON says where
		{"b.svg", "map", swap(`y="118.34"`, `y="118.35"`), console.OK,
			"1 place differs by a step of the last decimal"},
		{"c.svg", "map", swap(`y="118.34"`, `y="118.44"`), failed,
			"different (y of text is 118.44, and now 118.34)"},
		{"d.svg", "map", swap(">Cz<", ">Pz<"), failed, "different"},
		{"b.html", "explore", swap(`"x":`, `"x":1`), failed, "different"},
		{"b.pdf", "map", swap("Title", "Titel"), failed, "different (an object of the PDF differs)"},
		{"b.png", "map", swap("Maps of", "Maps or"), failed,
			"different (what is said of the picture differs (iTXt))"},
	} {
		path := filepath.Join(dir, c.file)
		args := []string{c.verb, own, "-o", path}
		switch c.verb {
		case "map":
			args = append(args, "--at", "100ms", "--labels")
		case "values":
			args = append(args, "--at", "100ms")
		case "frames":
			args = append(args, "--every", "100ms")
		}
		must(t, args...)
		if c.file != "v.tsv" {
			changed(t, path, c.change)
		}
		before := readText(t, path)
		stdout, stderr, code := calotte("origin", path, "--redo")
		if code != c.code || !strings.Contains(stdout, c.want) {
			t.Errorf("%s: exit %d: %s%s", c.file, code, stdout, stderr)
		}
		if readText(t, path) != before {
			t.Errorf("%s was changed", c.file)
		}
	}
}

// An average of another machine: a last bit in the table, with the hash that
// belongs to it.
func TestRedoOfAnAverageMadeElsewhere(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(value float64) float64
		code   int
		want   string
	}{
		{"a last bit", func(v float64) float64 { return v * (1 + 0x1p-52) }, console.OK,
			"the same within rounding (made on " + elsewhere() + ", this is " + session.MadeOn() +
				"; numbers differ by at most "},
		{"a millionth", func(v float64) float64 { return v * (1 + 1e-6) }, failed,
			"different (line 5, column Cz is "},
	} {
		dir := t.TempDir()
		rec := sessionFile{events: true}.write(t, filepath.Join(dir, "rec.edf"))
		must(t, "average", rec, "--condition", "go=go", "--epoch", "-100..300ms", "-o", dir)
		table, info := filepath.Join(dir, "rec_go_average.tsv"), filepath.Join(dir, "rec_go_average.json")
		lines := strings.Split(readText(t, table), "\n")
		cells := strings.Split(lines[4], "\t")
		text, err := json.Marshal(c.change(number(t, cells[3])))
		if err != nil || string(text) == cells[3] {
			t.Fatal(cells[3], err)
		}
		cells[3] = string(text)
		lines[4] = strings.Join(cells, "\t")
		was := archive.Hash([]byte(readText(t, table)))
		writeFile(t, table, strings.Join(lines, "\n"))
		changed(t, info, func(text string) string {
			return strings.Replace(text, was, archive.Hash([]byte(readText(t, table))), 1)
		})
		for _, path := range []string{table, info} {
			stdout, stderr, code := calotte("origin", path, "--redo")
			if code != c.code || !strings.Contains(stdout, c.want) {
				t.Errorf("%s, %s: exit %d: %s%s", c.name, filepath.Base(path), code, stdout, stderr)
			}
		}
	}
}
