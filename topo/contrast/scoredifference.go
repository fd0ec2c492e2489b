package contrast

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"calotte/topo/erp/average"
	"calotte/topo/measure"
)

// A ScoreTest is a difference of scores between conditions or sides, and how
// sure it is.
type ScoreTest struct {
	Difference, SE float64
	T, P           float64 // two-sided, by Student's t with N−1 degrees of freedom
	Low, High      float64 // 95 %
	N              int     // people
}

// A ScoreDifference is that of one score in a window at a place.
type ScoreDifference struct {
	Window measure.Window
	Place  string // a site or pool, or two with a minus between
	Score  string // one of ScoreNames
	// Jackknifed is the difference of the scores of the grand averages,
	// with the error of the jackknife over people: D₋ᵢ is that of the grand
	// averages without person i, SE = √((n−1)/n · Σ(D₋ᵢ − D̄)²) and t =
	// D/SE (J. Miller, T. Patterson & R. Ulrich, Psychophysiology 35:99,
	// 1998; R. Ulrich & J. Miller, Psychophysiology 38:816, 2001). Scores
	// that need an average without much noise, latencies above all, are
	// better found so than in each person.
	Jackknifed ScoreTest
	// Within is the mean of the people's own differences, of those who have
	// both scores.
	Within ScoreTest
}

// ScoreNames are the scores in the order of [Scores].
var ScoreNames = [...]string{"mean", "peak", "peak_latency", "onset", "area", "area_latency"}

// A scoreTerm is a place of an average and the sign with which its score
// counts.
type scoreTerm struct {
	of    Sample
	place measure.Place
	sign  float64
}

// BetweenConditions are the differences of scores at each place, one condition
// minus other: grand averages of the same people, whom it matches by name.
func (s Scoring) BetweenConditions(one, other Sample, windows []measure.Window) ([]ScoreDifference, error) {
	other, err := matchedTo(one, other)
	if err != nil {
		return nil, err
	}
	var out []ScoreDifference
	for _, w := range windows {
		places, err := s.places(one.Average.Sites, w)
		if err != nil {
			return nil, err
		}
		others, err := s.places(other.Average.Sites, w)
		if err != nil {
			return nil, err
		}
		for _, p := range places {
			k := slices.IndexFunc(others, func(o measure.Place) bool { return o.Title == p.Title })
			if k < 0 {
				return nil, fmt.Errorf("%s lacks %s", other.title(), p.Title)
			}
			found, err := s.difference(w, p.Title, []scoreTerm{{one, p, 1}, {other, others[k], -1}})
			if err != nil {
				return nil, err
			}
			out = append(out, found...)
		}
	}
	return out, nil
}

// BetweenSides are the differences of scores at mirrored places, right minus
// left.
func (s Scoring) BetweenSides(of Sample, sides Sides, windows []measure.Window) ([]ScoreDifference, error) {
	pairs, err := sides.Pairs(of.Average.Sites)
	if err != nil {
		return nil, err
	}
	var out []ScoreDifference
	for _, w := range windows {
		for _, p := range pairs {
			found, err := s.difference(w, p.Right.Title+" minus "+p.Left.Title,
				[]scoreTerm{{of, p.Right, 1}, {of, p.Left, -1}})
			if err != nil {
				return nil, err
			}
			out = append(out, found...)
		}
	}
	return out, nil
}

