package main

import (
	"bytes"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/recording"
)

// A wornCap is a synthetic recording of a smooth field, 60 s at 250 Hz, with
// an event every 1.4 s, that a test spoils.
type wornCap struct {
	names  []string
	places []r3.Vec // on a unit sphere
	rows   [][]float64
	rng    *rand.Rand
	events []float64
	ranges map[string]float64 // physical, of a site; others: 3276 µV
}

var sixtyFour = strings.Fields("Fp1 Fpz Fp2 AF7 AF3 AFz AF4 AF8 F7 F5 F3 F1 Fz F2 F4 F6 F8 FT7 FC5 FC3 FC1 FCz FC2 FC4 " +
	"FC6 FT8 T7 C5 C3 C1 Cz C2 C4 C6 T8 TP7 CP5 CP3 CP1 CPz CP2 CP4 CP6 TP8 P7 P5 P3 P1 Pz P2 P4 P6 P8 PO7 PO3 " +
	"POz PO4 PO8 O1 Oz O2 Iz T9 T10")

const (
	capRate    = 250
	capSeconds = 60
)

func newCap(t *testing.T, seed uint64) *wornCap {
	t.Helper()
	c := &wornCap{rng: rand.New(rand.NewPCG(seed, 5)), ranges: map[string]float64{}}
	var names []layout.Name
	for _, s := range sixtyFour {
		names = append(names, layout.Name(s))
	}
	placed, err := layout.Place(head.Sphere(1), names)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range layout.Sites(placed) {
		c.names, c.places = append(c.names, s.Name), append(c.places, r3.Unit(s.Position))
		c.rows = append(c.rows, make([]float64, capRate*capSeconds))
	}
	for range 30 { // sources, each a bump that is 60 degrees wide
		centre := r3.Unit(r3.Vec{X: c.rng.NormFloat64(), Y: c.rng.NormFloat64(), Z: c.rng.NormFloat64()})
		course := c.wander(.97, 4)
		c.add(func(i int) float64 { return math.Exp(-r3.Norm2(r3.Sub(c.places[i], centre)) / .5) }, course)
	}
	for _, name := range c.names {
		c.alone(name, c.white(1.5))
	}
	for at := 1.; at < capSeconds-2; at += 1.4 {
		c.events = append(c.events, at)
	}
	return c
}

// add adds a course with a weight for each site.
func (c *wornCap) add(weight func(site int) float64, course []float64) {
	for i, row := range c.rows {
		w := weight(i)
		for t, x := range course {
			row[t] += w * x
		}
	}
}

func (c *wornCap) alone(site string, course []float64) {
	for t, x := range course {
		c.at(site)[t] += x
	}
}

// wander is a random course that forgets, of a standard deviation.
func (c *wornCap) wander(memory, sd float64) []float64 {
	course, x := make([]float64, capRate*capSeconds), 0.
	for t := range course {
		x = memory*x + math.Sqrt(1-memory*memory)*sd*c.rng.NormFloat64()
		course[t] = x
	}
	return course
}

func (c *wornCap) white(sd float64) []float64 { return c.wander(0, sd) }

// bumps are slow waves of a size, 0.4 s long, in every second epoch.
func (c *wornCap) bumps(size float64) []float64 {
	course := make([]float64, capRate*capSeconds)
	for k := 0; k < len(c.events); k += 2 {
		from := int((c.events[k] + .2) * capRate)
		for t := range 100 {
			course[from+t] = size * math.Pow(math.Sin(math.Pi*float64(t)/100), 2)
		}
	}
	return course
}

func (c *wornCap) hum(size, frequency float64) []float64 {
	course := make([]float64, capRate*capSeconds)
	for t := range course {
		course[t] = size * math.Sin(2*math.Pi*frequency*float64(t)/capRate)
	}
	return course
}

// muscle is noise above 20 Hz at some sites, of their own mostly.
func (c *wornCap) muscle(sd float64, sites ...string) {
	for _, s := range sites {
		course := c.white(sd)
		for t := len(course) - 1; t > 0; t-- {
			course[t] -= course[t-1]
		}
		c.alone(s, course)
	}
}

func (c *wornCap) at(site string) []float64 { return c.rows[slices.Index(c.names, site)] }

func (c *wornCap) write(t *testing.T, path string) string {
	t.Helper()
	h := recording.Header{Patient: "X X X X", Recording: "Startdate 01-MAR-2026 X X synthetic",
		Kind: recording.EDFPlusC, Records: capSeconds, RecordDuration: 1}
	for _, name := range c.names {
		most := c.ranges[name]
		if most == 0 {
			most = 3276.7
		}
		h.Signals = append(h.Signals, recording.Signal{Label: name, Unit: "uV", PhysicalMin: -most,
			PhysicalMax: most, DigitalMin: -32767, DigitalMax: 32767, SamplesPerRecord: capRate})
	}
	var events []recording.Event
	for _, at := range c.events {
		events = append(events, recording.Event{Onset: at, Duration: math.NaN(), Text: "go"})
	}
	byRecord, room, err := h.Distribute(events)
	if err != nil {
		t.Fatal(err)
	}
	h.AnnotationBytes = room
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, h)
	if err != nil {
		t.Fatal(err)
	}
	for second := range capSeconds {
		block := make([][]float64, len(c.rows))
		for i, row := range c.rows {
			block[i] = row[second*capRate : (second+1)*capRate]
		}
		if err := w.WriteRecord(block, byRecord[second]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, path, file.String())
}

