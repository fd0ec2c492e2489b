package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/render/canvas"
	"calotte/topo/erp"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/unmix"
	"calotte/topo/filter"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

type unmixFlags struct {
	inputs     intake.Flags
	conditions option.Conditions
	epoch      unit.Span
	filter     filter.Design
	eyes       option.EyeChannels
	leaveOut   option.Names
	restore    option.Site
	components int
	mains      unit.Frequency
	head       wearer.Flags
	name       string
	output     string
}

// Endings of the files that unmix writes.
const (
	decisionsEnding = "_unmix.tsv"
	weightsEnding   = "_unmix.json"
	sheetEnding     = "_unmix.pdf"
)

func (a *app) unmix() *cobra.Command {
	f := unmixFlags{inputs: intake.Flags{Places: a.Places}, epoch: unit.Span{From: -0.2, To: 0.8},
		filter: filter.Design{HighPass: 1}}
	c := &cobra.Command{
		Use:   "unmix RECORDING…|FOLDER",
		Short: "Take eyes, muscle, heart and mains apart from the rest",
		Long: `Unmix separates a person's recordings into independent components, by the largest
likelihood, and says what each looks like: a blink, a look sideways, muscle, the heart,
mains, one electrode, or none of these. Bad electrodes and gross seconds are left out.

It writes three files. STEM_unmix.pdf shows each component: its map, its mean course at
the events, its spectrum and its largest pieces, and at the end the data before and
after. STEM_unmix.tsv is yours to edit: a line a component, with remove yes or no and
the numbers behind it. STEM_unmix.json holds the weights. Then

  calotte average … --unmix STEM_unmix.tsv

takes out what the table says, and nothing else. Runs of one person are unmixed
together; average all of them, or some, with the same table.

Data of less than 20 samples for each square of the number of components are few:
--dimensions asks for fewer, those of the largest variance, and is quicker. What is taken
out then holds more of the brain: of ten pilots who only blink, planted peaks were off by
0.71 µV with 12 of 64 dimensions, 0.68 with 32, and 0.67 by regression.`,
		Example: `  calotte unmix calotte-demo/recordings --participant 01 --dimensions 20 -o unmixed
  calotte average calotte-demo/recordings --participant 01 --condition known=known \
    --unmix unmixed/sub-01_unmix.tsv --reference average --reject 150uV -o clean`,
		Args: session.AtLeast(1, "one recording or more"),
		RunE: func(c *cobra.Command, args []string) error { return a.runUnmix(c, f, args) },
	}
	flags := c.Flags()
	flags.Var(&f.conditions, "condition",
		"NAME=EVENTS: whose mean courses are drawn; repeat for more (default: all events together)")
	flags.Var(&f.epoch, "epoch", "time around the events to draw")
	flags.Var(&f.filter.HighPass, "highpass", "cut-off below which the data are filtered out before")
	flags.Var(&f.filter.LowPass, "lowpass", "cut-off above which they are, such as 45Hz")
	flags.Var(&f.filter.Notch, "notch", "mains frequency to take out before, with its multiples: 50Hz or 60Hz")
	flags.Var(&f.eyes, "eyes", "eye channels, the vertical one first, then the one sideways, such as VEOG,HEOG "+
		"(default: those that are labelled so; else sites at the forehead and the temples stand in)")
	flags.Var(&f.leaveOut, "leave-out", "SITE[,SITE]: bad electrodes that are not marked so")
	flags.Var(&f.restore, "restore-reference", "`SITE` against which was recorded, to be a site as well")
	flags.IntVar(&f.components, "dimensions", 0,
		"separate `N` dimensions, those of the largest variance (default: all that the data have)")
	flags.Var(&f.mains, "mains", "frequency of the mains: 50Hz or 60Hz (default: the louder)")
	flags.StringVar(&f.name, "name", "",
		"`STEM` that the files begin with (default: the participant, or the first recording)")
	flags.StringVarP(&f.output, "output", "o", "", "`FOLDER` for the files")
	session.Optional(flags, "lowpass", "notch", "restore-reference", "mains")
	f.inputs.Register(c)
	f.head.Register(c)
	option.ShowGroups(c,
		option.Group{Title: "Output", Names: []string{"output", "name"}},
		option.Group{Title: "How components are found",
			Names: []string{"dimensions", "highpass", "lowpass", "notch", "leave-out", "restore-reference",
				"eyes",
				"mains"}},
		option.Group{Title: "What is drawn of them", Names: []string{"condition", "epoch"}},
		option.Group{Title: "Where recordings and their events are found",
			Names: []string{"participant", "session", "task", "run", "events", "event-label", "codes",
				"onsets",
				"allow-truncated"}},
		option.Group{Title: "The head, for maps and the search for bad electrodes",
			Names: append([]string{"head", "scan", "landmarks", "scan-unit"}, wearer.TapeFlags...)},
	)
	return c
}

