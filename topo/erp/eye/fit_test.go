package eye

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
)

// The numbers of numpy (testdata/erp/eyes.py), which does in several passes
// what EyeFit does in one.
func TestEyeFitAgainstNumpy(t *testing.T) {
	var want struct {
		Rest, Blink [][]float64
		RestN       int `json:"rest_n"`
		BlinkN      int `json:"blink_n"`
		Epoch       int
		Corrected   [][]float64
		Condition   []int
		Data        [][][]float64
	}
	erptest.ReadJSON(t, "eyes.json", &want)
	f, err := NewFit(3, 2, len(want.Data[0][0]), UsualBlinks)
	if err != nil {
		t.Fatal(err)
	}
	for k, epoch := range want.Data {
		f.Add(strconv.Itoa(want.Condition[k]), epoch[2:], epoch[:2])
	}
	c, err := f.Coefficients()
	if err != nil {
		t.Fatal(err)
	}
	if c.RestN != want.RestN || c.BlinkN != want.BlinkN || c.Shared {
		t.Errorf("%d and %d samples, want %d and %d", c.RestN, c.BlinkN, want.RestN, want.BlinkN)
	}
	worst := 0.0
	for i := range 3 {
		for k := range 2 {
			worst = max(worst, math.Abs(c.Rest.At(i, k)-want.Rest[i][k]),
				math.Abs(c.Blink.At(i, k)-want.Blink[i][k]))
		}
	}
	t.Logf("largest difference of a coefficient %.2g", worst)
	if !(worst < 1e-12) {
		t.Errorf("coefficients differ by %v", worst)
	}
	epoch := want.Data[want.Epoch]
	eyes := slices.Clone(epoch[0])
	c.Correct(epoch[2:], epoch[:2])
	for i, row := range want.Corrected {
		for k, x := range row {
			if got := epoch[2+i][k]; !erptest.Near(got, x, 1e-10) {
				t.Fatalf("site %d, sample %d: %v, want %v", i, k, got, x)
			}
		}
	}
	if !slices.Equal(eyes, epoch[0]) {
		t.Error("the eye channel was changed")
	}
}

// planted epochs: sites that hold activity of their own and a known share of
// the eyes' movements, other for blinks than for saccades.
func plantedEyes(seed uint64,
	epochs int) (conditions []string, brain, recorded, eyes [][][]float64, rest, lid []float64) {
	rng := rand.New(rand.NewPCG(seed, 3))
	rest, lid = []float64{0.30, 0.10, -0.05, 0}, []float64{0.55, 0.20, 0.02, 0}
	const samples = 200
	for e := range epochs {
		conditions = append(conditions, []string{"known", "novel"}[e%2])
		eye := matrix.New(1, samples)
		blinkAt, saccadeAt := rng.IntN(samples), rng.IntN(samples)
		size, turn := 200+50*rng.NormFloat64(), 40*rng.NormFloat64()
		if e%3 == 0 {
			size = 0
		}
		own, both := matrix.New(len(rest), samples), matrix.New(len(rest), samples)
		for t := range samples {
			z := float64(t-blinkAt) / 15
			eye[0][t] = size*math.Exp(-z*z/2) + 5*rng.NormFloat64()
			if t >= saccadeAt {
				eye[0][t] += turn
			}
		}
		in := UsualBlinks.Find(eye[0])
		level := levelOf(eye[0], in)
		for i := range rest {
			ar := 0.0
			for t := range samples {
				ar = 0.8*ar + 6*rng.NormFloat64()
				own[i][t] = ar + 5*math.Sin(float64(t)/20) // evoked
				b := rest[i]
				if in[t] {
					b = lid[i]
				}
				both[i][t] = own[i][t] + b*(eye[0][t]-level)
			}
		}
		brain, recorded, eyes = append(brain, own), append(recorded, both), append(eyes, eye)
	}
	return conditions, brain, recorded, eyes, rest, lid
}

