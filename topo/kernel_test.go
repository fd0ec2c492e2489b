package topo

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// allowed is the error a kernel may have over its value at x = 1.
const allowed = 1e-12

type reference struct {
	q         int
	x, kernel float64
}

// references were integrated by mpmath at 60 digits; see kernels.py.
func references(t *testing.T) []reference {
	f, err := os.Open("../testdata/topo/kernels.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var rows []reference
	lines := bufio.NewScanner(f)
	for lines.Scan(); lines.Scan(); {
		var r reference
		if _, err := fmt.Sscan(lines.Text(), &r.q, &r.x, &r.kernel); err != nil {
			t.Fatal(err)
		}
		rows = append(rows, r)
	}
	if len(rows) != 250 {
		t.Fatalf("%d reference values, want 250", len(rows))
	}
	return rows
}

func TestKernelsMatchTheIntegral(t *testing.T) {
	rows := references(t)
	atOne := map[int]float64{}
	for _, r := range rows {
		if r.x == 1 {
			atOne[r.q] = r.kernel
		}
	}
	var series, bulk [highestExponent + 1]float64
	for _, r := range rows {
		x := []float64{r.x}
		tables[r.q]().evaluate(x)
		series[r.q] = math.Max(series[r.q], math.Abs(kernel(r.q, r.x)-r.kernel)/atOne[r.q])
		bulk[r.q] = math.Max(bulk[r.q], math.Abs(x[0]-r.kernel)/atOne[r.q])
	}
	for q := lowestExponent; q <= highestExponent; q++ {
		t.Logf("q = %d: error over the kernel at 1: series %.1e, table %.1e", q, series[q], bulk[q])
		if series[q] > allowed || bulk[q] > allowed {
			t.Errorf("q = %d: error over the kernel at 1: series %.2g, table %.2g, want at most %g", q,
				series[q],
				bulk[q], allowed)
		}
	}
}

// The table against the series it was built from, at every scale of u: what the
// comment above table derives, 1e-13, and rounding.
func TestTableFollowsTheSeries(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for q := lowestExponent; q <= highestExponent; q++ {
		table := tables[q]()
		x := []float64{-1, 1, math.Nextafter(1, 2), math.Nextafter(-1, -2), 1 - 2*table.floor}
		for range 1000 {
			x = append(x, 1-2*random.Float64(), 1-2*math.Exp2(-60*random.Float64()))
		}
		for piece := table.first; piece < pieceOf(1); piece++ { // both sides of every seam
			u := math.Float64frombits(uint64(piece) << fractionLen)
			x = append(x, 1-2*u, 1-2*math.Nextafter(u, 0))
		}
		want := append([]float64(nil), x...)
		kernels(q, want)
		got := append([]float64(nil), x...)
		table.evaluate(got)
		worst, at := 0.0, 0.0
		for i := range x {
			if e := math.Abs(got[i]-want[i]) / kernel(q, 1); e > worst {
				worst, at = e, x[i]
			}
		}
		t.Logf("q = %d: %.1e of the kernel at 1, at x = %v", q, worst, at)
		if worst > 1.1e-13 {
			t.Errorf("q = %d: table is off by %.2g of the kernel at 1 at x = %v, want at most 1.1e-13", q,
				worst,
				at)
		}
	}
}

// The published bound on the tail asks for these many terms for 1e-12 of the
// kernel at 1.
func TestDegrees(t *testing.T) {
	for q, want := range map[int]int{3: 1054, 4: 109, 5: 35, 6: 18} {
		if got := degrees(q, 1e-12*4*math.Pi*kernel(q, 1)); got != want {
			t.Errorf("exponent %d takes %d terms, want %d", q, got, want)
		}
	}
}

func TestTableKeepsNaN(t *testing.T) {
	for q := lowestExponent; q <= highestExponent; q++ {
		x := []float64{math.NaN()}
		if tables[q]().evaluate(x); !math.IsNaN(x[0]) {
			t.Errorf("exponent %d: NaN became %v", q, x[0])
		}
	}
}

func BenchmarkKernelBulk(b *testing.B) {
	const count = 600_000
	random := rand.New(rand.NewPCG(1, 2))
	cosines := make([]float64, count)
	for i := range cosines {
		cosines[i] = 1 - 2*random.Float64()
	}
	x := make([]float64, count)
	for q := lowestExponent; q <= highestExponent; q++ {
		table := tables[q]()
		b.Run(fmt.Sprintf("exponent=%d", q), func(b *testing.B) {
			for b.Loop() {
				copy(x, cosines)
				table.evaluate(x)
			}
		})
	}
}

func BenchmarkNewTable(b *testing.B) {
	for q := lowestExponent; q <= highestExponent; q++ {
		b.Run(fmt.Sprintf("exponent=%d", q), func(b *testing.B) {
			for b.Loop() {
				newTable(q)
			}
		})
	}
}
