package study

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// In average reference the scalp shows what was claimed: noise of some 10 µV,
// a rhythm near 10 Hz at the back, hum, and a background that is smooth.
func TestOngoingActivity(t *testing.T) {
	s := testStudy(t)
	all := run(s.Participants()[0])[:siteCount]
	average(all, nil)
	at := func(site string) []float64 { return all[s.scalp.index[site]] }

	for _, site := range []string{"Cz", "P7", "P8", "T7", "Pz"} {
		if sd := stat.StdDev(at(site), nil); sd < 6 || sd > 14 {
			t.Errorf("%s has a standard deviation of %.1f µV, want 6 to 14", site, sd)
		}
	}
	const seconds = 4
	back, front := density(at("Oz"), seconds), density(at("Fz"), seconds)
	peak := 7 * seconds
	for i := peak; i <= 13*seconds; i++ {
		if back[i] > back[peak] {
			peak = i
		}
	}
	if f := float64(peak) / seconds; math.Abs(f-alphaFrequency) > 2 {
		t.Errorf("the rhythm is at %g Hz, want %g within 2", f, alphaFrequency)
	}
	beside := math.Sqrt(back[5*seconds] * back[16*seconds])
	if back[peak] < 5*beside || back[peak] < 3*front[peak] {
		t.Errorf("at the rhythm's peak %g µV²/Hz, beside it %g, at Fz %g", back[peak], beside, front[peak])
	}
	if hum := back[50*seconds]; hum < 3*back[45*seconds] {
		t.Errorf("%g µV²/Hz at 50 Hz, %g at 45", hum, back[45*seconds])
	}
	if b := slope(front, seconds, 15, 45); math.Abs(b+backgroundExponent) > 0.25 {
		t.Errorf("15 to 45 Hz at Fz: slope %.2f, want about %.1f", b, -backgroundExponent)
	}
	near, far := stat.Correlation(at("C3"), at("C5"), nil), stat.Correlation(at("C3"), at("C4"), nil)
	if near < 0.5 || far > near-0.3 {
		t.Errorf("correlation C3-C5 %.2f, C3-C4 %.2f: want a smooth background", near, far)
	}
}

// A blink is largest at the forehead, the same left and right, falls towards
// the back and is larger still in the eye channel.
func TestBlinkPattern(t *testing.T) {
	s := testStudy(t)
	pattern := slices.Clone(s.blink[0])
	eye := pattern[aboveEye] - pattern[belowEye]
	toAverage(pattern)
	at := func(site string) float64 { return pattern[s.scalp.index[site]] }
	row := []float64{eye, at("Fpz"), at("AFz"), at("Fz"), at("FCz"), at("Cz")}
	for i := range len(row) - 1 {
		if !(row[i] > row[i+1]) {
			t.Errorf("eye channel, Fpz, AFz, Fz, FCz, Cz: %.3f, want falling", row)
			break
		}
	}
	for _, pair := range [][2]string{{"Fp1", "Fp2"}, {"F7", "F8"}, {"P7", "P8"}} {
		if d := at(pair[0]) - at(pair[1]); math.Abs(d) > 1e-9 {
			t.Errorf("%s and %s differ by %g", pair[0], pair[1], d)
		}
	}
}

func TestFailingElectrode(t *testing.T) {
	s := testStudy(t)
	for _, p := range s.Participants() {
		if want := p.ID == "sub-07"; (len(p.Failing) > 0) != want {
			t.Errorf("%s: failing %q", p.ID, p.Failing)
		}
	}
	all := run(s.Participants()[6])
	bad := stat.StdDev(all[s.scalp.index["F6"]], nil)
	for _, site := range []string{"F4", "F8", "P7", "P8", "Pz"} {
		if sd := stat.StdDev(all[s.scalp.index[site]], nil); bad < 5*sd {
			t.Errorf("F6 has %.0f µV, %s %.0f µV: want F6 to stand out", bad, site, sd)
		}
	}
}

func TestSchedule(t *testing.T) {
	s := testStudy(t)
	for _, p := range s.Participants() {
		counts, last, runs := map[string]int{}, "", 0
		for i, e := range p.Events() {
			counts[e.Text]++
			if math.Abs(e.Onset*1e4-math.Round(e.Onset*1e4)) > 1e-6 {
				t.Errorf("%s: onset %v is no whole tenth of a millisecond", p.ID, e.Onset)
			}
			if i > 0 {
				before := p.Events()[i-1]
				gap := e.Onset - before.Onset
				if before.Text == Pause {
					gap -= before.Duration
				}
				if gap < shortestGap-1e-4 || gap > longestGap+1e-4 {
					t.Errorf("%s: %g s before event %d", p.ID, gap, i+1)
				}
			}
			if e.Text != last {
				runs++
			}
			last = e.Text
		}
		if counts[Known] != 100 || counts[Novel] != 100 || counts[Pause] != 1 || len(counts) != 3 {
			t.Errorf("%s: events %v", p.ID, counts)
		}
		// 100 of each in random order make 101 runs on average, sd 7.
		if runs < 66 || runs > 136 {
			t.Errorf("%s: %d runs of one condition, want about 101", p.ID, runs)
		}
		if end := float64(p.seconds); p.Events()[200].Onset+1 > end {
			t.Errorf("%s: the session ends %g s, too soon after the last flag", p.ID, end)
		}
	}
}

