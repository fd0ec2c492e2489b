package array

import (
	"encoding/binary"
	"os"
	"strconv"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

// Whatever a file says, what opens is read to its last value, within bounds.
func FuzzOpen(f *testing.F) {
	for _, b := range hostile.Seeds(f, os.DirFS(corpus), "arrays/*.npy", "arrays/*.mat", "arrays/*.csv") {
		f.Add(b, "")
		f.Add(b, "data")
	}
	f.Fuzz(func(t *testing.T, b []byte, variable string) {
		defer hostile.Budget(t, len(b))()
		a, err := open(b, variable)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\x1b\x00") {
				t.Errorf("the error is not one line of text: %q", err)
			}
			return
		}
		n, ok := count(a.Shape, int64(mostFold*len(b)+leastUnpacked+1))
		if !ok {
			t.Fatalf("%d bytes opened as %v", len(b), a)
		}
		values := make([]float64, min(n, 1<<16))
		for _, first := range []int64{0, n - int64(len(values))} {
			if err := a.numbers.slab(values, int(first)); err != nil {
				t.Errorf("the numbers cannot be read: %v", err)
			}
		}
		if n <= 1<<16 {
			use(a)
		}
	})
}

// use reads an array as whatever it can be, for what may go wrong on the way.
func use(a *Array) {
	for _, order := range []Order{{Sites, Samples}, {Samples, Sites}, {Epochs, Sites, Samples},
		{Samples, Sites, Epochs}} {
		if len(order) != len(a.Shape) {
			continue
		}
		d := Description{Rate: 250, Unit: "uV", Order: order}
		var all []int
		for i := range a.Shape[order.at(Sites)] {
			d.Sites, all = append(d.Sites, strconv.Itoa(i)), append(all, i)
		}
		if r, err := a.Recording(d); err == nil {
			for range r.Blocks(all) {
			}
		}
		if c, err := a.Cut(d); err == nil {
			for range c.All() {
			}
		}
	}
}

// A file of many small compressed elements costs no more than their bytes
// warrant, and one of too many is refused.
func TestManyVariables(t *testing.T) {
	packed := read(t, "packed.mat")
	length := int(binary.LittleEndian.Uint32(packed[132:]))
	one := packed[128 : 136+length]
	b := packed[:128:128]
	for range mostVariables + 1 {
		b = append(b, one...)
	}
	defer hostile.Budget(t, len(b))()
	if _, err := open(b, ""); err == nil || !strings.Contains(err.Error(), "more than 4096 variables") {
		t.Error(err)
	}
}
