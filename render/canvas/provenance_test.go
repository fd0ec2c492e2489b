package canvas

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout/hostile"
	"calotte/topo/provenance"
)

func read(b []byte) (provenance.Record, error) {
	return ReadProvenance(bytes.NewReader(b), int64(len(b)))
}

func TestProvenanceComesBack(t *testing.T) {
	dot := sketch{10, 10, "Dot", func(c Canvas) { c.Fill(circle(5, 5, 2)) }}
	rapid.Check(t, func(r *rapid.T) {
		text := rapid.StringN(0, 20, -1)
		want := provenance.Record{
			Program: rapid.StringN(1, 20, -1).Draw(r, "program"), Version: text.Draw(r, "version"),
			Work:     text.Draw(r, "work"),
			Settings: map[string]string{text.Draw(r, "flag"): text.Draw(r, "value")},
			Inputs:   []provenance.Source{{Name: text.Draw(r, "name"), SHA256: text.Draw(r, "sum")}},
		}
		for _, format := range []Format{PNG, SVG, PDF} {
			var b bytes.Buffer
			if err := Write(&b, dot, format, want); err != nil {
				r.Fatal(err)
			}
			got, err := read(b.Bytes())
			if err != nil || !reflect.DeepEqual(got, want) {
				r.Fatalf("%v: got %+v, error %v; want %+v", format, got, err, want)
			}
		}
	})
}

func TestReadProvenanceRefuses(t *testing.T) {
	files := map[Format][]byte{}
	for _, format := range []Format{PNG, SVG, PDF} {
		files[format] = written(t, trial{}, format)
	}
	var long bytes.Buffer
	endless := strings.Repeat("x", mostProvenance+1)
	if err := Write(&long, trial{}, PNG, provenance.Record{Work: endless}); err == nil {
		t.Error("a provenance too long to read back was written")
	}
	if err := encodePNG(&long, gradient(2, 2), 0, []note{{provenanceKeyword, endless}}); err != nil {
		t.Fatal(err)
	}
	var nothing bytes.Buffer
	if err := Write(&nothing, trial{}, SVG, provenance.Record{}); err != nil {
		t.Fatal(err)
	}
	swap := func(b []byte, old, new string) []byte { return bytes.ReplaceAll(b, []byte(old), []byte(new)) }
	for _, row := range []struct {
		name  string
		file  []byte
		fault string
	}{
		{"empty", nil, "not a figure"},
		{"text", []byte("time\tP7\n"), "not a figure"},
		{"png without", swap(files[PNG], "Provenance\x00", "Privations\x00"), "no provenance"},
		{"png changed", swap(files[PNG], "170ms", "180ms"), "checksum differs"},
		{"png cut in the record", files[PNG][:bytes.Index(files[PNG], []byte("170ms"))], "cut off"},
		{"png cut before it", files[PNG][:40], "cut off"},
		{"png too long", long.Bytes(), "at most"},
		{"png without an image", files[PNG][:bytes.Index(files[PNG], []byte("iTXt"))-4], "cut off"},
		{"svg without", swap(files[SVG], `id="provenance"`, `id="other"`), "no provenance"},
		{"svg cut", files[SVG][:bytes.Index(files[SVG], []byte("170ms"))], "no provenance"},
		{"svg broken", swap(files[SVG], "</title>", "</titel>"), "SVG is damaged"},
		{"svg bad record", swap(files[SVG], `{"program"`, `["program"`), "the provenance is damaged"},
		{"svg with a long name", []byte("<svg><" + strings.Repeat("x", 1<<17) + "></svg>"), "SVG is damaged"},
		{"svg of nothing", nothing.Bytes(), "it names no program"},
		{"pdf without", swap(files[PDF], "<calotte:provenance>", "<calotte:something>"), "no provenance"},
		{"pdf cut", files[PDF][:200], "no provenance"},
	} {
		if _, err := read(row.file); err == nil || !strings.Contains(err.Error(), row.fault) ||
			len(err.Error()) > 200 {
			t.Errorf("%s: got error %v, want a short one with %q", row.name, err, row.fault)
		}
	}
	if _, err := read(swap(files[SVG], `id="provenance"`, `id="other"`)); !errors.Is(err, ErrNoProvenance) {
		t.Errorf("the error %v is not ErrNoProvenance", err)
	}
}

// The record is found wherever the search's windows fall.
func TestPDFRecordAcrossWindows(t *testing.T) {
	file := written(t, sketch{10, 10, "", func(Canvas) {}}, PDF)
	i := bytes.Index(file, []byte(xmpBegin))
	for shift := range len(xmpBegin) + 2 {
		pad := 1<<16 - i - shift + 1
		moved := append(append(append([]byte(nil), file[:i]...), bytes.Repeat([]byte("%"), pad)...),
			file[i:]...)
		if _, err := read(moved); err != nil {
			t.Errorf("record at byte %d: %v", i+pad, err)
		}
	}
}