// difference is that of all scores of some terms, whose people are the same.
func (s Scoring) difference(w measure.Window, title string, terms []scoreTerm) ([]ScoreDifference, error) {
	n := len(terms[0].of.Units)
	if n < 2 {
		return nil, errors.New("differences of scores take the people behind grand averages, two or more")
	}
	whole := s.sum(w, terms, func(t scoreTerm) []float64 { return t.place.Wave(t.of.Average.Mean) })
	without, within := make([][]float64, n), make([][]float64, n)
	for i := range n {
		without[i] = s.sum(w, terms, func(t scoreTerm) []float64 {
			return leftOut(t.place.Wave(t.of.Average.Mean), t.place.Wave(t.of.Units[i].Mean), n)
		})
		within[i] = s.sum(w, terms, func(t scoreTerm) []float64 { return t.place.Wave(t.of.Units[i].Mean) })
	}
	var out []ScoreDifference
	for k, name := range ScoreNames {
		d := ScoreDifference{Window: w, Place: title, Score: name}
		d.Jackknifed = tested(whole[k], measure.JackknifeError(column(without, k)), n)
		own := slices.DeleteFunc(column(within, k), math.IsNaN)
		mean, sd := stat.MeanStdDev(own, nil)
		d.Within = tested(mean, sd/math.Sqrt(float64(len(own))), len(own))
		out = append(out, d)
	}
	return out, nil
}

// sum is the signed sum of each score over the terms, NaN where one lacks it.
func (s Scoring) sum(w measure.Window, terms []scoreTerm, wave func(scoreTerm) []float64) []float64 {
	total := make([]float64, len(ScoreNames))
	for _, t := range terms {
		own := s.scores(measure.Wave{Times: t.of.Average.Times, Values: wave(t)}, w).scores()
		for k := range total {
			total[k] += t.sign * own[k]
		}
	}
	return total
}

// leftOut is the mean of n waves without one of them.
func leftOut(mean, own []float64, n int) []float64 {
	out := make([]float64, len(mean))
	for i := range out {
		out[i] = (float64(n)*mean[i] - own[i]) / float64(n-1)
	}
	return out
}

func column(rows [][]float64, k int) []float64 {
	out := make([]float64, len(rows))
	for i, row := range rows {
		out[i] = row[k]
	}
	return out
}

// tested holds a difference against its error; NaN where that is not known.
func tested(difference, se float64, n int) ScoreTest {
	nan := math.NaN()
	out := ScoreTest{difference, se, nan, nan, nan, nan, n}
	if n < 2 || math.IsNaN(difference) || math.IsNaN(se) || se == 0 {
		return out
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}
	out.T = difference / se
	out.P = 2 * t.CDF(-math.Abs(out.T))
	half := t.Quantile(.975) * se
	out.Low, out.High = difference-half, difference+half
	return out
}

// matchedTo is a sample with its people in the order of another's. Other people
// are an error.
func matchedTo(one, other Sample) (Sample, error) {
	if !slices.Equal(one.Average.Times, other.Average.Times) {
		return other, fmt.Errorf("%s and %s have other samples: bring both to one rate and epoch", one.title(),
			other.title())
	}
	out := Sample{Title: other.Title, Average: other.Average}
	for _, a := range one.Units {
		k := slices.IndexFunc(other.Units, func(b *average.Average) bool { return b.Info.Name == a.Info.Name })
		if k < 0 || len(one.Units) != len(other.Units) {
			return other, fmt.Errorf("%s and %s are of other people (%s has no partner): the "+
				"same are needed",
				one.title(), other.title(), a.Info.Name)
		}
		out.Units = append(out.Units, other.Units[k])
	}
	return out, nil
}

// Words say a difference of latencies or onsets, by the jackknife: "n170 at P8:
// onset later by 12 ms [4, 20], p 0.012"; empty of other scores, and where none
// is known.
func (d ScoreDifference) Words() string {
	j := d.Jackknifed
	if !slices.Contains([]string{"peak_latency", "onset", "area_latency"}, d.Score) || math.IsNaN(j.P) {
		return ""
	}
	side, low, high := "later", j.Low, j.High
	if j.Difference < 0 {
		side, low, high = "earlier", -j.High, -j.Low
	}
	ms := func(s float64) string { return strings.Replace(fmt.Sprintf("%.0f", 1e3*s), "-", "−", 1) }
	return fmt.Sprintf("%s at %s: %s %s by %s ms [%s, %s], p %.2g", d.Window.Name, d.Place,
		strings.ReplaceAll(d.Score, "_", " "), side, ms(math.Abs(j.Difference)), ms(low), ms(high), j.P)
}