func (a *app) runUnmix(c *cobra.Command, f unmixFlags, args []string) error {
	if err := f.check(c); err != nil {
		return err
	}
	head, err := f.head.Read(a.Session, c)
	if err != nil {
		return err
	}
	recordings, closeAll, err := f.inputs.Open(args)
	defer closeAll()
	if err != nil {
		return err
	}
	people, err := intake.Pool(recordings, false)
	if err != nil {
		return err
	}
	if len(people) > 1 {
		return console.Usagef("these are sessions of one person, who may have worn another cap: unmix " +
			"each alone, " +
			"by --session")
	}
	person := people[0]
	if f.name != "" {
		person.Name = f.name
	}
	stem := filepath.Join(f.output, person.Name)
	out := a.Files(append(everyFile(recordings), head.Paths...))
	if err := out.Plan(stem+decisionsEnding, stem+sheetEnding, stem+weightsEnding); err != nil {
		return err
	}
	if err := intake.RefuseCopies(recordings); err != nil {
		return err
	}
	u, err := f.unmixing(recordings, head)
	if err != nil {
		return err
	}
	found, err := u.Run(c.Context(), person.Inputs()...)
	if err != nil {
		return person.Locate(err)
	}
	sources, err := person.Sources()
	if err != nil {
		return err
	}
	file := fileOf(person.Name, found)
	file.Provenance = a.Provenance(c, append(sources, head.Sources...))
	if err := f.put(out, stem, file, found, head, u.Conditions, synthetic(recordings)); err != nil {
		return err
	}
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	a.Warn(unmixWarnings(found, file))
	reportUnmixed(a.Summary(false), stem, file)
	return nil
}

// check finds what is wrong with the flags before any file is read.
func (f *unmixFlags) check(c *cobra.Command) error {
	if err := session.Required(c, "output", "-o unmixed"); err != nil {
		return err
	}
	if f.name != "" {
		if err := averages.CheckStem(f.name); err != nil {
			return err
		}
	}
	changed := c.Flags().Changed
	switch {
	case changed("dimensions") && f.components < 2:
		return console.Usagef("--dimensions %d: expected 2 or more", f.components)
	case f.filter.HighPass <= 0:
		return console.Usagef("--highpass %v: expected more than 0, such as 1Hz: slow drifts would be "+
			"the components",
			f.filter.HighPass)
	case changed("lowpass") && f.filter.LowPass <= f.filter.HighPass:
		return console.Usagef("--highpass %v and --lowpass %v let nothing through: the first has to be lower",
			f.filter.HighPass, f.filter.LowPass)
	case len(f.eyes) > 2:
		return console.Usagef("--eyes names %d channels: expected the vertical one and the one sideways",
			len(f.eyes))
	}
	return nil
}

// anyCondition is what all events together are called.
const anyCondition = "events"