// average subtracts the mean over the sites, those set aside not counted.
func average(sites [][]float64, aside []int) {
	for j := range sites[0] {
		mean := 0.0
		for i := range sites {
			if !slices.Contains(aside, i) {
				mean += sites[i][j] / float64(len(sites)-len(aside))
			}
		}
		for i := range sites {
			sites[i][j] -= mean
		}
	}
}

// Epochs reach from −200 to 800 ms.
const before, length = SampleRate / 5, SampleRate + 1

// residuals cuts the epochs whose sites stay within 150 µV from peak to peak,
// less their baselines and what is truly evoked: site × sample.
func residuals(t *testing.T, p *Participant) (kept []*mat.Dense, lost float64) {
	t.Helper()
	all := run(p)[:siteCount]
	average(all, nil)
	var times []float64
	for i := range length {
		times = append(times, float64(i-before)/SampleRate)
	}
	evoked := map[string]*mat.Dense{}
	for _, condition := range conditions() {
		var err error
		if evoked[condition], err = p.Evoked(condition, sites(), times); err != nil {
			t.Fatal(err)
		}
	}
	rejected := 0.0
	for _, e := range p.Events() {
		if e.Text == Pause {
			continue
		}
		first := int(math.Floor(e.Onset*SampleRate+0.5)) - before
		epoch, clean := mat.NewDense(siteCount, length, nil), true
		for i := range siteCount {
			x := all[i][first : first+length]
			clean = clean && floats.Max(x)-floats.Min(x) <= 150
			epoch.SetRow(i, x)
			floats.AddConst(-stat.Mean(x[:before], nil), epoch.RawRowView(i))
		}
		if !clean {
			rejected++
			continue
		}
		epoch.Sub(epoch, evoked[e.Text])
		kept = append(kept, epoch)
	}
	return kept, rejected / (rejected + float64(len(kept)))
}

// The average of noisy epochs converges to Evoked: the error falls as 1/√n,
// and at the planted peaks nothing systematic is left. Rejection at 150 µV has
// something to do, but most epochs stay.
func TestAverageConvergesToEvoked(t *testing.T) {
	epochs, lost := residuals(t, testStudy(t).Participants()[0])
	if lost < 0.05 || lost > 0.25 {
		t.Errorf("%.0f %% of the epochs are lost, want 5 to 25", 100*lost)
	}
	size := func(some []*mat.Dense) float64 {
		var mean mat.Dense
		mean.CloneFrom(some[0])
		for _, e := range some[1:] {
			mean.Add(&mean, e)
		}
		return mat.Norm(&mean, 2) / float64(len(some)) / math.Sqrt(siteCount*length)
	}
	single := 0.0 // RMS noise of one epoch
	for _, e := range epochs {
		single += math.Pow(size([]*mat.Dense{e}), 2) / float64(len(epochs))
	}
	single = math.Sqrt(single)
	if single < 5 || single > 20 {
		t.Errorf("one epoch is off by %.1f µV, want 5 to 20", single)
	}
	for _, n := range []int{30, 45, 67, 100, 150} {
		want := single / math.Sqrt(float64(n))
		if got := size(epochs[:n]); math.Abs(got/want-1) > 0.25 {
			t.Errorf("%d epochs: off by %.3f µV, want %.3f within a quarter", n, got, want)
		}
	}
	for _, peak := range []struct {
		site string
		at   float64
	}{{"O1", 0.095}, {"P7", 0.170}, {"P8", 0.170}, {"Pz", 0.350}} {
		var values []float64
		for _, e := range epochs {
			values = append(values, e.At(testStudy(t).scalp.index[peak.site],
				before+int(math.Round(peak.at*SampleRate))))
		}
		mean, sd := stat.MeanStdDev(values, nil)
		if limit := 3.5 * sd / math.Sqrt(float64(len(values))); math.Abs(mean) > limit {
			t.Errorf("%s at %g s: %.2f µV are left, want at most %.2f", peak.site, peak.at, mean, limit)
		}
	}
}