// The shares are found, and what the sites hold beside comes back: in twenty
// draws of 120 epochs the errors of each of the eight shares scatter about zero
// (their mean within 3.5 of its standard errors) by less than 0.02, and the
// corrected epochs differ from the sites' own activity by less than 6 % of it.
func TestPlantedBlinksAreFoundAndRemoved(t *testing.T) {
	const draws = 20
	var errors [8][draws]float64
	worst := 0.0
	for d := range draws {
		conditions, brain, recorded, eyes, rest, lid := plantedEyes(uint64(d), 120)
		f, err := NewFit(len(rest), 1, 200, UsualBlinks)
		if err != nil {
			t.Fatal(err)
		}
		for k := range recorded {
			f.Add(conditions[k], recorded[k], eyes[k])
		}
		c, err := f.Coefficients()
		if err != nil {
			t.Fatal(err)
		}
		for i := range rest {
			errors[i][d] = c.Rest.At(i, 0) - rest[i]
			errors[4+i][d] = c.Blink.At(i, 0) - lid[i]
		}
		var error, own float64
		for k := range recorded {
			c.Correct(recorded[k], eyes[k])
			for i := range rest {
				for t, x := range recorded[k][i] {
					error += (x - brain[k][i][t]) * (x - brain[k][i][t])
					own += brain[k][i][t] * brain[k][i][t]
				}
			}
		}
		worst = max(worst, math.Sqrt(error/own))
	}
	t.Logf("error over own activity: %.4f at most", worst)
	if !(worst < 0.06) {
		t.Errorf("error over own activity %v", worst)
	}
	for i := range errors {
		mean, squares := 0.0, 0.0
		for _, e := range errors[i] {
			mean += e / draws
		}
		for _, e := range errors[i] {
			squares += (e - mean) * (e - mean)
		}
		sd := math.Sqrt(squares / (draws - 1))
		t.Logf("share %d: error %.4f on average, sd %.4f", i, mean, sd)
		if !(math.Abs(mean) < 3.5*sd/math.Sqrt(draws) && sd < 0.02) {
			t.Errorf("share %d: error %.4f on average, sd %.4f", i, mean, sd)
		}
	}
}

func TestEyeFitRefusals(t *testing.T) {
	_, err := NewFit(1, 0, 10, UsualBlinks)
	erptest.WantError(t, err, "no eye channel")
	_, err = NewFit(1, 1, 10, BlinkRule{20, 100})
	erptest.WantError(t, err, "blinks of 20 µV")
	for name, eyes := range map[string]func(k int) float64{
		"flat": func(int) float64 { return 0 }, "a copy": func(k int) float64 { return float64(k * k % 17) },
	} {
		f, err := NewFit(1, 2, 500, UsualBlinks)
		if err != nil {
			t.Fatal(err)
		}
		for e := range 2 {
			rows := matrix.New(3, 500)
			for k := range rows[0] {
				rows[0][k] = float64((e+1)*(k*k%17)) * 1
				rows[1][k] = eyes(k) * float64(e+1)
				rows[2][k] = float64(k % 7)
			}
			f.Add("x", rows[2:], rows[:2])
		}
		if _, err := f.Coefficients(); err == nil {
			t.Errorf("%s: no error", name)
		} else {
			erptest.WantError(t, err, "do not suffice")
		}
	}
}

// Without blinks both classes share one set.
func TestFewBlinksShareCoefficients(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	f, err := NewFit(1, 1, 300, UsualBlinks)
	if err != nil {
		t.Fatal(err)
	}
	for range 4 {
		rows := matrix.New(2, 300)
		for k := range rows[0] {
			rows[0][k] = 5 * rng.NormFloat64()
			rows[1][k] = rows[0][k] / 4
		}
		f.Add("x", rows[1:], rows[:1])
	}
	c, err := f.Coefficients()
	if err != nil {
		t.Fatal(err)
	}
	if !c.Shared || !mat.Equal(c.Rest, c.Blink) || !erptest.Near(c.Rest.At(0, 0), 0.25, 1e-12) || c.BlinkN != 0 {
		t.Errorf("%v %v %+v", c.Rest, c.Blink, c)
	}
}

func BenchmarkEyeFit(b *testing.B) {
	conditions, _, recorded, eyes, rest, _ := plantedEyes(1, 2)
	f, err := NewFit(len(rest), 1, 200, UsualBlinks)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		f.Add(conditions[0], recorded[0], eyes[0])
	}
}
