package erp

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/average"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/unmix"
	"calotte/topo/forward/study"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// A nuisance is what eyes, muscle and mains add to a session of the invented
// study, which has blinks of its own: looks sideways of 60 µV at the temples
// for half a second, bursts of 25 µV in the muscle of the left temple, and a
// hum of 8 µV that grows to one side.
type nuisance struct {
	sideways, muscle, hum []float64 // of each site
	rng                   *rand.Rand
}

func newNuisance(t *testing.T, sites []layout.Name, seed uint64) *nuisance {
	t.Helper()
	placed, err := layout.Place(head.Sphere(90), sites)
	if err != nil {
		t.Fatal(err)
	}
	n := &nuisance{rng: rand.New(rand.NewPCG(seed, 99))}
	temple := slices.Index(sites, layout.Name("FT7"))
	for _, s := range layout.Sites(placed) {
		front := math.Exp((s.Position.Y - 90) / 30)
		far := 0.0
		for _, d := range []float64{s.Position.X - placed[temple].Position.X,
			s.Position.Y - placed[temple].Position.Y,
			s.Position.Z - placed[temple].Position.Z} {
			far += d * d
		}
		n.sideways = append(n.sideways, 3*front*s.Position.X)
		n.muscle = append(n.muscle, 25*math.Exp(-far/(2*25*25)))
		n.hum = append(n.hum, 8*(1+s.Position.X/90))
	}
	return n
}

// addTo adds the nuisance to data, site × sample.
func (n *nuisance) addTo(data [][]float64, rate int) {
	look, burst, last := 0.0, 0.0, 0.0
	for k := range data[0] {
		if k%(rate/2) == 0 { // a new half second
			look, burst = 0, 0
			switch n.rng.IntN(8) {
			case 0, 1:
				look = float64(2*n.rng.IntN(2) - 1)
			case 2, 3:
				burst = 1
			}
		}
		noise := n.rng.NormFloat64()
		tension := burst * (noise - last) / math.Sqrt2 // the fast count most
		last = noise
		hum := math.Sin(2 * math.Pi * 50 * float64(k) / float64(rate))
		for i, row := range data {
			row[k] += n.sideways[i]*look + n.muscle[i]*tension + n.hum[i]*hum
		}
	}
}

