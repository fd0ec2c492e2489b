package erp

import (
	"bytes"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

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

// scores are the planted N170 at P7 and P8 and P350 at Pz of a person, those of
// an average at the same moments, and their standard errors, of known flags.
func scores(t *testing.T, s *study.Study, a *average.Average) (want, got, sem []float64) {
	t.Helper()
	truth, err := s.Truth()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range truth {
		i := slices.Index(a.Sites, row.Site)
		if row.Participant != a.Info.Name || row.Condition != study.Known || row.Component == "P100" || i < 0 {
			continue
		}
		k := int(math.Round((row.Latency - a.Times[0]) * study.SampleRate))
		want, got, sem = append(want, row.Amplitude), append(got, a.Mean[i][k]), append(sem, a.SEM[i][k])
	}
	return want, got, sem
}

// Ways to the average of a person.
const (
	rejected  = "rejection"
	regressed = "regression"
	unmixed   = "unmix"
)

// cleanings are ways to the average of a session of the study, all with a limit
// of 150 µV: that alone, after blinks were taken out by regression, and after
// components were taken out as the rules suggest.
func cleanings(t *testing.T, rec *recording.Recording) (ways map[string]*Pipeline, taken average.Unmixed) {
	t.Helper()
	base := func() *Pipeline {
		return &Pipeline{Conditions: []Condition{{study.Known, event.Labels(study.Known)}},
			Epoch: unit.Span{From: -0.2, To: 0.6}, Baseline: &unit.Span{From: -0.2, To: 0},
			Reference: montage.AverageReference, Reject: Reject{Swing: 150}}
	}
	regression, components := base(), base()
	regression.Eyes = []eye.Channel{{Plus: eye.WithoutType(study.EyeChannel)}}
	u := usualUnmixing
	u.Components, u.Eyes = 12, regression.Eyes
	found, err := u.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	components.Unmix = removalOf(found)
	return map[string]*Pipeline{rejected: base(), regressed: regression, unmixed: components},
		components.Unmix.Account()
}

// An outcome is what a way made of some sessions.
type outcome struct {
	squares      float64 // of the errors of the scores, µV²
	scores, near int     // how many there are, and within two standard errors of the truth
	kept, lost   int     // epochs
}

func (o outcome) rmse() float64 { return math.Sqrt(o.squares / float64(o.scores)) }

// add takes the outcome of one session.
func (o *outcome) add(t *testing.T, p *Pipeline, rec *recording.Recording, s *study.Study, person string) {
	t.Helper()
	r, err := p.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages(person)
	if err != nil {
		t.Fatal(err)
	}
	o.kept, o.lost = o.kept+r.Counts[0].Kept, o.lost+r.Counts[0].Lost()
	want, got, sem := scores(t, s, as[0])
	for i := range got {
		o.squares += math.Pow(got[i]-want[i], 2)
		o.scores++
		if math.Abs(got[i]-want[i]) <= 2*sem[i] {
			o.near++
		}
	}
}

// What eyes, muscle and mains add to three people of the study is found by its
// kind and taken out, and what was planted stays: nearer to the truth than by
// rejection or regression alone, with all epochs. Over ten studies
// (CALOTTE_STUDY=10), of known flags, root mean square error in µV, scores
// within two standard errors of the truth, and epochs kept:
//
//	             three people who bring it     one who only blinks
//	rejection    1.19   84 of 90   1977/3000   0.65   27 of 30    917/1000
//	regression   0.97   84 of 90   2614/3000   0.67   27 of 30   1000/1000
//	unmix, 12    0.85   76 of 90   3000/3000   0.71   27 of 30   1000/1000
//	unmix, 32    0.80   79 of 90   3000/3000   0.68   28 of 30   1000/1000
//
// The gain over rejection is beyond chance (mean square error −0.70 µV², by the
// bootstrap over studies −1.23 to −0.28), that over regression is not yet
// (−0.22, −0.79 to 0.17): it is of the mains, which regression leaves. Fewer
// scores lie within their errors, since these do not know of the brain that
// goes with what is taken out, of 12 dimensions more than of 32: at P8 the
// negativity is 0.58 ± 0.13 µV too small with 12.
func TestUnmixOnTheStudy(t *testing.T) {
	studies := 1
	if text := os.Getenv("CALOTTE_STUDY"); text != "" {
		var err error
		if studies, err = strconv.Atoi(text); err != nil {
			t.Fatal(err)
		}
	}
	looks := map[string]string{study.Blinks: unmix.Blink, study.Looks: unmix.Sideways,
		study.Muscle: unmix.Muscle, study.Mains: unmix.Mains}
	var brings, blinks = map[string]*outcome{}, map[string]*outcome{}
	for _, way := range []string{rejected, regressed, unmixed} {
		brings[way], blinks[way] = &outcome{}, &outcome{}
	}
	for seed := range studies {
		s, err := study.New(uint64(seed + 1))
		if err != nil {
			t.Fatal(err)
		}
		for k, person := range s.Participants() {
			if len(person.Brings) == 0 && k > 0 {
				continue
			}
			var file bytes.Buffer
			if err := person.Write(&file); err != nil {
				t.Fatal(err)
			}
			rec := erptest.Open(t, file.Bytes())
			ways, taken := cleanings(t, rec)
			table := brings
			if len(person.Brings) == 0 {
				table = blinks
			}
			t.Logf("seed %d, %s (%v): taken out %v", seed+1, person.ID, person.Brings, taken)
			for _, what := range person.Brings {
				if taken.Looks[looks[what]] == 0 {
					t.Errorf("seed %d, %s brings %s, taken out is %v", seed+1, person.ID, what,
						taken)
				}
			}
			for way, p := range ways {
				table[way].add(t, p, rec, s, person.ID)
			}
		}
	}
	for _, way := range []string{rejected, regressed, unmixed} {
		b, o := brings[way], blinks[way]
		t.Logf("%-10s %.2f %2d of %2d %4d of %4d    %.2f %2d of %2d %4d of %4d", way, b.rmse(), b.near,
			b.scores,
			b.kept, b.kept+b.lost, o.rmse(), o.near, o.scores, o.kept, o.kept+o.lost)
	}
	u := brings[unmixed]
	// Of one study, what regression leaves is within the noise.
	nearest := studies < 10 || u.rmse() < brings[regressed].rmse()
	if u.rmse() >= brings[rejected].rmse() || !nearest || u.lost > 0 ||
		float64(u.near) < .75*float64(u.scores) {
		t.Errorf("after unmixing %+v, by regression %+v, by rejection %+v", *u, *brings[regressed],
			*brings[rejected])
	}
}
