package study

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// A simulation runs a session, a second at a time.
type simulation struct {
	activities []activity
	mixing     *mat.Dense // sensors × courses
	courses    *mat.Dense // courses × samples of a second
	sensors    *mat.Dense // sensors × samples of a second, µV
	rng        *rand.Rand
	first      int
}

func (p *Participant) simulation() *simulation {
	return newSimulation(p.activities(), p.study.draw(p.number, forSensors))
}

func newSimulation(activities []activity, rng *rand.Rand) *simulation {
	s := &simulation{activities: activities, rng: rng}
	var patterns [][]float64
	for _, a := range activities {
		patterns = append(patterns, a.patterns()...)
	}
	s.mixing = mat.NewDense(sensorCount, len(patterns), nil)
	for j, pattern := range patterns {
		s.mixing.SetCol(j, pattern)
	}
	s.courses = mat.NewDense(len(patterns), SampleRate, nil)
	s.sensors = mat.NewDense(sensorCount, SampleRate, nil)
	return s
}

// next writes the next second of the recorded channels, in µV: the sites
// against the mean of the mastoids, and the eye channel, above minus below.
func (s *simulation) next(channels [][]float64) {
	row := 0
	for _, a := range s.activities {
		rows := make([][]float64, len(a.patterns()))
		for j := range rows {
			rows[j] = s.courses.RawRowView(row)
			row++
		}
		a.fill(s.first, rows)
	}
	s.first += SampleRate
	s.sensors.Mul(s.mixing, s.courses)
	for i := range sensorCount {
		row := s.sensors.RawRowView(i)
		for j := range row {
			row[j] += sensorNoise * s.rng.NormFloat64()
		}
	}

	left, right := s.sensors.RawRowView(mastoid1), s.sensors.RawRowView(mastoid2)
	for i := range siteCount {
		for j, v := range s.sensors.RawRowView(i) {
			channels[i][j] = v - (left[j]+right[j])/2
		}
	}
	above, below := s.sensors.RawRowView(aboveEye), s.sensors.RawRowView(belowEye)
	for j := range above {
		channels[siteCount][j] = above[j] - below[j]
	}
}
