package screen

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/internal/screentest"
	"calotte/topo/internal/erptest"
)

func screened(tb testing.TB, sites []layout.Site, pieces [][][]float64) []Mark {
	tb.Helper()
	s, err := New(sites)
	if err != nil {
		tb.Fatal(err)
	}
	for _, p := range pieces {
		s.Add(p)
	}
	marks, err := s.Marks()
	if err != nil {
		tb.Fatal(err)
	}
	return marks
}

// without leaves the marks of a site out.
func without(marks []Mark, site string) []Mark {
	return slices.DeleteFunc(slices.Clone(marks), func(m Mark) bool { return m.Site == site })
}

func siteIndex(sites []layout.Site, name string) int {
	return slices.IndexFunc(sites, func(s layout.Site) bool { return s.Name == name })
}

// replace gives one channel other samples, in copies of the pieces.
func replace(pieces [][][]float64, site int, row func(piece int, old []float64) []float64) [][][]float64 {
	out := make([][][]float64, len(pieces))
	for k, p := range pieces {
		out[k] = slices.Clone(p)
		out[k][site] = row(k, p[site])
	}
	return out
}

// As recorded, each of the two open recordings gives one mark, at T8, which
// picks up muscle. Nobody planted it; all others would be false alarms.
func TestScreenOfSoundRecordings(t *testing.T) {
	for _, rec := range erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf") {
		sites, pieces := screentest.Seconds(t, rec)
		marks := screened(t, sites, pieces)
		t.Log(marks)
		if len(marks) != 1 || marks[0].Site != "T8" || marks[0].Reason != Buzzing {
			t.Errorf("%v, want T8 for its high frequencies only", marks)
		}
	}
}

// Every eighth site in turn is spoilt in a way that must be found, by its
// reason, and no other site blamed for it, but for T8 of the recording as it
// is.
func TestScreenFindsPlantedFaults(t *testing.T) {
	sites, pieces := screentest.Seconds(t, erptest.OpenRecordings(t, "S001R03.edf")[0])
	pieces = pieces[:60]
	for _, fault := range []struct {
		name    string
		reasons []string
		row     func(rng *rand.Rand, piece int, site int, old []float64) []float64
	}{
		{"flat at 3 µV", []string{Flat}, func(_ *rand.Rand, _, _ int, old []float64) []float64 {
			return slices.Repeat([]float64{3}, len(old))
		}},
		{"white noise of 100 µV", []string{Noisy, Buzzing},
			func(rng *rand.Rand, _, _ int, old []float64) []float64 {
				new := slices.Clone(old)
				for t := range new {
					new[t] += 100 * rng.NormFloat64()
				}
				return new
			}},
		{"a slow wander of 300 µV", []string{Noisy}, func(rng *rand.Rand, _, _ int, old []float64) []float64 {
			new := slices.Clone(old)
			phase := 2 * math.Pi * rng.Float64()
			for t := range new {
				new[t] += 300 * math.Sin(phase+2*math.Pi*float64(t)/float64(len(new)))
			}
			return new
		}},
		{"three times its own past", []string{Unlike, Noisy, Buzzing},
			func(_ *rand.Rand, piece, site int, old []float64) []float64 {
				new := slices.Clone(pieces[(piece+30)%60][site])
				for t := range new {
					new[t] *= 3
				}
				return new
			}},
	} {
		t.Run(fault.name, func(t *testing.T) {
			found, blamed, tried := 0, 0, 0
			for site := 3; site < len(sites); site += 8 {
				name := sites[site].Name
				if name == "T8" {
					continue
				}
				rng := rand.New(rand.NewPCG(uint64(site), 7))
				marks := screened(t, sites,
					replace(pieces, site, func(piece int, old []float64) []float64 {
						return fault.row(rng, piece, site, old)
					}))
				tried++
				hit := func(m Mark) bool {
					return m.Site == name && slices.Contains(fault.reasons,
						m.Reason)
				}
				if slices.ContainsFunc(marks, hit) {
					found++
				} else {
					t.Logf("%s: %v", name, marks)
				}
				if others := without(without(marks, name), "T8"); len(others) > 0 {
					blamed += len(others)
					t.Logf("with %s: %v", name, others)
				}
			}
			t.Logf("%d of %d found, %d others blamed", found, tried, blamed)
			if found != tried || blamed > 0 {
				t.Errorf("%d of %d found, %d others blamed", found, tried, blamed)
			}
		})
	}
}

