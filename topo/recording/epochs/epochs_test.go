package epochs

import (
	"bytes"
	"io"
	"os"
	"runtime"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile("../../../testdata/recording/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// value is what testdata/recording/epochs.py puts at a place.
func value(e, s, i int) float64 { return float64((31*e+7*s+i)%17-8) * 0.37 }

// Arrays that NumPy wrote.
func TestRead(t *testing.T) {
	for _, c := range []struct {
		name  string
		round func(float64) float64
	}{
		{"epochs_f4.npy", func(x float64) float64 { return float64(float32(x)) }},
		{"epochs_f8.npy", func(x float64) float64 { return x }},
		{"epochs_v2.npy", func(x float64) float64 { return x }},
	} {
		r, err := NewReader(bytes.NewReader(readFile(t, c.name)))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if r.Shape != (Shape{3, 2, 5}) {
			t.Errorf("%s: shape %v", c.name, r.Shape)
		}
		e := 0
		for epoch, err := range r.All() {
			if err != nil {
				t.Fatal(err)
			}
			for s, row := range epoch {
				for i, x := range row {
					if want := c.round(value(e, s, i)); x != want {
						t.Errorf("%s: epoch %d, site %d, sample %d: %v, want %v", c.name, e, s,
							i,
							x,
							want)
					}
				}
			}
			e++
		}
		if e != 3 {
			t.Errorf("%s: %d epochs", c.name, e)
		}
	}
}

// readAll reads all epochs, or the first error.
func readAll(b []byte) (Shape, [][][]float64, error) {
	r, err := NewReader(bytes.NewReader(b))
	if err != nil {
		return Shape{}, nil, err
	}
	var all [][][]float64
	for epoch, err := range r.All() {
		if err != nil {
			return r.Shape, all, err
		}
		var copied [][]float64
		for _, row := range epoch {
			copied = append(copied, append([]float64(nil), row...))
		}
		all = append(all, copied)
	}
	return r.Shape, all, nil
}

// array returns a file with another dictionary.
func numpyFile(dict string, data int) []byte {
	b := append([]byte("\x93NUMPY\x01\x00"), byte(len(dict)), byte(len(dict)>>8))
	return append(append(b, dict...), make([]byte, data)...)
}

func TestReadRefuses(t *testing.T) {
	good := readFile(t, "epochs_f4.npy")
	dict := func(descr, order, shape string) string {
		return "{'descr': " + descr + ", 'fortran_order': " + order + ", 'shape': " + shape + ", }\n"
	}
	for _, c := range []struct {
		name string
		file []byte
		want string // in the error
	}{
		{"empty", nil, "no NumPy array"},
		{"another file", []byte("PK\x03\x04 and so on"), "no NumPy array"},
		{"version 3", append([]byte("\x93NUMPY\x03\x00"), good[8:]...),
			"version 3.0 of the NumPy format: expected 1.0 or 2.0"},
		{"cut in the length", good[:9], "the file ends within the header"},
		{"cut in the header", good[:100], "the file ends within the header: it is cut short"},
		{"cut in the first epoch", good[:150], "the file ends within epoch 1 of 3: it is cut short"},
		{"cut before the last value", good[:len(good)-4], "the file ends within epoch 3 of 3"},
		{"more behind the end", append(bytes.Clone(good), 0), "the file goes on after 3 epochs"},
		{"Fortran order", readFile(t, "epochs_fortran.npy"), "Fortran order: expected C order"},
		{"big endian", readFile(t, "epochs_big.npy"), "values of type '>f4': expected '<f4' or '<f8'"},
		{"two axes", readFile(t, "epochs_2d.npy"), "an array of 2 axes: expected 3"},
		{"not a number", readFile(t, "epochs_nan.npy"),
			"epoch 2, site 2, sample 4 (counted from 1): NaN; expected a finite number"},
		{"integers", numpyFile(dict("'<i4'", "False", "(1, 1, 1)"), 4), "values of type '<i4'"},
		{"objects", numpyFile(dict("'|O'", "False", "(1, 1, 1)"), 4), "values of type '|O'"},
		{"records", numpyFile(dict("[('a', '<f4')]", "False", "(1, 1, 1)"), 4),
			"expected descr, fortran_order and shape"},
		{"a scalar", numpyFile(dict("'<f4'", "False", "()"), 4), "an array of 0 axes"},
		{"no epochs", numpyFile(dict("'<f4'", "False", "(0, 2, 5)"), 0), "shape 0 × 2 × 5: an axis is empty"},
		{"no samples", numpyFile(dict("'<f4'", "False", "(3, 2, 0)"), 0), "an axis is empty"},
		{"a negative axis", numpyFile(dict("'<f4'", "False", "(3, -2, 5)"), 0),
			"expected descr, fortran_order and shape"},
		{"an epoch for ever", numpyFile(dict("'<f4'", "False", "(1, 2, 9999999999)"), 0),
			"an epoch of more than"},
		{"epochs for ever", numpyFile(dict("'<f4'", "False", "(4611686018427387904, 2, 5)"), 0),
			"more epochs than a file can hold"},
		{"a product beyond 64 bits", numpyFile(dict("'<f4'", "False", "(9223372036854775807, 1024, 1024)"), 0),
			"shape"},
		{"an axis beyond 64 bits", numpyFile(dict("'<f4'", "False", "(1, 2, 99999999999999999999)"), 0),
			"out of range"},
		{"blanks in an axis", numpyFile(dict("'<f4'", "False", "(1, 2 3, 4)"), 0), "invalid syntax"},
		{"neither True nor False", numpyFile(dict("'<f4'", "0", "(1, 1, 1)"), 4),
			"expected descr, fortran_order and shape"},
		{"no line end", numpyFile(strings.TrimSuffix(dict("'<f4'", "False", "(1, 1, 1)"), "\n"), 4),
			"expected descr"},
		{"no shape", numpyFile("{'descr': '<f4', 'fortran_order': False, }\n", 4), "expected descr"},
		{"not a dictionary", numpyFile("\n", 4), "expected descr"},
		{"a header of 4 GiB", []byte("\x93NUMPY\x02\x00\xff\xff\xff\xff"), "a header of 4294967295 bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := readAll(c.file)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got error %v, want one with %q", err, c.want)
			}
		})
	}
}

