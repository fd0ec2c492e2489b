package study

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"

	"calotte/topo/forward"
)

// The moments cause the planted amplitudes, cross-talk of the generators
// included.
func TestMomentsReachTheAmplitudes(t *testing.T) {
	s := testStudy(t).scalp
	moments, err := plantedMoments(s)
	if err != nil {
		t.Fatal(err)
	}
	for c, part := range planted() {
		for k, amplitudes := range part.amplitudes {
			sum := make([]float64, sensorCount)
			for g, source := range part.generators {
				d := source.dipole()
				d.Moment.X, d.Moment.Y, d.Moment.Z = d.Moment.X*moments[c][k][g],
					d.Moment.Y*moments[c][k][g],
					d.Moment.Z*moments[c][k][g]
				rows, err := s.patterns([]forward.Dipole{d})
				if err != nil {
					t.Fatal(err)
				}
				floats.Add(sum, rows[0])
			}
			toAverage(sum)
			for i, site := range part.sites {
				if got := sum[s.index[site]]; math.Abs(got-amplitudes[i]) > 1e-9 {
					t.Errorf("%s, %s, %s: %g µV, want %g", part.name, conditions()[k], site, got,
						amplitudes[i])
				}
			}
			// a brain's sources have some tens of nA·m (common
			// practice, no source)
			for _, m := range moments[c][k] {
				if m < 1 || m > 100 {
					t.Errorf("%s, %s: a moment of %g nA·m", part.name, conditions()[k], m)
				}
			}
		}
	}
}

// The group's peaks are where they were planted, whatever the seed, in spite of
// the components' overlap: within 8 ms and a quarter, four standard errors of
// twelve people.
func TestGroupPeaksAreWherePlanted(t *testing.T) {
	for seed := range uint64(4) {
		s, err := New(seed)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := s.Truth()
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, part := range planted() {
			for i, site := range part.sites {
				for k, condition := range conditions() {
					at := slices.IndexFunc(rows, func(r TruthRow) bool {
						return r.Participant == Group && r.Component == part.name &&
							r.Condition == condition &&
							r.Site == site
					})
					if at < 0 {
						t.Fatalf("no truth of %s at %s", part.name, site)
					}
					found++
					r, want := rows[at], part.amplitudes[k][i]
					if math.Abs(r.Latency-part.course.latency) > 0.008 ||
						math.Abs(r.Amplitude/want-1) > 0.25 {
						t.Errorf("seed %d: %v, want %g s and %g µV", seed, r,
							part.course.latency,
							want)
					}
				}
			}
		}
		if found != 10 {
			t.Errorf("%d planted peaks, want 10", found)
		}
	}
}

// groupMap returns the group's mean response at a time by site.
func groupMap(t *testing.T, s *Study, condition string, at float64) map[string]float64 {
	t.Helper()
	evoked, err := s.Evoked(condition, s.Sites(), []float64{at})
	if err != nil {
		t.Fatal(err)
	}
	values := map[string]float64{}
	for i, site := range s.Sites() {
		values[site] = evoked.At(i, 0)
	}
	return values
}

func TestMapsOfTheComponents(t *testing.T) {
	s := testStudy(t)
	extreme := func(m map[string]float64, sign float64) string {
		return slices.MaxFunc(s.Sites(), func(a, b string) int {
			if sign*m[a] < sign*m[b] {
				return -1
			}
			return 1
		})
	}
	early, known := groupMap(t, s, Known, 0.095), groupMap(t, s, Known, 0.170)
	novel, late := groupMap(t, s, Novel, 0.170), groupMap(t, s, Known, 0.350)
	if site := extreme(early, 1); !strings.HasPrefix(site, "O") {
		t.Errorf("the early positivity is largest at %s: want O1, Oz or O2", site)
	}
	if site := extreme(known, -1); site != "P8" {
		t.Errorf("the negativity of known flags is largest at %s: want P8", site)
	}
	if site := extreme(late, 1); site != "Pz" {
		t.Errorf("the late positivity is largest at %s: want Pz", site)
	}
	for site, v := range groupMap(t, s, Novel, 0.095) {
		if d := math.Abs(v - early[site]); d > 0.15 {
			t.Errorf("%s: at 95 ms the conditions differ by %g µV", site, d)
		}
	}
	if !(known["P8"] < known["P7"]-1 && novel["P8"] < novel["P7"]-0.2) {
		t.Errorf("known %g left, %g right; novel %g, %g: want the right larger", known["P7"], known["P8"],
			novel["P7"],
			novel["P8"])
	}
	if !(known["P8"] < novel["P8"]-1 && known["P7"] < novel["P7"]-0.3) {
		t.Errorf("P8 %g known, %g novel; P7 %g, %g: want known larger", known["P8"], novel["P8"], known["P7"],
			novel["P7"])
	}
}