// Two exchanged channels, by the whole of Screen, and two pairs at once.
func TestScreenFindsExchanges(t *testing.T) {
	sites, pieces := screentest.Seconds(t, erptest.OpenRecordings(t, "S001R03.edf")[0])
	for _, c := range []struct {
		pairs [][2]string
	}{
		{[][2]string{{"F3", "P4"}}}, {[][2]string{{"C3", "C4"}}}, {[][2]string{{"Fp1", "Oz"}}},
		{[][2]string{{"T7", "Cz"}}},
		{[][2]string{{"F3", "P4"}, {"O1", "C2"}}},
	} {
		exchanged := make([][][]float64, len(pieces))
		for k, p := range pieces {
			exchanged[k] = slices.Clone(p)
			for _, pair := range c.pairs {
				i, j := siteIndex(sites, pair[0]), siteIndex(sites, pair[1])
				exchanged[k][i], exchanged[k][j] = p[j], p[i]
			}
		}
		var want, got []string
		for _, p := range c.pairs {
			want = append(want, fmt.Sprint(slices.Sorted(slices.Values(p[:]))))
		}
		for _, m := range without(screened(t, sites, exchanged), "T8") {
			t.Log(m)
			if m.Reason != Exchanged {
				t.Errorf("%v: also %v", c.pairs, m)
			}
			got = append(got, fmt.Sprint(slices.Sorted(slices.Values([]string{m.Site, m.With}))))
		}
		slices.Sort(want)
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("%v found, want %v", got, want)
		}
	}
}

// Some pairs of two open recordings: of those farther apart than 80 mm nine in
// ten are to be found, of neighbours more than half.
func TestExchangesByDistance(t *testing.T) {
	for _, rec := range erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf") {
		sites, pieces := screentest.Seconds(t, rec)
		s, err := New(sites)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range pieces {
			s.Add(p)
		}
		channels := make([]int, len(sites))
		for i := range channels {
			channels[i] = i
		}
		l, err := s.leaveOneOut(channels)
		if err != nil {
			t.Fatal(err)
		}
		tried, found := make([]int, 3), make([]int, 3)
		for pair := 0; pair < len(sites)*len(sites); pair += 19 {
			a, b := pair/len(sites), pair%len(sites)
			if b >= a {
				continue
			}
			chord := r3.Norm(r3.Sub(sites[a].Position, sites[b].Position))
			bin := min(2, int(2*erptest.HeadRadius*math.Asin(min(1, chord/2/erptest.HeadRadius))/40))
			tried[bin]++
			l.exchange(a, b)
			if i, j, factor := l.bestExchange(); i == b && j == a && factor >= usualRelief {
				found[bin]++
			}
			l.exchange(a, b)
		}
		t.Logf("below 40 mm %d of %d found, to 80 mm %d of %d, beyond %d of %d", found[0], tried[0], found[1],
			tried[1],
			found[2], tried[2])
		if 10*found[2] < 9*tried[2] || 2*found[1] < tried[1] || 2*found[0] < tried[0] {
			t.Error("too few exchanges found")
		}
	}
}

// What the documentation says cannot be seen, is not seen: every channel in the
// place of its mirror.
func TestWholeMirrorStaysUnseen(t *testing.T) {
	sites, pieces := screentest.Seconds(t, erptest.OpenRecordings(t, "S001R03.edf")[0])
	mirrored := make([][][]float64, len(pieces))
	for k, p := range pieces {
		mirrored[k] = make([][]float64, len(p))
		for i, s := range sites {
			mirrored[k][siteIndex(sites, string(layout.Name(s.Name).Mirror()))] = p[i]
		}
	}
	for _, m := range screened(t, sites, mirrored) {
		if m.Reason == Exchanged || m.Reason == Unlike {
			t.Errorf("%v", m)
		}
	}
}