// Each cause is planted by itself, and the check asks for that and for nothing
// else, on two recordings.
func TestCheckTellsTheCause(t *testing.T) {
	const again = "record a minute and check again"
	front := func(c *wornCap) func(int) float64 { // what an eye below the forehead reaches
		return func(i int) float64 {
			return math.Exp(-r3.Norm2(r3.Sub(c.places[i], r3.Unit(r3.Vec{Y: 1, Z: -.2}))) / .25)
		}
	}
	for name, fault := range map[string]struct {
		spoil func(c *wornCap)
		want  []string
		says  string
	}{
		"none": {func(*wornCap) {}, []string{"nothing stands out"}, "of 41 usable"},
		"blinks": {func(c *wornCap) { c.add(front(c), c.bumps(400)) },
			[]string{"blink between the trials"}, "21 to blinks, most at Fp"},
		"sideways looks": {func(c *wornCap) {
			c.add(func(i int) float64 {
				right := r3.Norm2(r3.Sub(c.places[i], r3.Unit(r3.Vec{X: .8, Y: .8, Z: -.2})))
				left := r3.Norm2(r3.Sub(c.places[i], r3.Unit(r3.Vec{X: -.8, Y: .8, Z: -.2})))
				return math.Exp(-right/.2) - math.Exp(-left/.2)
			}, c.bumps(300))
		}, []string{"looking at one point"}, "to sideways looks"},
		"movement": {func(c *wornCap) {
			for range 6 {
				centre := r3.Unit(r3.Vec{X: c.rng.NormFloat64(), Y: c.rng.NormFloat64(),
					Z: c.rng.NormFloat64()})
				c.add(func(i int) float64 { return r3.Dot(c.places[i], centre) }, c.bumps(600))
			}
		}, []string{"sit still"}, "to movement"},
		"a tense jaw": {func(c *wornCap) { c.muscle(40, "F7", "FT7", "T7", "F8", "FT8", "T8") },
			[]string{"let the jaw hang", again}, "to jaw and temple muscle, most at "},
		"a frown": {func(c *wornCap) { c.muscle(40, "Fp1", "Fpz", "Fp2") },
			[]string{"smooth the forehead", again}, "to forehead muscle, most at Fp"},
		"a stiff neck": {func(c *wornCap) { c.muscle(40, "O1", "Oz", "O2", "Iz", "PO7", "PO8") },
			[]string{"drop the shoulders", again}, "to neck muscle"},
		"noise at a temple alone": {func(c *wornCap) { c.alone("T8", c.white(60)) },
			[]string{"see to T8 (gel", again}, "to a loose contact, most at T8"},
		"a loose contact": {func(c *wornCap) { c.alone("P3", c.wander(.995, 150)) },
			[]string{"see to P3 (gel", again}, "to a loose contact, most at P3"},
		"hum at one": {func(c *wornCap) { c.alone("C4", c.hum(90, 50)) },
			[]string{"see to the contact of C4, which hums alone", again},
			"to hum at one electrode, most at C4"},
		"hum at one temple, 60 Hz": {func(c *wornCap) { c.alone("T7", c.hum(90, 60)) },
			[]string{"see to the contact of T7, which hums alone", again}, "hum         60 Hz"},
		"a lost ground": {func(c *wornCap) {
			c.add(func(i int) float64 { return 1 + .03*float64(i%5) }, c.hum(150, 50))
		}, []string{"see to the ground and the reference electrode first", again}, "of 41 usable"},
		"a dead electrode": {func(c *wornCap) { clear(c.at("C3")) },
			[]string{"see to C3: flat", again}, "C3: flat"},
		"exchanged wires": {func(c *wornCap) {
			i, j := slices.Index(c.names, "F3"), slices.Index(c.names, "P4")
			c.rows[i], c.rows[j] = c.rows[j], c.rows[i]
		}, []string{"follow the wires of", again}, "exchanged"},
		"a gain too high": {func(c *wornCap) { c.ranges["Cz"] = 12 },
			[]string{"lower the amplifier's gain", again}, "clipped     Cz"},
		"no trigger": {func(c *wornCap) { c.events = nil },
			[]string{"check the trigger line"}, "no events"},
		"too short": {func(c *wornCap) { c.events = []float64{1, 59.5, 59.6, 59.7} },
			[]string{"record more"}, "3 outside the data"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, seed := range []uint64{2, 7} {
				c := newCap(t, seed)
				fault.spoil(c)
				out := must(t, "contents", "--check",
					c.write(t, filepath.Join(t.TempDir(), "worn.edf")))
				var got []string
				for line := range strings.Lines(out) {
					if what, text, _ := strings.Cut(line, ": "); what == "next" || what == "then" {
						got = append(got, text)
					}
				}
				right := len(got) == len(fault.want) && strings.Contains(out, fault.says)
				for i := range min(len(got), len(fault.want)) {
					right = right && strings.Contains(got[i], fault.want[i])
				}
				if !right {
					t.Errorf("seed %d: want %q and %q of\n%s", seed, fault.want, fault.says, out)
				}
			}
		})
	}
}

// A light sensor that follows its trigger by 20 ms gives the shift to average
// with.
func TestCheckTellsALateStimulus(t *testing.T) {
	c := newCap(t, 2)
	light := make([]float64, capRate*capSeconds)
	for _, at := range c.events {
		for k := range 25 {
			light[int(math.Round((at+.02)*capRate))+k] = 1000
		}
	}
	c.names, c.rows = append(c.names, "Light"), append(c.rows, light)
	out := must(t, "contents", "--check", c.write(t, filepath.Join(t.TempDir(), "worn.edf")), "--onsets",
		"Light>500uV")
	if !strings.HasSuffix(out, "\nnext: average with --after-trigger 20ms\n") {
		t.Error(out)
	}
}