// Evoked is against the average of the 64 sites, and nothing of a response is
// left when the next epoch's baseline begins.
func TestEvokedReferenceAndEnd(t *testing.T) {
	s := testStudy(t)
	var times []float64
	for ms := -200.0; ms <= 1000; ms += 4 {
		times = append(times, ms/1000)
	}
	for _, p := range s.Participants() {
		evoked, err := p.Evoked(Known, s.Sites(), times)
		if err != nil {
			t.Fatal(err)
		}
		for j, at := range times {
			sum, largest := 0.0, 0.0
			for i := range siteCount {
				sum += evoked.At(i, j)
				largest = math.Max(largest, math.Abs(evoked.At(i, j)))
			}
			if math.Abs(sum) > 1e-11 {
				t.Fatalf("%s at %g s: the sites sum to %g µV, want 0", p.ID, at, sum)
			}
			if (at < 0 || at >= shortestGap-0.2) && largest > 0.1 {
				t.Errorf("%s at %g s: %g µV, want below 0.1", p.ID, at, largest)
			}
		}
	}
}

// What the simulation adds for the flags is Evoked, exactly, at every flag.
func TestSimulationHoldsEvoked(t *testing.T) {
	s := testStudy(t)
	p := s.Participants()[4]
	a := p.evoked()
	rows := make([][]float64, len(a.courses))
	for j := range rows {
		rows[j] = make([]float64, p.seconds*SampleRate)
	}
	a.fill(0, rows)
	for _, e := range p.Events() {
		if e.Text == Pause {
			continue
		}
		first := int(math.Ceil(e.Onset * SampleRate))
		var times []float64
		for i := range SampleRate / 2 {
			times = append(times, float64(first+i)/SampleRate-e.Onset)
		}
		evoked, err := p.Evoked(e.Text, []string{"P8", "Pz"}, times)
		if err != nil {
			t.Fatal(err)
		}
		for k, site := range []string{"P8", "Pz"} {
			for i := range times {
				got := 0.0
				for j, pattern := range a.pattern {
					centred := slices.Clone(pattern)
					toAverage(centred)
					got += centred[s.scalp.index[site]] * rows[j][first+i]
				}
				// the neighbours' last and first traces
				if d := math.Abs(got - evoked.At(k, i)); d > 1e-3 {
					t.Fatalf("%s at %g s, %s: simulated %g µV, Evoked %g", e.Text, e.Onset, site,
						got,
						evoked.At(k, i))
				}
			}
		}
	}
}

func TestEvokedRefusals(t *testing.T) {
	p := testStudy(t).Participants()[0]
	for _, c := range []struct {
		condition string
		sites     []string
		times     []float64
		want      string
	}{
		{"old", []string{"Pz"}, []float64{0}, `condition "old": expected known or novel`},
		{Known, []string{"A1"}, []float64{0}, `site "A1" is not recorded`},
		{Known, nil, []float64{0}, "0 sites and 1 times"},
		{Known, []string{"Pz"}, nil, "1 sites and 0 times"},
	} {
		if _, err := p.Evoked(c.condition, c.sites, c.times); err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: error %v, want %q", c, err, c.want)
		}
	}
}

func ExampleStudy_Evoked() {
	study, err := New(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, condition := range study.Conditions() {
		evoked, err := study.Evoked(condition, []string{"P7", "P8"}, []float64{0.170})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s flags, 170 ms (synthetic): P7 %.1f µV, P8 %.1f µV\n", condition, evoked.At(0, 0),
			evoked.At(1, 0))
	}
	// Output:
	// known flags, 170 ms (synthetic): P7 -3.6 µV, P8 -5.8 µV
	// novel flags, 170 ms (synthetic): P7 -2.7 µV, P8 -3.4 µV
}