// unmixing is what the flags ask for.
func (f *unmixFlags) unmixing(recordings []*intake.Recording, head *wearer.Head) (erp.Unmixing, error) {
	u := erp.Unmixing{Conditions: f.conditions, Epoch: f.epoch, Filter: f.filter, Eyes: f.eyes,
		Restore: layout.Name(f.restore), LeaveOut: f.leaveOut, Surface: head.Surface, Components: f.components,
		Mains: f.mains}
	events := intake.Events(recordings)
	if u.Conditions != nil {
		if err := erp.CheckConditions(u.Conditions, events); err != nil {
			return u, err
		}
	} else if len(events) > 0 {
		var labels []string
		for _, e := range events {
			if !slices.Contains(labels, e.Text) {
				labels = append(labels, e.Text)
			}
		}
		u.Conditions = []erp.Condition{{Name: anyCondition, Events: event.Labels(labels...)}}
	}
	if u.Eyes == nil {
		labels, err := eyeLabels(recordings)
		if err != nil {
			return u, err
		}
		u.Eyes = eyesOf(labels)
	}
	if f.mains == 0 {
		u.Mains = unit.Frequency(recordings[0].Mains)
	}
	return u, nil
}

// eyeLabels are those of the eye channels that all recordings have, at the rate
// of their sites and in volts.
func eyeLabels(recordings []*intake.Recording) ([]string, error) {
	var common []string
	for k, r := range recordings {
		m, err := montage.New(r.Signals, montage.Options{Aside: r.Input().NoEEG()})
		if err != nil {
			return nil, fmt.Errorf("%s: %w", r.Path, err)
		}
		serves := func(label string) bool {
			return slices.ContainsFunc(r.Signals, func(s recording.Signal) bool {
				_, err := recording.Microvolts(s.Unit)
				return err == nil && strings.EqualFold(eye.WithoutType(s.Label), label) &&
					s.SamplesPerRecord == r.Signals[m.Signals[0]].SamplesPerRecord
			})
		}
		if k == 0 {
			common = eye.Channels(m)
		}
		common = slices.DeleteFunc(common, func(label string) bool { return !serves(label) })
	}
	return common, nil
}

// eyesOf are the vertical channel and the one sideways among eye channels, the
// first without an H in its label and the first with one; nil where there is no
// vertical one.
func eyesOf(labels []string) []eye.Channel {
	var vertical, sideways []eye.Channel
	for _, label := range labels {
		if strings.ContainsAny(label, "Hh") {
			sideways = append(sideways, eye.Channel{Plus: label})
		} else {
			vertical = append(vertical, eye.Channel{Plus: label})
		}
	}
	if vertical == nil {
		return nil
	}
	return append(vertical[:1:1], sideways[:min(1, len(sideways))]...)
}

func synthetic(recordings []*intake.Recording) bool {
	return slices.ContainsFunc(recordings, func(r *intake.Recording) bool {
		return strings.Contains(strings.ToLower(r.Header.Recording), "synthetic")
	})
}

// fileOf is the separation as it is kept.
func fileOf(name string, u *erp.Unmixed) *unmix.File {
	file := &unmix.File{Name: name, Rows: u.Rows, Reference: u.Reference, Rate: u.Rate, Filter: u.Filter,
		Seconds: u.Seconds, Gross: u.Gross, Vertical: u.EyeSource[0], Horizontal: u.EyeSource[1]}
	for _, r := range u.LeftOut {
		file.LeftOut = append(file.LeftOut, unmix.Bad{Site: r.Site, Reason: r.Reason})
	}
	file.Tell(u.Separation, u.Traits)
	return file
}

// put draws and writes what was found.
func (f *unmixFlags) put(out *disk.Files, stem string, file *unmix.File, found *erp.Unmixed, head *wearer.Head,
	conditions []erp.Condition, synthetic bool) error {
	var table, sheet bytes.Buffer
	if err := unmix.WriteDecisions(&table, file); err != nil {
		return err
	}
	pages, err := unmixedPages(file, found, head, conditions, synthetic)
	if err != nil {
		return err
	}
	if err := canvas.WriteDocument(&sheet, pages, canvas.PDF, file.Provenance); err != nil {
		return err
	}
	weights, err := json.MarshalIndent(file, "", " ")
	if err != nil {
		return err
	}
	out.Put(stem+decisionsEnding, table.Bytes())
	out.Put(stem+sheetEnding, sheet.Bytes())
	out.Put(stem+weightsEnding, append(weights, '\n'))
	return nil
}