// randomLeftOut has a random covariance over 12 sites.
func randomLeftOut(t *testing.T, seed uint64) *leftOut {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 1))
	sites := erptest.Placed(t, layout.Set1020()[:12])
	factor := mat.NewDense(12, 20, nil)
	for i := range 12 {
		for j := range 20 {
			factor.Set(i, j, rng.NormFloat64())
		}
	}
	covariance := mat.NewSymDense(12, nil)
	covariance.SymOuterK(1, factor)
	channels := make([]int, 12)
	for i := range channels {
		channels[i] = i
	}
	l, err := newLeftOut(sites, channels, covariance)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The short cut over all pairs finds what exchanging each pair for good finds.
func TestBestExchangeIsTheBest(t *testing.T) {
	for seed := range uint64(5) {
		l := randomLeftOut(t, seed)
		before := l.variances()
		best, first, second, want := 0.0, 0, 0, 1.0
		for i := range 12 {
			for j := range i {
				l.exchange(i, j)
				after := l.variances()
				l.exchange(i, j)
				total := 0.0
				for k := range after {
					total += math.Log(after[k] / before[k])
				}
				if total < best && after[i] < before[j] && after[j] < before[i] {
					best, first, second = total, j, i
					want = math.Sqrt(before[i] * before[j] / (after[i] * after[j]))
				}
			}
		}
		i, j, factor := l.bestExchange()
		if i != first || j != second || !erptest.Near(factor, want, 1e-9*want) {
			t.Errorf("%d and %d (%v), want %d and %d (%v)", i, j, factor, first, second, want)
		}
	}
}

func TestScreenRefusals(t *testing.T) {
	sites := erptest.Placed(t, layout.Set1020())
	_, err := New(sites[:4])
	erptest.WantError(t, err, "4 sites", "5 or more")
	s, err := New(sites)
	if err != nil {
		t.Fatal(err)
	}
	s.Add(matrix.New(len(sites), 50)) // all flat: as at the end of the open recordings
	nan := matrix.New(len(sites), 50)
	for i := range nan {
		for k := range nan[i] {
			nan[i][k] = float64(i * k)
		}
	}
	nan[3][7] = math.NaN()
	s.Add(nan)
	_, err = s.Marks()
	erptest.WantError(t, err, "no data")
}

func TestMarksRead(t *testing.T) {
	for want, m := range map[string]Mark{
		"Cz: flat (100 % of the time)": {Site: "Cz", Reason: Flat,
			Value: 1},
		"Cz: noisy (61 µV, 7.3 deviations above the median)": {Site: "Cz",
			Reason: Noisy, Value: 61, Z: 7.3},
		"C3 and C4: exchanged, it seems (put back, their errors fall to 1/8.6)": {Site: "C3", With: "C4",
			Reason: Exchanged, Value: 8.6},
		"Cz: unlike its neighbours (error 1.5 times the median sd, 6.0 deviations above the": {Site: "Cz",
			Reason: Unlike, Value: 1.5, Z: 6},
	} {
		if got := m.String(); !strings.HasPrefix(got, want) {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func BenchmarkScreen(b *testing.B) {
	sites := erptest.Placed(b, layout.Set1010()[:64])
	s, err := New(sites)
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	piece := matrix.New(64, 500)
	for i := range piece {
		for t := range piece[i] {
			piece[i][t] = 20 * rng.NormFloat64()
		}
	}
	b.Run("second", func(b *testing.B) {
		for b.Loop() {
			s.Add(piece)
		}
	})
	b.Run("marks", func(b *testing.B) {
		for b.Loop() {
			if _, err := s.Marks(); err != nil {
				b.Fatal(err)
			}
		}
	})
}
