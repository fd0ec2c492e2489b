package erp

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/unmix"
	"calotte/topo/filter"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
)

// A planted recording holds as many peaked sources as sites, slow as a brain's,
// an evoked wave, and blinks where asked for.
var plantedSites = []string{"Fp1", "Fp2", "F7", "F3", "Fz", "F4", "F8", "C3", "Cz", "C4", "P3", "Pz", "P4"}

const plantedSeconds, plantedRate = 240, 100

// blinkPattern is what each of the sites picks up of a blink.
var blinkPattern = []float64{1, 1, .5, .4, .4, .4, .5, .12, .12, .12, .05, .05, .05}

// blinker is such a recording, with blinks or without, and a bad electrode, if
// any.
func blinker(t *testing.T, blinks bool, bad string) *recording.Recording {
	t.Helper()
	n := plantedSeconds * plantedRate
	rng := rand.New(rand.NewPCG(5, 5))
	data := make([][]float64, len(plantedSites))
	for i := range data {
		data[i] = make([]float64, n)
	}
	for range len(plantedSites) - 1 { // and the blinks are the last
		row := make([]float64, n)
		for k := 1; k < n; k++ {
			row[k] = 0.9*row[k-1] + rng.ExpFloat64()*math.Copysign(1, rng.Float64()-.5)
		}
		for i := range data {
			a := rng.NormFloat64()
			for k, x := range row {
				data[i][k] += a * x
			}
		}
	}
	var events []recording.Event
	for s := 2.0; s < plantedSeconds-2; s += 1.5 {
		events = append(events, erptest.Annotation(s, "a"))
	}
	for i := range data {
		for at := 300; blinks && at+40 < n; at += 250 + at%97 {
			for k := range 40 {
				data[i][at+k] += 200 * blinkPattern[i] * math.Pow(math.Sin(math.Pi*float64(k)/40), 2)
			}
		}
	}
	loud := slices.Index(plantedSites, bad)
	h := recording.Header{Records: plantedSeconds, Signals: erptest.Signals(plantedSites...)}
	return erptest.Open(t, erptest.Write(t, h, func(signal, sample int) float64 {
		if signal == loud {
			return math.Round(10000 * (uniformNoise(sample) - .5))
		}
		return math.Round(10 * data[signal][sample]) // in the file's steps
	}, events...))
}

// uniformNoise is a number in (0, 1) that follows from the sample's index.
func uniformNoise(k int) float64 {
	x := math.Sin(float64(k)*12.9898) * 43758.5453
	return x - math.Floor(x)
}

// removalOf is what the rules suggest of an unmixing.
func removalOf(u *Unmixed) *Removal {
	f := &unmix.File{Rows: u.Rows, Reference: u.Reference}
	for _, r := range u.LeftOut {
		f.LeftOut = append(f.LeftOut, unmix.Bad{Site: r.Site, Reason: r.Reason})
	}
	f.Tell(u.Separation, u.Traits)
	r := &Removal{File: f}
	for _, c := range f.Components {
		r.Decisions = append(r.Decisions,
			unmix.Decision{Component: c.Component, Looks: c.Looks, Remove: c.Remove})
	}
	return r
}

var usualUnmixing = Unmixing{Filter: filter.Design{HighPass: 1}}

// Planted blinks, and they alone, are found and taken out: what is left is the
// recording in which none were planted, but for the error of the weights.
func TestBlinksAreTakenOut(t *testing.T) {
	blinking := blinker(t, true, "")
	u := usualUnmixing
	u.Conditions = []Condition{{"x", event.Labels("a")}}
	u.Epoch = erptest.Span(t, "-200..500ms")
	found, err := u.Run(t.Context(), Input{Recording: blinking, Name: "blinking.edf"})
	if err != nil {
		t.Fatal(err)
	}
	r := removalOf(found)
	account := r.Account()
	if !found.Reached || account.Removed != 1 || account.Looks[unmix.Blink] != 1 || !account.Suggested {
		t.Fatalf("reached %v, %v", found.Reached, account)
	}
	if got, want := found.EyeSource[0], "the mean of Fp1,Fp2"; got != want {
		t.Errorf("vertical eye signal %q, want %q", got, want)
	}
	if c := found.Courses; len(c.Means) != 1 || len(c.Means[0]) != len(r.File.Components) || c.Numbers[0] != 158 ||
		len(c.Times) != 71 {
		t.Errorf("%d conditions of %v epochs", len(c.Means), c.Numbers)
	}
	change := found.Change(r.File, r.Decisions)
	if !slices.Contains(change.Sites[:2], "Fp1") || len(change.Sites) != 6 {
		t.Errorf("sites that change most: %v", change.Sites)
	}
	p := flat(t, "-200..500ms")
	p.Unmix = r
	cleaned := averages(t, p, blinking)[0]
	if got := cleaned.Info.Unmixed; got == nil || got.Removed != 1 {
		t.Errorf("the average does not say what was taken out: %v", got)
	}
	raw, calm := averages(t, flat(t, "-200..500ms"), blinking)[0], averages(t, flat(t, "-200..500ms"),
		blinker(t, false, ""))[0]
	for _, i := range []int{0, 4, 11} {
		with, without := 0.0, 0.0
		for k, want := range calm.Mean[i] {
			with += math.Pow(raw.Mean[i][k]-want, 2)
			without += math.Pow(cleaned.Mean[i][k]-want, 2)
		}
		t.Logf("%s: blinks leave %.1f %% of their power", cleaned.Sites[i], 100*without/with)
		if i < 11 && without > 0.02*with {
			t.Errorf("%s: %.3g of what blinks add is left", cleaned.Sites[i], without/with)
		}
	}
}

