package recording

import (
	"encoding/binary"
	"math"
	"strings"
	"testing"
)

func TestScale(t *testing.T) {
	for _, c := range []struct {
		signal Signal
		want   scale
	}{
		{Signal{PhysicalMin: -8092, PhysicalMax: 8092, DigitalMin: -8092, DigitalMax: 8092}, scale{1, 0}},
		{Signal{PhysicalMin: -3276.8, PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767},
			scale{0.1, 0}},
		{Signal{PhysicalMin: -0.7, PhysicalMax: 0.7, DigitalMin: -7, DigitalMax: 7}, scale{0.1, 0}},
		{Signal{PhysicalMin: 0, PhysicalMax: 1, DigitalMin: 5, DigitalMax: 15}, scale{0.1, -0.5}},
		{Signal{PhysicalMin: 200, PhysicalMax: -200, DigitalMin: -2000, DigitalMax: 2000}, scale{-0.1, 0}},
	} {
		if got := c.signal.scale(); got != c.want {
			t.Errorf("%+v: %+v, want %+v", c.signal, got, c.want)
		}
	}
}

// Every digital value, at every place of the loop.
func TestApply(t *testing.T) {
	c := scale{0.25, -3}
	for n := range 10 {
		b, dst := make([]byte, 2*n), make([]float64, n)
		for d := math.MinInt16; d <= math.MaxInt16; d++ {
			for i := range n {
				binary.LittleEndian.PutUint16(b[2*i:], uint16(int16(d+i)))
			}
			c.apply16(dst, b)
			for i, x := range dst {
				if want := float64(int16(d+i))/4 - 3; x != want {
					t.Fatalf("digital %d: %v, want %v", d+i, x, want)
				}
			}
		}
	}
}

// Values of 24 bits at the ends, around zero and where the sign could be lost,
// at every place of the loop.
func TestApply24(t *testing.T) {
	c := scale{0.25, -3}
	digital := []int{-1 << 23, -1<<23 + 1, -65537, -65536, -256, -1, 0, 1, 255, 256, 32768, 65535, 65536, 1<<23 - 1}
	for n := range len(digital) + 1 {
		var b []byte
		for _, d := range digital[:n] {
			b = append(b, byte(d), byte(d>>8), byte(d>>16))
		}
		dst := make([]float64, n)
		c.apply24(dst, b)
		for i, x := range dst {
			if want := float64(digital[i])/4 - 3; x != want {
				t.Errorf("%d of %d: digital %d: %v, want %v", i, n, digital[i], x, want)
			}
		}
	}
}

func TestMicrovolts(t *testing.T) {
	for unit, want := range map[string]float64{"uV": 1, "microV": 1, "µV": 1, "μV": 1, " uV ": 1, "mV": 1e3,
		"V":  1e6,
		"nV": 1e-3} {
		if got, err := Microvolts(unit); err != nil || got != want {
			t.Errorf("%q: %g, %v; want %g", unit, got, err, want)
		}
	}
	for _, unit := range []string{"", "MV", "Ohm", "u V", "kV"} {
		if _, err := Microvolts(unit); err == nil ||
			!strings.Contains(err.Error(), "is not a voltage: expected") {
			t.Errorf("%q: error %v", unit, err)
		}
	}
}
