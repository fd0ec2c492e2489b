package intake

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"calotte/topo/recording"
	"calotte/topo/recording/trigger"
	"calotte/topo/unit"
)

// Codes is a flag that names a channel of trigger codes: CHANNEL or
// CHANNEL&MASK.
type Codes struct {
	channel string
	Mask    uint32
}

func (t *Codes) Set(text string) error {
	channel, mask, masked := strings.Cut(text, "&")
	channel = strings.TrimSpace(channel)
	bits := uint64(trigger.StatusMask)
	if masked {
		var err error
		if bits, err = strconv.ParseUint(strings.TrimSpace(mask), 0, 32); err != nil || bits == 0 {
			return fmt.Errorf("%q: expected the bits as a number behind the &, such as 0xff", text)
		}
	}
	if channel == "" {
		return fmt.Errorf("%q: expected a channel, such as Status", text)
	}
	*t = Codes{channel, uint32(bits)}
	return nil
}

func (t Codes) String() string {
	if t.channel == "" || t.Mask == trigger.StatusMask {
		return t.channel
	}
	return fmt.Sprintf("%s&%#x", t.channel, t.Mask)
}

func (t Codes) Type() string { return "channel" }

// apply puts the codes in place of the recording's events.
func (t Codes) apply(rec *recording.Recording) error {
	if t.channel == "" {
		return nil
	}
	signal, err := signalNamed(rec, t.channel)
	if err != nil {
		return err
	}
	events, err := trigger.Codes(rec, signal, t.Mask)
	if err != nil {
		return err
	}
	if n := len(rec.Events); n > 0 {
		rec.Notes = append(rec.Notes,
			fmt.Sprintf("%d other events are left aside: %s has %d", n, t.channel, len(events)))
	}
	rec.Events = events
	return nil
}

// Onsets is a flag that makes events of a channel that crosses a level:
// CHANNEL>LEVEL or CHANNEL<LEVEL, and a dead time behind a slash.
type Onsets struct {
	Channel string
	edge    trigger.Edge
	level   string
	dead    unit.Time
}

func (o *Onsets) Set(text string) error {
	at := strings.IndexAny(text, "<>")
	if at <= 0 {
		return fmt.Errorf("%q: expected CHANNEL>LEVEL or CHANNEL<LEVEL, such as 'Photo>2mV'", text)
	}
	level, dead, paused := strings.Cut(text[at+1:], "/")
	parsed := Onsets{Channel: strings.TrimSpace(text[:at]), level: strings.TrimSpace(level)}
	if text[at] == '<' {
		parsed.edge = trigger.Falling
	}
	if paused {
		if err := parsed.dead.Set(strings.TrimSpace(dead)); err != nil {
			return err
		}
	}
	if _, err := parsed.LevelIn("uV"); err != nil {
		return err
	}
	if parsed.Channel == "" || parsed.dead < 0 {
		return fmt.Errorf("%q: expected a channel, and a pause of zero or more", text)
	}
	*o = parsed
	return nil
}

func (o Onsets) String() string {
	if o.Channel == "" {
		return ""
	}
	text := o.Channel + map[trigger.Edge]string{trigger.Rising: ">", trigger.Falling: "<"}[o.edge] + o.level
	if o.dead > 0 {
		text += "/" + o.dead.String()
	}
	return text
}

func (o Onsets) Type() string { return "crossing" }

// LevelIn is the level in a channel's unit: a bare number is in that unit
// already.
func (o Onsets) LevelIn(channelUnit string) (float64, error) {
	if bare, err := strconv.ParseFloat(o.level, 64); err == nil && bare-bare == 0 {
		return bare, nil
	}
	var level unit.Voltage
	if err := level.Set(o.level); err != nil {
		return 0, err
	}
	gain, err := recording.Microvolts(channelUnit)
	if err != nil {
		return 0, fmt.Errorf("%q is no voltage (%w): give the level as a bare number, in the channel's own unit",
			o.Channel, err)
	}
	return float64(level) / gain, nil
}

// find returns the channel's crossings, labelled by its name.
func (o Onsets) find(rec *recording.Recording) ([]recording.Event, error) {
	signal, err := signalNamed(rec, o.Channel)
	if err != nil {
		return nil, err
	}
	level, err := o.LevelIn(rec.Signals[signal].Unit)
	if err != nil {
		return nil, err
	}
	return trigger.Crossings(rec, signal,
		trigger.Threshold{Level: level, Edge: o.edge, Dead: o.dead, Label: o.Channel})
}

// apply adds the crossings to the recording's events.
func (o Onsets) apply(rec *recording.Recording) error {
	if o.Channel == "" {
		return nil
	}
	events, err := o.find(rec)
	if err != nil {
		return err
	}
	rec.Events = append(slices.Clone(rec.Events), events...)
	slices.SortStableFunc(rec.Events, func(a, b recording.Event) int { return cmp.Compare(a.Onset, b.Onset) })
	return nil
}

// signalNamed returns the signal with a label, without regard to case and
// blanks.
func signalNamed(rec *recording.Recording, label string) (int, error) {
	var labels []string
	for i, s := range rec.Signals {
		if strings.EqualFold(strings.TrimSpace(s.Label), strings.TrimSpace(label)) {
			return i, nil
		}
		labels = append(labels, s.Label)
	}
	const most = 12
	list := strings.Join(labels[:min(most, len(labels))], " ")
	if more := len(labels) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return 0, fmt.Errorf("no channel %q: there are %s", label, list)
}
