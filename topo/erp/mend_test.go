package erp

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/internal/screentest"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// A popped recording is of a smooth field with noise at each of 32 sites,
// "go" in each of its seconds, and pops of single electrodes in some.
type popped struct {
	names []layout.Name
	clean [][]float64 // site × sample, without pops
	rec   *recording.Recording
	pops  map[int][]layout.Name // by second
}

func thirtyTwo() []layout.Name {
	var names []layout.Name
	for _, n := range strings.Fields("Fp1 Fp2 AF3 AF4 F7 F3 Fz F4 F8 FC5 FC1 FC2 FC6 T7 C3 Cz C4 T8 CP5 " +
		"CP1 CP2 CP6 " +
		"P7 P3 Pz P4 P8 PO7 PO8 O1 Oz O2") {
		names = append(names, layout.Name(n))
	}
	return names
}

const poppedRate, poppedSeconds = 100, 122

func newPopped(t *testing.T, seed uint64, pops map[int][]layout.Name, size float64) popped {
	t.Helper()
	p := popped{names: thirtyTwo(), pops: pops}
	rng := rand.New(rand.NewPCG(seed, 11))
	sites := erptest.Placed(t, p.names)
	p.clean = matrix.New(len(sites), poppedRate*poppedSeconds)
	for range 25 {
		centre := r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
		x := 0.
		for k := range p.clean[0] {
			x = .9*x + 3*rng.NormFloat64()
			for i, s := range sites {
				p.clean[i][k] += x * math.Exp(-r3.Norm2(r3.Sub(r3.Unit(s.Position), centre))/.6)
			}
		}
	}
	rows := matrix.New(len(sites), poppedRate*poppedSeconds)
	h := recording.Header{Records: poppedSeconds}
	for i, row := range p.clean {
		h.Signals = append(h.Signals, erptest.Signal(string(p.names[i]), poppedRate))
		for k := range row {
			row[k] += rng.NormFloat64()
			rows[i][k] = row[k]
		}
	}
	for second, names := range pops {
		for _, n := range names {
			for k := range 50 {
				rows[slices.Index(p.names,
					n)][second*poppedRate+20+k] += size * math.Pow(math.Sin(math.Pi*float64(k)/50),
					2)
			}
		}
	}
	var events []recording.Event
	for s := 1; s < poppedSeconds-1; s++ {
		events = append(events, erptest.Annotation(float64(s), "go"))
	}
	p.rec = erptest.Open(t, erptest.Write(t, h, func(s, k int) float64 { return rows[s][k] }, events...))
	return p
}

