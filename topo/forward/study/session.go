package study

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"calotte/topo/recording"
)

// Reference is what the recordings are measured against: the mean of both
// mastoids.
const Reference = "(M1+M2)/2"

// EyeChannel is the label of the eye channel: above minus below the right eye.
const EyeChannel = "EOG VEOG"

// resolution is the step of the recordings in µV: a twelfth of the sensors'
// noise.
const resolution = 0.05

// Events returns the flags ([Known], [Novel]) and the pause ([Pause]) in the
// order of time.
func (p *Participant) Events() []recording.Event { return slices.Clone(p.events) }

// Header describes the participant's recording.
func (p *Participant) Header() recording.Header {
	start := time.Date(2026, time.January, 4+p.number, 9, 30, 0, 0, time.UTC)
	h := recording.Header{
		Patient: p.ID + " X X X synthetic",
		Recording: fmt.Sprintf("Startdate %s X X synthetic reference_%s",
			strings.ToUpper(start.Format("02-Jan-2006")), Reference),
		Start:          start,
		Kind:           recording.EDFPlusC,
		Records:        p.seconds,
		RecordDuration: 1,
	}
	for _, site := range sites() {
		h.Signals = append(h.Signals, signal(site, "synthetic, against "+Reference))
	}
	h.Signals = append(h.Signals, signal(EyeChannel, "synthetic, above minus below the right eye"))
	return h
}

func signal(label, origin string) recording.Signal {
	return recording.Signal{
		Label: label, Transducer: origin, Unit: "uV", Prefilter: "none",
		PhysicalMin: resolution * math.MinInt16, PhysicalMax: resolution * math.MaxInt16,
		DigitalMin: math.MinInt16, DigitalMax: math.MaxInt16,
		SamplesPerRecord: SampleRate,
	}
}

// Write simulates the session and writes it as an EDF+C file, a second at a
// time: memory does not grow with its length. Different participants may be
// written at the same time.
func (p *Participant) Write(w io.Writer) error {
	h := p.Header()
	events, room, err := h.Distribute(p.events)
	if err != nil {
		return err
	}
	h.AnnotationBytes = room
	out, err := recording.NewWriter(w, h)
	if err != nil {
		return err
	}
	channels := make([][]float64, len(h.Signals))
	for i := range channels {
		channels[i] = make([]float64, SampleRate)
	}
	s := p.simulation()
	for i := range events {
		s.next(channels)
		if err := out.WriteRecord(channels, events[i]); err != nil {
			return err
		}
	}
	return out.Close()
}
