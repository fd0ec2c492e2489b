package epochs

import (
	"bytes"
	"io"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// What the Writer writes is, byte for byte, what NumPy writes.
func TestWriteAsNumPy(t *testing.T) {
	var b bytes.Buffer
	w, err := NewWriter(&b, Shape{3, 2, 5})
	if err != nil {
		t.Fatal(err)
	}
	for e := range 3 {
		epoch := [][]float64{make([]float64, 5), make([]float64, 5)}
		for s, row := range epoch {
			for i := range row {
				row[i] = value(e, s, i)
			}
		}
		if err := w.Write(epoch); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if want := readFile(t, "epochs_f4.npy"); !bytes.Equal(b.Bytes(), want) {
		t.Errorf("got  %q\nwant %q", b.Bytes(), want)
	}
}

func TestWriteRefuses(t *testing.T) {
	if _, err := NewWriter(io.Discard, Shape{0, 1, 1}); err == nil {
		t.Error("no epochs were accepted")
	}
	for name, epoch := range map[string][][]float64{
		"sites":     {{1, 2}},
		"samples":   {{1, 2}, {3}},
		"NaN":       {{1, 2}, {3, math.NaN()}},
		"infinite":  {{1, math.Inf(-1)}, {3, 4}},
		"too large": {{1, 2}, {3, 3.5e38}},
	} {
		w, err := NewWriter(io.Discard, Shape{1, 2, 2})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(epoch); err == nil {
			t.Errorf("%s: accepted", name)
		}
		if err := w.Close(); err == nil {
			t.Errorf("%s: closed", name)
		}
	}
	w, err := NewWriter(io.Discard, Shape{1, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write([][]float64{{1}}); err != nil {
		t.Fatal(err)
	}
	if err := w.Write([][]float64{{1}}); err == nil {
		t.Error("one epoch too many was accepted")
	}
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shape := Shape{rapid.IntRange(1, 4).Draw(t, "epochs"), rapid.IntRange(1, 4).Draw(t, "sites"),
			rapid.IntRange(1, 9).Draw(t, "samples")}
		var b bytes.Buffer
		w, err := NewWriter(&b, shape)
		if err != nil {
			t.Fatal(err)
		}
		var want [][][]float64
		for range shape.Epochs {
			var epoch [][]float64
			for range shape.Sites {
				row := make([]float64, shape.Samples)
				for i := range row {
					row[i] = float64(rapid.Float32().Draw(t, "value"))
				}
				epoch = append(epoch, row)
			}
			if err := w.Write(epoch); err != nil {
				t.Fatal(err)
			}
			want = append(want, epoch)
		}
		got, values, err := readAll(b.Bytes())
		if err != nil || got != shape || len(values) != len(want) {
			t.Fatalf("shape %v, want %v, error %v", got, shape, err)
		}
		for e := range want {
			for s := range want[e] {
				for i, x := range want[e][s] {
					if values[e][s][i] != x {
						t.Errorf("%v, want %v", values[e][s][i], x)
					}
				}
			}
		}
	})
}
