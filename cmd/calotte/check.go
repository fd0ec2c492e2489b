package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/erp"
	"calotte/topo/erp/cause"
	"calotte/topo/erp/reject"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/recording/trigger"
	"calotte/topo/unit"
)

// checkFlags say what an average of the checked recording would be.
type checkFlags struct {
	on     bool
	events event.Selector
	epoch  unit.Span
	reject unit.Voltage
	mains  unit.Frequency
	head   wearer.Flags
}

func (f *checkFlags) register(c *cobra.Command) {
	f.epoch, f.reject = unit.Span{From: -0.2, To: 0.8}, 150
	flags := c.Flags()
	flags.BoolVar(&f.on, "check", false, "look into the samples, before the wearer leaves")
	flags.Var(&f.events, "of", "with --check: the EVENTS that will be averaged (default: all)")
	flags.Var(&f.epoch, "epoch", "with --check: time around them")
	flags.Var(&f.reject, "reject", "with --check: epochs that swing by more than this count as lost")
	flags.Var(&f.mains, "mains", "with --check: the mains frequency (default: the louder of 50Hz and 60Hz)")
	session.Optional(flags, "mains")
	f.head.Register(c)
}

func (f *checkFlags) validate(c *cobra.Command) error {
	if f.on {
		if f.reject <= 0 {
			return console.Usagef("--reject %v: expected more than 0, such as 150uV", f.reject)
		}
		return nil
	}
	if flags := intake.Given(c.Flags(), "of", "epoch", "reject", "mains"); flags != nil {
		return console.Usagef("--%s is for --check: add that", flags[0])
	}
	if head := wearer.HeadGiven(c); head != "" {
		return console.Usagef("--%s is for --check: add that", head)
	}
	return nil
}

// checkRecordings checks recordings one after the other.
func (a *app) checkRecordings(c *cobra.Command, f contentsFlags, recordings []*intake.Recording) error {
	head, err := f.check.head.Read(a.Session, c)
	if err != nil {
		return err
	}
	var all []checkedFile
	for _, r := range recordings {
		one, err := f.check.check(c, r, head, f.inputs.Onsets)
		if err != nil {
			return fmt.Errorf("%s: %w", r.Path, err)
		}
		all = append(all, one)
	}
	if f.format.JSON {
		return json.NewEncoder(a.Stdout).Encode(all)
	}
	var text bytes.Buffer
	for _, one := range all {
		one.print(&text)
	}
	_, err = a.Stdout.Write(text.Bytes())
	return err
}

// A checkedFile is what a check found in a file.
type checkedFile struct {
	File   string                 `json:"file"`
	Labels []recording.EventCount `json:"labels"`
	Gaps   int                    `json:"gaps"`
	Epoch  string                 `json:"epoch"`
	Limit  string                 `json:"limit"`
	Sensor *sensorLag             `json:"sensor,omitempty"`
	*erp.Checked
}

// A sensorLag says how late a sensor is against the other events, in s.
type sensorLag struct {
	Channel          string `json:"channel"`
	Count            int    `json:"measured"`
	Missing          int    `json:"missing"`
	Extra            int    `json:"extra"`
	Mean, SD         float64
	Smallest, Latest float64
}

func (f *checkFlags) check(c *cobra.Command, r *intake.Recording, head *wearer.Head,
	sensor intake.Onsets) (checkedFile, error) {
	wanted := func(e recording.Event) bool {
		return e.Text != sensor.Channel && (f.events.IsZero() || f.events.Match(e))
	}
	if !f.events.IsZero() {
		if err := f.events.Check(r.Events); err != nil {
			return checkedFile{}, fmt.Errorf("--of: %w", err)
		}
	}
	mains := f.mains
	if mains == 0 {
		mains = unit.Frequency(r.Mains)
	}
	checked, err := erp.Checkup{Surface: head.Surface, Mains: mains, Epoch: f.epoch, Swing: f.reject,
		Events: wanted}.Check(c.Context(), r.Input())
	if err != nil {
		return checkedFile{}, err
	}
	summary := r.Summary()
	out := checkedFile{File: filepath.Base(r.Path), Labels: summary.Events, Gaps: len(summary.Gaps),
		Epoch: f.epoch.String(), Limit: f.reject.String(), Checked: checked}
	if sensor.Channel != "" {
		out.Sensor = lagOf(r.Events, sensor.Channel, wanted)
	}
	return out, nil
}

// longestLag is how much later than its trigger a sensor may be.
const longestLag = 0.5 // s

func lagOf(events []recording.Event, channel string, wanted func(recording.Event) bool) *sensorLag {
	var triggers, sensor []recording.Event
	for _, e := range events {
		switch {
		case e.Text == channel:
			sensor = append(sensor, e)
		case wanted(e):
			triggers = append(triggers, e)
		}
	}
	l := trigger.Lag(triggers, sensor, longestLag)
	out := &sensorLag{Channel: channel, Count: len(triggers) - l.Missing, Missing: l.Missing, Extra: l.Extra}
	if out.Count > 0 {
		out.Mean, out.Smallest, out.Latest = l.Mean, l.Min, l.Max
	}
	if out.Count > 1 {
		out.SD = l.SD
	}
	return out
}

