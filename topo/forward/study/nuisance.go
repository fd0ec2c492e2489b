package study

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r3"
)

// Three participants bring what real people bring: one blinks a lot and looks
// about, one clenches the jaw and looks about, and one has a loose ground.
// Sizes are those of bad recordings (common practice, no source).
const (
	restless = 3
	tense    = 6
	humming  = 10

	restlessBlinks = 4.0  // times as many as others, and half as large again
	lookSize       = 70.0 // µV at F8 minus F7, sd of where the eyes rest
	lookWait       = 0.9  // s
	lookRamp       = 0.04 // s

	tenseSize = 35.0 // µV at the temple, sd while it is tense
	tenseWait = 6.0  // s between bursts, and
	tenseDead = 3.0  // s, which one lasts
	temple    = "FT7"
	farTemple = "FT8"
	templeMM  = 25.0 // how far its muscle spreads, sd

	loudHum = 30.0 // µV at a site, on average
)

// What a participant brings beside brain, sensors and blinks.
const (
	Blinks = "blinks"
	Looks  = "looks"
	Muscle = "muscle"
	Mains  = "mains"
)

// A Nuisance is something that was planted in a participant's session to be
// taken out.
type Nuisance struct {
	Participant string
	What        string  // [Blinks], [Looks], [Muscle] or [Mains]
	Site        string  // where it is told, or a pair
	Size        float64 // µV there: of a blink, sd of looks and muscle, amplitude of the mains
	Count       int     // of blinks, looks and bursts; 0: it never stops
}

// Nuisances are those of the three participants who bring more than their
// blinks. They have nothing to do with the flags.
func (s *Study) Nuisances() []Nuisance {
	var list []Nuisance
	for _, p := range s.participants {
		for _, b := range p.brought() {
			list = append(list, b.told)
		}
	}
	return list
}

// A brought is a nuisance and what makes it.
type brought struct {
	told     Nuisance
	activity activity
}

// brought are the nuisances of a participant.
func (p *Participant) brought() []brought {
	var list []brought
	add := func(what, site string, size float64, count int, a activity) {
		list = append(list, brought{Nuisance{p.ID, what, site, size, count}, a})
	}
	if p.number == restless {
		a := p.manyBlinks()
		add(Blinks, "Fpz", 1.5*blinkSize, len(a.onsets), a)
	}
	if p.number == restless || p.number == tense {
		a := p.looks()
		add(Looks, "F8-F7", lookSize, len(a.at), a)
	}
	if p.number == tense {
		a := p.tension()
		add(Muscle, temple, tenseSize, len(a.from), a)
	}
	if p.number == humming {
		add(Mains, "Cz", loudHum, 0, p.loudHum())
	}
	return list
}

func (p *Participant) manyBlinks() *triggered {
	rng := p.study.draw(p.number, forMoreBlinks)
	a := &triggered{pattern: p.study.blink, courses: []course{blinkCourse}}
	a.onsets = renewals(rng, 0, float64(p.seconds), blinkDead/restlessBlinks, blinkWait/restlessBlinks)
	for range a.onsets {
		a.gains = append(a.gains, []float64{1.5 * blinkSize * variation(rng, blinkSpread)})
	}
	return a
}

// looks are where the eyes rest, one after the other.
type looks struct {
	pattern [][]float64
	at      []float64 // s, when they move
	to      []float64 // µV, where to
}

func (p *Participant) looks() *looks {
	rng := p.study.draw(p.number, forLooks)
	a := &looks{pattern: p.study.look, at: renewals(rng, 0, float64(p.seconds), 4*lookRamp, lookWait)}
	for range a.at {
		a.to = append(a.to, lookSize*rng.NormFloat64())
	}
	return a
}

func (a *looks) patterns() [][]float64 { return a.pattern }

func (a *looks) fill(first int, rows [][]float64) {
	from, k := 0.0, -1
	for i := range rows[0] {
		now := float64(first+i) / SampleRate
		for k+1 < len(a.at) && a.at[k+1] <= now {
			if k >= 0 {
				from = a.to[k]
			}
			k++
		}
		rows[0][i] = 0
		if k >= 0 {
			rows[0][i] = from + (a.to[k]-from)*min(1, (now-a.at[k])/lookRamp)
		}
	}
}

// tension is muscle: noise without its slow part, while it is tense.
type tension struct {
	pattern [][]float64
	from    []float64 // s, when bursts begin
	rng     *rand.Rand
	last    float64
}

func (p *Participant) tension() *tension {
	rng := p.study.draw(p.number, forMuscle)
	return &tension{pattern: p.study.muscle, from: renewals(rng, 0, float64(p.seconds), tenseDead, tenseWait),
		rng: rng}
}

func (a *tension) patterns() [][]float64 { return a.pattern }

func (a *tension) fill(first int, rows [][]float64) {
	for i := range rows[0] {
		noise := a.rng.NormFloat64()
		fast := (noise - a.last) / math.Sqrt2
		a.last = noise
		rows[0][i] = 0
		now := float64(first+i) / SampleRate
		for _, from := range a.from {
			if now >= from && now < from+tenseDead {
				rows[0][i] = tenseSize * fast
			}
		}
	}
}

// loudHum is that of a loose ground: in phase at all sites, as large as each
// takes it up.
func (p *Participant) loudHum() *hum {
	rng := p.study.draw(p.number, forLoudHum)
	h := &hum{pattern: [][]float64{make([]float64, sensorCount), make([]float64, sensorCount)},
		frequency: 50 + 0.01*rng.NormFloat64()}
	for i := range siteCount {
		h.pattern[0][i] = loudHum * variation(rng, 0.3)
	}
	return h
}

// newLook returns the pattern of a look to the right: the standing potentials
// of both eyes turn, like a pair of dipoles that point to the right. It is 1 at
// F8 minus F7.
func newLook(s *scalp) ([][]float64, error) {
	pattern, err := s.eyes(func(float64) r3.Vec { return r3.Vec{X: 1} })
	if err != nil {
		return nil, err
	}
	floats.Scale(1/(pattern[s.index["F8"]]-pattern[s.index["F7"]]), pattern)
	return [][]float64{pattern}, nil
}

// newMuscle returns the pattern of a clenched jaw, which lies outside of the
// skull, so that no dipole within it stands for it: 1 at the left temple, a
// third at the right one, and less with the distance from either.
func newMuscle(s *scalp) [][]float64 {
	pattern := make([]float64, sensorCount)
	for _, side := range []struct {
		site string
		size float64
	}{{temple, 1}, {farTemple, 1. / 3}} {
		at := s.sensors[s.index[side.site]]
		for i, place := range s.sensors {
			d := r3.Norm(r3.Sub(place, at)) / templeMM
			pattern[i] += side.size * math.Exp(-d*d/2)
		}
	}
	return [][]float64{pattern}
}
