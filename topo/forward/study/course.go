package study

import (
	"math"
	"math/rand/v2"
)

// A course is the shape in time of a passing potential: a Gaussian around its
// latency whose rise and fall may differ in width (standard deviations). All
// three are in seconds; the peak is 1.
type course struct{ latency, rise, fall float64 }

// reach is how many standard deviations a course is followed: beyond it lies
// less than 2e-14 of the peak.
const reach = 8

func (c course) at(t float64) float64 {
	width := c.rise
	if t > c.latency {
		width = c.fall
	}
	z := (t - c.latency) / width
	return math.Exp(-z * z / 2)
}

// span gives the first and last time at which the course is followed.
func (c course) span() (from, to float64) {
	return c.latency - reach*c.rise, c.latency + reach*c.fall
}

// triggered is activity that events set off: at each onset every pattern runs
// through its course, as strong as the event's gain for that pattern.
type triggered struct {
	pattern [][]float64 // one row a course, one value a sensor, µV
	courses []course
	onsets  []float64   // s, ascending
	gains   [][]float64 // one row an onset, one value a course
}

func (a *triggered) patterns() [][]float64 { return a.pattern }

func (a *triggered) fill(first int, rows [][]float64) {
	for j, c := range a.courses {
		row := rows[j]
		clear(row)
		from, to := c.span()
		start, end := float64(first)/SampleRate, float64(first+len(row))/SampleRate
		for k, onset := range a.onsets {
			if onset+to < start {
				continue
			}
			if onset+from >= end {
				break
			}
			low := max(0, int(math.Ceil((onset+from)*SampleRate))-first)
			high := min(len(row)-1, int(math.Floor((onset+to)*SampleRate))-first)
			for i := low; i <= high; i++ {
				row[i] += a.gains[k][j] * c.at(float64(first+i)/SampleRate-onset)
			}
		}
	}
}

// renewals draws times from start to end whose gaps are a dead time plus an
// exponential wait.
func renewals(rng *rand.Rand, start, end, dead, wait float64) []float64 {
	var times []float64
	for t := start + wait*rng.ExpFloat64(); t < end; t += dead + wait*rng.ExpFloat64() {
		times = append(times, t)
	}
	return times
}

// variation draws a positive factor of mean 1 whose logarithm has the standard
// deviation sd, about the coefficient of variation.
func variation(rng *rand.Rand, sd float64) float64 {
	return math.Exp(sd*rng.NormFloat64() - sd*sd/2)
}