func (p popped) run(t *testing.T, each, swing float64) *Result {
	t.Helper()
	baseline := erptest.Span(t, "-100..0ms")
	r, err := (&Pipeline{Conditions: []Condition{{Name: "go", Events: event.Labels("go")}},
		Epoch: erptest.Span(t, "-100..800ms"), Baseline: &baseline, Reference: montage.AverageReference,
		Reject: Reject{Swing: unit.Voltage(swing)},
		Repair: Repair{Each: each, Surface: head.Sphere(90)}}).Run(context.Background(),
		Input{Recording: p.rec})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// pop plants one or two electrodes in every third second.
func pop(names []layout.Name, seed uint64) map[int][]layout.Name {
	rng := rand.New(rand.NewPCG(seed, 3))
	pops := map[int][]layout.Name{}
	for s := 1; s < poppedSeconds-1; s += 3 {
		order := rng.Perm(len(names))
		for _, i := range order[:1+s%2] {
			pops[s] = append(pops[s], names[i])
		}
	}
	return pops
}

// Epochs that single electrodes would lose are kept, the electrodes that were
// planted are those that are mended, and few others.
func TestEachMendsWhatDeparts(t *testing.T) {
	planted, found, others, saved, lost := 0, 0, 0, 0, 0
	for seed := range uint64(3) {
		pops := pop(thirtyTwo(), seed)
		p := newPopped(t, seed, pops, 250)
		const limit = 150
		without, with := p.run(t, 0, limit), p.run(t, .1, limit)
		lost += without.Counts[0].Lost()
		saved += with.Counts[0].Kept - without.Counts[0].Kept
		for _, trial := range with.Trials {
			second := int(math.Round(trial.Onset))
			planted += len(pops[second])
			for _, n := range trial.Mended {
				if slices.Contains(pops[second], n) {
					found++
				} else {
					others++
				}
			}
		}
	}
	t.Logf("%d of %d planted found, %d others, %d of %d lost epochs saved", found, planted, others, saved, lost)
	if 10*found < 9*planted || 20*others > planted || lost < 100 || 10*saved < 9*lost {
		t.Errorf("%d of %d planted found, %d others, %d of %d lost epochs saved", found, planted, others, saved,
			lost)
	}
}

// Where nothing departs, at most one epoch in a hundred is said to have an
// electrode that does.
func TestEachLeavesSoundElectrodes(t *testing.T) {
	mended, epochs := 0, 0
	for seed := range uint64(4) {
		for _, trial := range newPopped(t, seed+10, nil, 0).run(t, .1, 0).Trials {
			epochs++
			if trial.Mended != nil {
				mended++
			}
		}
	}
	t.Logf("%d of %d epochs", mended, epochs)
	if 100*mended > 2*epochs {
		t.Errorf("%d of %d sound epochs are mended", mended, epochs)
	}
}

// The average of mended epochs is nearer to that of the recording without pops
// than the average of all epochs as they are, and than that of those without
// pops: the repair must be worth it.
func TestEachBringsTheAverageNearer(t *testing.T) {
	pops := pop(thirtyTwo(), 5)
	truth := newPopped(t, 5, nil, 0).run(t, 0, 0)
	p := newPopped(t, 5, pops, 250)
	of := func(r *Result) (sum float64) {
		want, err := truth.Averages("x")
		if err != nil {
			t.Fatal(err)
		}
		got, err := r.Averages("x")
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range got[0].Mean {
			for k, x := range row {
				sum += (x - want[0].Mean[i][k]) * (x - want[0].Mean[i][k])
			}
		}
		return math.Sqrt(sum / float64(len(got[0].Mean)*len(got[0].Mean[0])))
	}
	mended, asItIs, rejected := of(p.run(t, .1, 150)), of(p.run(t, 0, 0)), of(p.run(t, 0, 150))
	t.Logf("error %.2f µV mended, %.2f as it is, %.2f rejected", mended, asItIs, rejected)
	if mended > asItIs/2 || mended > rejected/2 {
		t.Errorf("error %.2f µV mended, %.2f as it is, %.2f rejected", mended, asItIs, rejected)
	}
}

// More electrodes than the share are left as they are, and said; the counts are
// those of the epochs that were kept.
func TestEachKeepsToItsShare(t *testing.T) {
	pops := map[int][]layout.Name{5: {"C3"}, 9: {"C3", "P4"}, 13: {"C3", "P4", "F4", "O1", "Cz"}}
	r := newPopped(t, 2, pops, 400).run(t, .1, 200)
	if len(r.Cautions) != 1 || r.Cautions[0] != "more than 3 electrodes depart in 1 epoch; left as they are" {
		t.Errorf("%q", r.Cautions)
	}
	as, err := r.Averages("x")
	if err != nil {
		t.Fatal(err)
	}
	if got := as[0].Info.Mended.String(); got != "C3 in 2, P4 in 1" || r.Counts[0].Lost() != 1 {
		t.Errorf("%q mended, %+v", got, r.Counts[0])
	}
}

// An electrode that departs in most epochs is bad throughout, and that is said.
func TestEachTellsOfABadElectrode(t *testing.T) {
	pops := map[int][]layout.Name{}
	for s := range poppedSeconds {
		pops[s] = []layout.Name{"P4"}
	}
	r := newPopped(t, 3, pops, 400).run(t, .1, 0)
	if len(r.Cautions) != 1 || r.Cautions[0] != "P4 departs in 120 of 120 epochs: repair it throughout" {
		t.Errorf("%q", r.Cautions)
	}
}

func TestEachRefusals(t *testing.T) {
	p := newPopped(t, 1, nil, 0)
	run := func(each float64, sites ...layout.Name) error {
		_, err := (&Pipeline{Conditions: []Condition{{Name: "go", Events: event.Labels("go")}},
			Epoch:  erptest.Span(t, "-100..800ms"),
			Repair: Repair{Each: each, Sites: sites, Surface: head.Sphere(90)}}).Run(context.Background(),
			Input{Recording: p.rec})
		return err
	}
	erptest.WantError(t, run(.03), "3 % of 32 sites", "larger share")
	erptest.WantError(t, run(.1, p.names[:26]...), "6 sites are too few", "16 or more")
}

// In the seconds of two open recordings, unfiltered, blinks, muscle and all, a
// pop of 300 µV at one electrode is found in seven of eight, and another of the
// 64 is mended in at most one second of eight.
func TestEachInOpenRecordings(t *testing.T) {
	for _, rec := range erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf") {
		sites, pieces := screentest.Seconds(t, rec)
		spline, err := topo.New(sites, topo.Options{Radius: anyRadius})
		if err != nil {
			t.Fatal(err)
		}
		d := &departing{sites: sites, rows: list.Indexes(len(sites)), most: 6, spline: spline}
		rng := rand.New(rand.NewPCG(1, 2))
		found, others := 0, 0
		for _, p := range pieces {
			at, from := rng.IntN(len(sites)), rng.IntN(100)
			p[at] = slices.Clone(p[at])
			for k := range 60 {
				p[at][from+k] += 300 * math.Pow(math.Sin(math.Pi*float64(k)/60), 2)
			}
			names, err := d.in(p, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, n := range names {
				if string(n) == sites[at].Name {
					found++
				} else {
					others++
				}
			}
		}
		t.Logf("%d of %d found, %d others", found, len(pieces), others)
		if 8*found < 7*len(pieces) || 8*others > len(pieces) {
			t.Errorf("%d of %d found, %d others", found, len(pieces), others)
		}
	}
}
