package study

import (
	"fmt"
	"math/rand/v2"

	"calotte/topo/recording"
)

// SampleRate of the recordings in Hz.
const SampleRate = 250

const participantCount = 12

// A Study is an invented study, synthetic throughout: pilots at a harbour
// school look at signal flags, which they have learnt ([Known]) or never seen
// ([Novel]). Twelve participants, all with the same spherical head of four
// shells, are recorded at 64 sites of the 10-10 system against the mean of both
// mastoids, with an eye channel.
//
// A recording is the sum of what the flags evoke (an early positivity over
// visual cortex, a negativity near 170 ms over P7 and P8 that is larger for
// known flags and on the right, a late parietal positivity), a 1/f background
// of random cortical dipoles, the alpha rhythm, blinks, mains hum and the
// sensors' white noise. One participant has a failing electrode, and three
// bring more than that: see [Study.Nuisances]. Every flag
// evokes the same response in one person; people differ in size, latency and
// place of theirs. As all of it is computed, so is the truth: see
// [Study.Truth].
type Study struct {
	Seed         uint64
	scalp        *scalp
	background   [][]float64
	alpha        [][]float64
	blink        [][]float64
	look         [][]float64
	muscle       [][]float64
	participants []*Participant
}

// New draws the study of a seed: the same seed gives the same bytes.
func New(seed uint64) (*Study, error) {
	s := &Study{Seed: seed}
	var err error
	if s.scalp, err = newScalp(); err != nil {
		return nil, err
	}
	if s.background, err = newBackground(s.draw(0, forBackground), s.scalp); err != nil {
		return nil, err
	}
	if s.alpha, err = newAlpha(s.scalp); err != nil {
		return nil, err
	}
	if s.blink, err = newBlink(s.scalp); err != nil {
		return nil, err
	}
	if s.look, err = newLook(s.scalp); err != nil {
		return nil, err
	}
	s.muscle = newMuscle(s.scalp)
	moments, err := plantedMoments(s.scalp)
	if err != nil {
		return nil, err
	}
	for number := 1; number <= participantCount; number++ {
		p := &Participant{ID: fmt.Sprintf("sub-%02d", number), study: s, number: number}
		if p.response, err = newResponse(s.draw(number, forResponse), s.scalp, moments); err != nil {
			return nil, fmt.Errorf("%s: %w", p.ID, err)
		}
		p.events, p.seconds = schedule(s.draw(number, forSchedule))
		if number == failingParticipant {
			p.Failing = []string{failingSite}
		}
		for _, b := range p.brought() {
			p.Brings = append(p.Brings, b.told.What)
		}
		s.participants = append(s.participants, p)
	}
	return s, nil
}

// Participants returns the people of the study, in order.
func (s *Study) Participants() []*Participant { return s.participants }

// A Participant is one invented person's session.
type Participant struct {
	ID      string   // "sub-01" to "sub-12"
	Failing []string // sites whose electrode failed
	Brings  []string // what there is to take out beside a few blinks, see [Study.Nuisances]

	study    *Study
	number   int
	response *response
	events   []recording.Event
	seconds  int
}

// A purpose keeps the random numbers of one part of a session apart from
// those of the others.
type purpose uint64

const (
	forResponse purpose = iota
	forSchedule
	forBackground
	forAlpha
	forBlinks
	forHum
	forSensors
	forFailing
	forMoreBlinks
	forLooks
	forMuscle
	forLoudHum
)

// draw returns the random numbers of a participant for a purpose; participant
// 0 is the study itself.
func (s *Study) draw(participant int, why purpose) *rand.Rand {
	return rand.New(rand.NewPCG(s.Seed, uint64(participant)<<8|uint64(why)))
}