// The components of an average reference have a dimension less, and taking
// nothing out changes nothing.
func TestTakingNothingOut(t *testing.T) {
	rec := blinker(t, true, "")
	found, err := usualUnmixing.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	p := flat(t, "-200..500ms")
	p.Unmix = removalOf(found)
	for k := range p.Unmix.Decisions {
		p.Unmix.Decisions[k].Remove = false
	}
	if a := p.Unmix.Account(); a.Suggested || a.String() != "none of 13 independent components" {
		t.Errorf("%v, suggested %v", a, a.Suggested)
	}
	erptest.WantRows(t, "average", averages(t, p, rec)[0].Mean, averages(t, flat(t, "-200..500ms"), rec)[0].Mean,
		1e-9)
}

// A loud electrode is left out, stays as it is, and that is said until it is
// repaired.
func TestUnmixingLeavesBadElectrodesOut(t *testing.T) {
	rec := blinker(t, true, "C4")
	u := usualUnmixing
	u.Surface = head.Sphere(90)
	found, err := u.Run(t.Context(), Input{Recording: rec, Name: "rec.edf"})
	if err != nil {
		t.Fatal(err)
	}
	if len(found.LeftOut) != 1 || found.LeftOut[0].Site != "C4" || slices.Contains(found.Rows, "C4") {
		t.Fatalf("left out %v of %v", found.LeftOut, found.Rows)
	}
	p := flat(t, "-200..500ms")
	p.Unmix = removalOf(found)
	r, err := p.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if text := strings.Join(r.Cautions, " "); !strings.Contains(text,
		"C4 was left out when components were found, and keeps what is taken out of the others: repair it, "+
			"--repair C4") {
		t.Errorf("cautions %q", text)
	}
	p.Repair = Repair{Sites: []layout.Name{"C4"}, Surface: head.Sphere(90)}
	if r, err = p.Run(t.Context(), Input{Recording: rec}); err != nil || len(r.Cautions) != 0 {
		t.Errorf("%q, %v", r.Cautions, err)
	}
}

func TestUnmixRefuses(t *testing.T) {
	rec := blinker(t, true, "")
	found, err := usualUnmixing.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	p := flat(t, "-200..500ms")
	p.Unmix = removalOf(found)
	_, err = p.Run(t.Context(), Input{Recording: ramp(t, []string{"Fz", "Cz"}, erptest.Annotation(5, "a"))})
	erptest.WantError(t, err, "unmix: the components rest on Fp1, which is not among the sites", "--leave-out Fp1")
	p.Unmix.File.Reference = "A1"
	_, err = p.Run(t.Context(), Input{Recording: rec})
	erptest.WantError(t, err, `the components are of recordings against "A1", and this is against "not known"`)
	p.Reference = montage.Reference{}
	_, err = (&Pipeline{Unmix: p.Unmix}).RunEpochs(t.Context(), EpochSet{Condition: "x"})
	erptest.WantError(t, err, "components", "belong before the cutting")
	_, err = usualUnmixing.Run(t.Context())
	erptest.WantError(t, err, "no recording is given")
	short := recording.Header{Records: 8, Signals: erptest.Signals(plantedSites...)}
	_, err = usualUnmixing.Run(t.Context(), Input{Recording: erptest.Open(t, erptest.Write(t, short,
		func(signal, sample int) float64 { return math.Round(2000 * uniformNoise(sample*13+signal)) }))})
	erptest.WantError(t, err, "800 samples are too few for 13 components")
}

// Seconds that no head makes are left out, and blinks are not.
func TestGrossSecondsAreLeftOut(t *testing.T) {
	h := recording.Header{Records: 60, Signals: erptest.Signals(plantedSites...)}
	rec := erptest.Open(t, erptest.Write(t, h, func(signal, sample int) float64 {
		x := 200 * (uniformNoise(sample*13+signal) - .5)
		if sample/100 == 20 {
			x *= 100
		}
		if sample/100 == 40 {
			x += 500 * blinkPattern[signal] * math.Pow(math.Sin(math.Pi*float64(sample%100)/100), 2)
		}
		return math.Round(x)
	}))
	found, err := Unmixing{Filter: filter.Design{HighPass: 1}, Components: 5}.Run(t.Context(),
		Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if found.Gross < 1 || found.Gross > 5 ||
		slices.ContainsFunc(found.Origins, func(o Origin) bool { return o.Onset == 20 }) ||
		!slices.ContainsFunc(found.Origins, func(o Origin) bool { return o.Onset == 40 }) {
		t.Errorf("%d seconds left out of %d", found.Gross, found.Seconds)
	}
}

// The open recordings, in the 20 dimensions of the largest variance: a blink
// and a look sideways are found, and the gradient is reached.
func TestUnmixOpenRecordings(t *testing.T) {
	var in []Input
	for _, r := range erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf") {
		in = append(in, Input{Recording: r})
	}
	u := usualUnmixing
	u.Components = 20
	found, err := u.Run(t.Context(), in...)
	if err != nil {
		t.Fatal(err)
	}
	looks := removalOf(found).Account().Looks
	if !found.Reached || looks[unmix.Blink] != 1 || looks[unmix.Sideways] != 1 || found.Seconds != 250 {
		t.Errorf("gradient %v after %d steps, %v", found.Gradient, found.Steps, looks)
	}
}
