package study

import (
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo/forward"
)

// How strong the ongoing activity is, in µV, with its spread between people.
const (
	backgroundSize = 7.0 // sd, mean over the sites, average reference
	alphaSize      = 3.5 // sd over the back of the head, average reference
	sensorNoise    = 0.4 // sd of every sensor
	ongoingSpread  = 0.15
)

// The rhythm's frequency in Hz, its spread between people and its width.
const (
	alphaFrequency = 10.0
	alphaSpread    = 0.6
	alphaWidth     = 1.2
)

// Blinks: size at Fpz against the mastoids (µV, spread of its logarithm) and
// waiting times, 8.6 a minute on average.
const (
	blinkSize   = 200.0
	blinkSpread = 0.30
	blinkDead   = 1.5 // s
	blinkWait   = 5.5 // s
)

// The failing electrode jumps and drifts back, about every second.
const (
	failingParticipant = 7
	failingSite        = "F6"
	failingSize        = 300.0 // µV
	failingWait        = 0.8   // s
)

var (
	blinkCourse   = course{latency: 0, rise: 0.040, fall: 0.070}
	failingCourse = course{latency: 0, rise: 0.003, fall: 0.250}
)

// An activity is one thing that the sensors pick up: fixed patterns over the
// sensors, each with its own course in time.
type activity interface {
	patterns() [][]float64               // one row a course, one value a sensor
	fill(first int, courses [][]float64) // the next samples, the first of which has this index
}

// activities assembles all that goes on in a participant's session.
func (p *Participant) activities() []activity {
	s := p.study
	list := []activity{p.evoked(), p.blinks()}

	rng := s.draw(p.number, forBackground)
	background := &ongoing[*aperiodic]{pattern: scaled(s.background, backgroundSize*variation(rng, ongoingSpread)),
		rng: rng}
	for range s.background {
		background.noises = append(background.noises, newAperiodic(rng))
	}
	rng = s.draw(p.number, forAlpha)
	alpha := &ongoing[*rhythm]{pattern: scaled(s.alpha, alphaSize*variation(rng, ongoingSpread)), rng: rng}
	frequency := alphaFrequency + alphaSpread*rng.NormFloat64()
	for range s.alpha {
		alpha.noises = append(alpha.noises, newRhythm(rng, frequency, alphaWidth))
	}
	list = append(list, background, alpha, newHum(s.draw(p.number, forHum), siteCount, sensorCount))
	for _, b := range p.brought() {
		list = append(list, b.activity)
	}
	for _, site := range p.Failing {
		list = append(list, p.failing(site))
	}
	return list
}

// evoked is the participant's response to all the flags.
func (p *Participant) evoked() *triggered {
	a := &triggered{pattern: p.response.pattern, courses: p.response.courses}
	for _, e := range p.events {
		if k := slices.Index(conditions(), e.Text); k >= 0 {
			a.onsets = append(a.onsets, e.Onset)
			a.gains = append(a.gains, p.response.moments[k])
		}
	}
	return a
}

func (p *Participant) blinks() *triggered {
	rng := p.study.draw(p.number, forBlinks)
	a := &triggered{pattern: p.study.blink, courses: []course{blinkCourse}}
	a.onsets = renewals(rng, 0, float64(p.seconds), blinkDead, blinkWait)
	for range a.onsets {
		a.gains = append(a.gains, []float64{blinkSize * variation(rng, blinkSpread)})
	}
	return a
}

func (p *Participant) failing(site string) *triggered {
	rng := p.study.draw(p.number, forFailing)
	pattern := make([]float64, sensorCount)
	pattern[p.study.scalp.index[site]] = 1
	a := &triggered{pattern: [][]float64{pattern}, courses: []course{failingCourse}}
	a.onsets = renewals(rng, 0, float64(p.seconds), 0, failingWait)
	for range a.onsets {
		a.gains = append(a.gains, []float64{failingSize * rng.NormFloat64()})
	}
	return a
}

// newAlpha returns the patterns of the posterior rhythm: three generators of
// equal moment, with a mean variance of 1 over the sites at the back of the
// head in average reference.
func newAlpha(s *scalp) ([][]float64, error) {
	var dipoles []forward.Dipole
	for _, place := range []r3.Vec{{X: -0.40, Y: -0.85, Z: 0.25}, {Y: -0.90, Z: 0.35},
		{X: 0.40, Y: -0.85, Z: 0.25}} {
		dipoles = append(dipoles, generator{direction: place, depth: 0.65, moment: place}.dipole())
	}
	patterns, err := s.patterns(dipoles)
	if err != nil {
		return nil, err
	}
	normalise(patterns, []string{"POz", "O1", "Oz", "O2"}, s)
	return patterns, nil
}

// newBlink returns the one pattern of a blink: the lids slide over both eyes'
// standing potential, like a pair of dipoles that point forwards and up. It
// is 1 at Fpz against the mastoids.
func newBlink(s *scalp) ([][]float64, error) {
	pattern, err := s.eyes(func(right float64) r3.Vec { return direction(right, 25) })
	if err != nil {
		return nil, err
	}
	floats.Scale(1/(pattern[s.index["Fpz"]]-(pattern[mastoid1]+pattern[mastoid2])/2), pattern)
	return [][]float64{pattern}, nil
}

// eyes is the pattern of a pair of dipoles at the eyes, each so many degrees to
// the right, whose moments point as given.
func (s *scalp) eyes(moment func(right float64) r3.Vec) ([]float64, error) {
	var dipoles []forward.Dipole
	for _, right := range []float64{-20, 20} {
		eye := generator{direction: direction(right, -25), depth: 0.86, moment: moment(right)}
		dipoles = append(dipoles, eye.dipole())
	}
	rows, err := s.patterns(dipoles)
	if err != nil {
		return nil, err
	}
	floats.Add(rows[0], rows[1])
	return rows[0], nil
}