// disturbed is a session of the study with more to take out than its blinks.
func disturbed(t *testing.T, person *study.Participant, seed uint64) *recording.Recording {
	t.Helper()
	var file bytes.Buffer
	if err := person.Write(&file); err != nil {
		t.Fatal(err)
	}
	rec := erptest.Open(t, file.Bytes())
	m, err := montage.New(rec.Signals, montage.Options{})
	if err != nil {
		t.Fatal(err)
	}
	data := make([][]float64, len(rec.Signals))
	var all []int
	for i := range data {
		all = append(all, i)
	}
	for block, err := range rec.Blocks(all) {
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range block.Samples {
			data[i] = append(data[i], row...)
		}
	}
	var sites [][]float64
	for _, i := range m.Signals {
		sites = append(sites, data[i])
	}
	newNuisance(t, m.Names, seed).addTo(sites, study.SampleRate)
	h := recording.Header{Records: rec.Records, Signals: rec.Signals, AnnotationBytes: rec.AnnotationBytes}
	var out bytes.Buffer
	h.Recording, h.Patient, h.Start = rec.Header.Recording, rec.Patient, rec.Start
	h.Kind, h.RecordDuration = recording.EDFPlusC, 1
	w, err := recording.NewWriter(&out, h)
	if err != nil {
		t.Fatal(err)
	}
	events, _, err := h.Distribute(rec.Events)
	if err != nil {
		t.Fatal(err)
	}
	for second := range rec.Records {
		piece := make([][]float64, len(data))
		for i, row := range data {
			piece[i] = row[second*study.SampleRate : (second+1)*study.SampleRate]
		}
		if err := w.WriteRecord(piece, events[second]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return erptest.Open(t, out.Bytes())
}

// scores are the N170 at P7 and P8 and the P350 at Pz, with their errors.
func scores(t *testing.T, a *average.Average, values [][]float64) (score, sem []float64) {
	t.Helper()
	for _, c := range []struct {
		site     string
		from, to float64
	}{{"P7", .15, .19}, {"P8", .15, .19}, {"Pz", .3, .4}} {
		i := slices.Index(a.Sites, c.site)
		sum, errs, n := 0.0, 0.0, 0.0
		for k, at := range a.Times {
			if at >= c.from-1e-9 && at <= c.to+1e-9 {
				sum, n = sum+values[i][k], n+1
				if a.SEM != nil {
					errs += a.SEM[i][k]
				}
			}
		}
		score, sem = append(score, sum/n), append(sem, errs/n)
	}
	return score, sem
}

// cleanings are ways to the average of a disturbed session.
func cleanings(t *testing.T, rec *recording.Recording) map[string]*Pipeline {
	t.Helper()
	base := func() *Pipeline {
		return &Pipeline{Conditions: []Condition{{study.Known, event.Labels(study.Known)}},
			Epoch: unit.Span{From: -0.2, To: 0.6}, Baseline: &unit.Span{From: -0.2, To: 0},
			Reference: montage.AverageReference}
	}
	rejection, regression, unmixed := base(), base(), base()
	rejection.Reject.Swing, regression.Reject.Swing, unmixed.Reject.Swing = 150, 150, 150
	regression.Eyes = []eye.Channel{{Plus: eye.WithoutType(study.EyeChannel)}}
	u := usualUnmixing
	u.Components, u.Eyes = 20, regression.Eyes
	found, err := u.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	unmixed.Unmix = removalOf(found)
	account := unmixed.Unmix.Account()
	t.Logf("taken out: %v", account)
	for _, look := range []string{unmix.Blink, unmix.Sideways, unmix.Muscle, unmix.Mains} {
		if account.Looks[look] != 1 || account.Removed != 4 {
			t.Errorf("planted one of %s, taken out %v", look, account)
		}
	}
	return map[string]*Pipeline{"rejection": rejection, "regression": regression, "unmix": unmixed}
}

// What eyes, muscle and mains add is taken out, and what was planted stays:
// nearer to the truth than by rejection or regression alone.
func TestUnmixOnTheStudy(t *testing.T) {
	squares, counts, far := unmixOnTheStudy(t, 1)
	for way := range squares {
		t.Logf("%-10s  root mean square error %.2f µV, %d epochs", way, math.Sqrt(squares[way]/3), counts[way])
	}
	if far > 0 || counts["unmix"] <= counts["rejection"] || squares["unmix"] >= squares["rejection"] {
		t.Errorf("%d of 3 scores are beyond 2.5 standard errors", far)
	}
}

// unmixOnTheStudy sums the squared errors of the scores over seeds, and counts
// epochs and the scores after unmixing that are beyond 2.5 standard errors.
func unmixOnTheStudy(t *testing.T, seeds ...uint64) (squares map[string]float64, counts map[string]int, far int) {
	t.Helper()
	squares, counts = map[string]float64{}, map[string]int{}
	for _, seed := range seeds {
		s, err := study.New(seed)
		if err != nil {
			t.Fatal(err)
		}
		person := s.Participants()[0]
		rec := disturbed(t, person, seed)
		for way, p := range cleanings(t, rec) {
			r, err := p.Run(t.Context(), Input{Recording: rec})
			if err != nil {
				t.Fatal(err)
			}
			counts[way] += r.Counts[0].Kept
			if r.Counts[0].Kept < 2 {
				continue
			}
			as, err := r.Averages("sub-01")
			if err != nil {
				t.Fatal(err)
			}
			got, sem := scores(t, as[0], as[0].Mean)
			want, _ := scores(t, as[0], planted(t, person, study.Known, as[0], 0))
			t.Logf("seed %d, %s, %d epochs: %.2f, want %.2f, errors %.2f", seed, way, r.Counts[0].Kept, got,
				want,
				sem)
			for i := range got {
				squares[way] += math.Pow(got[i]-want[i], 2)
				if way == "unmix" && math.Abs(got[i]-want[i]) > 2.5*sem[i] {
					far++
				}
			}
		}
	}
	return squares, counts, far
}