// carriers are figures of every format with a given record.
var carriers = []func(record []byte) ([]byte, error){
	func(record []byte) ([]byte, error) {
		var b bytes.Buffer
		err := encodePNG(&b, gradient(2, 2), 0, []note{{provenanceKeyword, string(record)}})
		return b.Bytes(), err
	},
	func(record []byte) ([]byte, error) {
		var b bytes.Buffer
		err := encodeTIFF(&b, image.NewRGBA(image.Rect(0, 0, 3, 2)), 300, "t", "d", origin{"calotte", record})
		return b.Bytes(), err
	},
	func(record []byte) ([]byte, error) {
		still := Still{Image: image.NewPaletted(image.Rect(0, 0, 1, 1), color.Palette{color.Black}), Title: "t"}
		return append(gifHead(still, origin{"calotte", record}), 0x2c), nil
	},
	func(record []byte) ([]byte, error) {
		return append([]byte("%PDF-1.4\n"),
			xmpPacket(sketch{1, 1, "Dot", func(Canvas) {}}, origin{"calotte", record})...), nil
	},
	func(record []byte) ([]byte, error) {
		return fmt.Appendf(nil, `<svg><metadata id="%s">%s</metadata></svg>`, provenanceID,
				escaped(string(record))),
			nil
	},
}

// A record that is wrong in a few places is refused or read as what it is,
// whatever figure carries it.
func FuzzProvenanceEdited(f *testing.F) {
	document, err := json.Marshal(provenance.Record{
		Program: "calotte", Version: "1", Work: "map",
		Settings:  map[string]string{"at": "170ms", "title": "a<b&c"},
		Arguments: []string{"--at=170ms", "own.tsv"},
		Inputs:    []provenance.Source{{Name: "own.tsv", SHA256: "00"}},
	})
	if err != nil {
		f.Fatal(err)
	}
	for k := range carriers {
		f.Add(byte(k), []byte{})
		f.Add(byte(k), []byte{0, 5, 0, 4, 0, 7, 1, 3})
	}
	f.Fuzz(func(t *testing.T, which byte, script []byte) {
		record := hostile.Edit(document, script)
		figure, err := carriers[int(which)%len(carriers)](record)
		if err != nil {
			t.Fatal(err)
		}
		defer hostile.Budget(t, len(figure))()
		got, err := read(figure)
		want, wantErr := provenance.Read(record)
		if !reflect.DeepEqual(got, want) || (err == nil) != (wantErr == nil) {
			t.Errorf("%q: got %+v, %v; want %+v, %v", record, got, err, want, wantErr)
		}
		if err != nil && (strings.ContainsAny(err.Error(), "\r\n\x1b") || len(err.Error()) > 500) {
			t.Errorf("not a short line: %q", err)
		}
	})
}

// A file of millions of small parts before its picture is not looked through.
func TestRecordIsLookedForInBounds(t *testing.T) {
	chunk := bytes.NewBuffer(nil)
	(&chunkWriter{w: chunk}).chunk("tEXt", nil)
	film := moved(t, GIF)
	for name, file := range map[string][]byte{
		"png": slices.Concat([]byte(pngSignature), bytes.Repeat(chunk.Bytes(), 100_000)),
		"gif": slices.Concat(film[:6+7+768], bytes.Repeat([]byte{0x21, 0xfe, 0}, 100_000), film[6+7+768:]),
	} {
		r := &counted{Reader: bytes.NewReader(file)}
		if _, err := ReadProvenance(r, int64(len(file))); !errors.Is(err, ErrNoProvenance) ||
			r.reads > 3*mostBefore {
			t.Errorf("%s: %d reads, %v", name, r.reads, err)
		}
	}
}

// counted counts how often is read.
type counted struct {
	*bytes.Reader
	reads int
}

func (c *counted) ReadAt(b []byte, at int64) (int, error) {
	c.reads++
	return c.Reader.ReadAt(b, at)
}

func FuzzReadProvenance(f *testing.F) {
	small := sketch{10, 10, "Dot", func(c Canvas) { c.Fill(circle(5, 5, 2)) }}
	for _, format := range []Format{PNG, SVG, PDF} {
		b := written(f, small, format)
		f.Add(b)
		f.Add(b[:len(b)/2])
	}
	for _, b := range hostile.Seeds(f, os.DirFS("../../testdata/corpus"), "figures/*.*png", "figures/*.svg",
		"figures/*.pdf") {
		f.Add(b)
	}
	f.Add([]byte("%PDF-1.4 " + strings.Repeat(xmpBegin, 40)))
	f.Fuzz(func(t *testing.T, b []byte) {
		defer hostile.Budget(t, len(b))()
		p, err := read(b)
		if err != nil && !reflect.DeepEqual(p, provenance.Record{}) {
			t.Errorf("both %+v and error %v", p, err)
		}
		if err == nil {
			if _, err := json.Marshal(p); err != nil {
				t.Error(err)
			}
		}
	})
}