// print writes one screen.
func (c checkedFile) print(w io.Writer) {
	line := func(what, format string, args ...any) {
		console.Say(w, "  %-11s %s\n", what, console.Short(fmt.Sprintf(format, args...)))
	}
	console.Say(w, "%s: %s, %.0f s\n", c.File, console.Plural(c.Sites, "site", "sites"), c.Seconds)
	c.printElectrodes(line)
	if c.Mains > 0 {
		line("hum", "%g Hz: %.1f µV over all sites, %.1f µV at %s", c.Mains, c.Hum, c.HumWorst, c.HumSite)
	} else {
		line("hum", "cannot be seen at this sampling rate")
	}
	line("gaps", "%d", c.Gaps)
	c.printEvents(line)
	for i, text := range c.next() {
		console.Say(w, "%s: %s\n", []string{"next", "then"}[min(i, 1)], text)
	}
}

// mostLines keeps a check on one screen.
const mostLines = 10

func (c checkedFile) printElectrodes(line func(what, format string, args ...any)) {
	switch {
	case c.Screened != "":
		line("electrodes", "not looked at: %s", c.Screened)
	case len(c.Faults) == 0:
		line("electrodes", "none is flat, noisy or unlike its neighbours (left and right exchanged as a whole "+
			"cannot be seen)")
	}
	for _, f := range c.Faults[:min(mostLines, len(c.Faults))] {
		line("electrode", "%s", f)
	}
	if more := len(c.Faults) - mostLines; more > 0 {
		line("electrode", "and %d more", more)
	}
	sites := slices.SortedFunc(maps.Keys(c.Clipped), func(a, b string) int {
		if c.Clipped[a] != c.Clipped[b] {
			return int(math.Copysign(1, c.Clipped[b]-c.Clipped[a]))
		}
		return strings.Compare(a, b)
	})
	for _, s := range sites[:min(mostLines/2, len(sites))] {
		line("clipped", "%s: %.2g %% of the time at the end of its range", s, 100*c.Clipped[s])
	}
	if more := len(sites) - mostLines/2; more > 0 {
		line("clipped", "and %s more", console.Plural(more, "site", "sites"))
	}
}

func (c checkedFile) printEvents(line func(what, format string, args ...any)) {
	for _, e := range c.Labels[:min(mostLines, len(c.Labels))] {
		line("events", "%-12s %4d", console.Echo(e.Text), e.Count)
	}
	if more := len(c.Labels) - mostLines; more > 0 {
		line("events", "and %d labels more", more)
	}
	if s := c.Sensor; s != nil {
		line("sensor", "%s: %.1f ms after the trigger (sd %.1f, %.1f to %.1f ms) in %d, missing %d, extra %d",
			s.Channel, 1e3*s.Mean, 1e3*s.SD, 1e3*s.Smallest, 1e3*s.Latest, s.Count, s.Missing, s.Extra)
	}
	if c.Events == 0 {
		line("epochs", "there are no events to average around")
		return
	}
	line("epochs", "%d of %d usable (%s, average reference, limit %s)", c.Usable, c.Events, c.Epoch, c.Limit)
	for _, reason := range slices.Sorted(maps.Keys(c.Why)) {
		if reason != reject.PeakToPeak || c.LostTo == nil {
			line("lost", "%d %s", c.Why[reason], reason)
		}
	}
	for _, f := range c.LostTo {
		line("lost", "%s", f.Lost())
	}
	if c.Alone > 0 {
		line("lost", "%s alone swings too much in %d of these", c.Culprit, c.Alone)
	}
}

// mostAdvice keeps what is to be done to what a person remembers.
const mostAdvice = 3

// next is what to do while the wearer is there, the first thing first.
func (c checkedFile) next() []string {
	var texts []string
	for _, f := range c.Causes {
		texts = append(texts, f.Advice())
	}
	if len(c.Clipped) > 0 {
		texts = append(texts, "lower the amplifier's gain or see to the electrodes at the end of their range")
	}
	if c.Events == 0 {
		texts = append(texts, "check the trigger line: nothing marks the stimuli")
	}
	if 4*c.Usable < 3*c.Events {
		texts = append(texts, c.save()...)
	}
	if c.Sensor != nil && c.Sensor.Count > 0 && c.Sensor.Mean >= 0.0005 {
		texts = append(texts, fmt.Sprintf("average with --after-trigger %.0fms", 1e3*c.Sensor.Mean))
	}
	switch {
	case texts == nil:
		return []string{"nothing stands out"}
	case len(c.Causes) > 0 || len(c.Clipped) > 0:
		texts = append(texts[:min(mostAdvice, len(texts))], "record a minute and check again")
	}
	return texts
}

// save is what would keep more epochs.
func (c checkedFile) save() []string {
	var texts []string
	for _, f := range c.LostTo {
		told := slices.ContainsFunc(c.Causes, func(o cause.Found) bool { return o.Cause == f.Cause })
		if !told && 8*f.Total() >= c.Events-c.Usable {
			texts = append(texts, f.Advice())
		}
	}
	if c.LostTo == nil {
		return []string{"record more: too few epochs are usable"}
	}
	return texts[:min(mostAdvice, len(texts))]
}