// The memory taken does not grow with the number of epochs.
func TestMemory(t *testing.T) {
	allocated := func(n int) uint64 {
		file := numpyFile("{'descr': '<f4', 'fortran_order': False, 'shape': ("+
			strings.TrimSpace(strings.Repeat("1",
				n))+
			", 4, 500), }\n", 0)
		data := io.MultiReader(bytes.NewReader(file), zeros{})
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		r, err := NewReader(data)
		if err != nil {
			t.Fatal(err)
		}
		for _, err := range r.All() {
			if err != nil && !strings.Contains(err.Error(), "goes on") {
				t.Fatal(err)
			}
		}
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	few, many := allocated(2), allocated(4) // 11 and 1111
	if many > few+few/10 {
		t.Errorf("%d bytes for 11 epochs, %d for 1111", few, many)
	}
}

// zeros is a file without end.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

func FuzzRead(f *testing.F) {
	for _, b := range hostile.Seeds(f, os.DirFS("../../../testdata/corpus"), "arrays/*.npy") {
		f.Add(b)
	}
	f.Add(readFile(f, "epochs_f4.npy"))
	f.Add(readFile(f, "epochs_v2.npy"))
	f.Add(readFile(f, "epochs_nan.npy"))
	f.Add(numpyFile("{'descr': '<f4', 'fortran_order': False, 'shape': (1, 1, 1), }\n", 4))
	f.Fuzz(func(t *testing.T, b []byte) {
		defer hostile.Budget(t, len(b))()
		shape, all, err := readAll(b)
		if err == nil && (len(all) != shape.Epochs || len(all[0]) != shape.Sites ||
			len(all[0][0]) != shape.Samples) {
			t.Errorf("shape %v, %d epochs", shape, len(all))
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var file bytes.Buffer
	w, err := NewWriter(&file, Shape{100, 64, 500})
	if err != nil {
		b.Fatal(err)
	}
	epoch := make([][]float64, 64)
	for s := range epoch {
		epoch[s] = make([]float64, 500)
	}
	for range 100 {
		if err := w.Write(epoch); err != nil {
			b.Fatal(err)
		}
	}
	b.SetBytes(int64(file.Len()))
	b.ReportAllocs()
	for b.Loop() {
		r, err := NewReader(bytes.NewReader(file.Bytes()))
		if err != nil {
			b.Fatal(err)
		}
		for _, err := range r.All() {
			if err != nil {
				b.Fatal(err)
			}
		}
	}
}
