package erp

import (
	"fmt"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/recording"
)

// An Eye is a channel of eye movements, by the label of its signal, or the difference
// of two: above the eye minus below.
type Eye struct{ Plus, Minus string }

// Set reads LABEL or LABEL-LABEL. A label with a hyphen stands in double quotes.
func (e *Eye) Set(text string) error {
	plus, rest, err := eyeLabel(text)
	if err != nil {
		return err
	}
	minus := ""
	if rest != "" {
		if minus, rest, err = eyeLabel(strings.TrimPrefix(rest, "-")); err != nil {
			return err
		}
	}
	if rest != "" {
		return fmt.Errorf("eye channel %q: expected one label, or two with a hyphen between", text)
	}
	*e = Eye{plus, minus}
	return nil
}

// eyeLabel takes a label off the front of a text.
func eyeLabel(text string) (label, rest string, err error) {
	text = strings.TrimSpace(text)
	end := strings.IndexByte(text, '-')
	if quoted, ok := strings.CutPrefix(text, `"`); ok {
		label, rest, ok = strings.Cut(quoted, `"`)
		if rest = strings.TrimSpace(rest); !ok || rest != "" && rest[0] != '-' {
			return "", "", fmt.Errorf("eye channel %q: expected a closing quote, then nothing or a hyphen", text)
		}
	} else if end >= 0 {
		label, rest = text[:end], text[end:]
	} else {
		label = text
	}
	if label = strings.TrimSpace(label); label == "" || rest == "-" {
		return "", "", fmt.Errorf("eye channel %q: expected a signal's label, or two such as VEOGu-VEOGl", text)
	}
	return label, rest, nil
}

// String writes the channel so that Set reads it as the same.
func (e Eye) String() string {
	texts := []string{quoteHyphen(e.Plus)}
	if e.Minus != "" {
		texts = append(texts, quoteHyphen(e.Minus))
	}
	return strings.Join(texts, "-")
}

func quoteHyphen(label string) string {
	if strings.Contains(label, "-") {
		return `"` + label + `"`
	}
	return label
}

// eyes are the eye channels of a recording; nil: none.
type eyes struct {
	read  []int // signals beside the montage's
	gains []float64
	sums  [][]montage.Term // each channel as a sum of the montage's signals and those read beside
}

// newEyes finds the channels among the signals, by label and without regard to case.
func newEyes(channels []Eye, signals []recording.Signal, m *montage.Montage) (*eyes, error) {
	if len(channels) == 0 {
		return nil, nil
	}
	e := &eyes{}
	for _, c := range channels {
		var sum []montage.Term
		for _, part := range []struct {
			label  string
			weight float64
		}{{c.Plus, 1}, {c.Minus, -1}} {
			if part.label == "" {
				continue
			}
			at, err := e.find(part.label, signals, m)
			if err != nil {
				return nil, fmt.Errorf("eye channel %v: %w", c, err)
			}
			sum = append(sum, montage.Term{Signal: at, Weight: part.weight})
		}
		e.sums = append(e.sums, sum)
	}
	return e, nil
}

// find returns the index of a signal among those that are read, and adds it to them
// where it is not.
func (e *eyes) find(label string, signals []recording.Signal, m *montage.Montage) (int, error) {
	i := slices.IndexFunc(signals, func(s recording.Signal) bool { return strings.EqualFold(s.Label, label) })
	if i < 0 {
		i = slices.IndexFunc(signals, func(s recording.Signal) bool { return strings.EqualFold(withoutType(s.Label), label) })
	}
	if i < 0 {
		return 0, fmt.Errorf("no signal is labelled %q: %s", label, besideSites(m))
	}
	if k := slices.Index(append(slices.Clone(m.Signals), e.read...), i); k >= 0 {
		return k, nil
	}
	if signals[i].SamplesPerRecord != signals[m.Signals[0]].SamplesPerRecord {
		return 0, fmt.Errorf("the rate of %q is not that of the scalp sites", signals[i].Label)
	}
	gain, err := recording.Microvolts(signals[i].Unit)
	if err != nil {
		return 0, fmt.Errorf("signal %q: %w", signals[i].Label, err)
	}
	e.read, e.gains = append(e.read, i), append(e.gains, gain)
	return len(m.Signals) + len(e.read) - 1, nil
}

// withoutType is the label of a signal without the type before it, as EDF+ writes it:
// "EOG VEOG".
func withoutType(label string) string {
	if l, err := layout.ParseLabel(label); err == nil && l.Kind == layout.SignalLabel {
		if rest, ok := strings.CutPrefix(label, l.Type+" "); ok {
			return strings.TrimSpace(rest)
		}
	}
	return label
}

// EyeChannels are the labels of the signals that are of the type EOG, without it, a
// vertical one (with a V) first: what blinks can be taken out by.
func EyeChannels(m *montage.Montage) []string {
	var vertical, others []string
	for _, a := range m.Aside {
		l, err := layout.ParseLabel(a.Label)
		if err != nil || l.Kind != layout.SignalLabel || l.Type != "EOG" {
			continue
		}
		name := withoutType(strings.TrimSpace(a.Label))
		if strings.Contains(strings.ToUpper(name), "V") {
			vertical = append(vertical, name)
		} else {
			others = append(others, name)
		}
	}
	return append(vertical, others...)
}

// besideSites lists the signals among which eye channels are, mostly.
func besideSites(m *montage.Montage) string {
	var labels []string
	for _, a := range m.Aside {
		labels = append(labels, a.Label)
	}
	if labels == nil {
		return "all signals are scalp sites, of which one near the eyes can be named, such as Fp1"
	}
	const most = 8
	if len(labels) > most {
		labels = append(labels[:most:most], "…")
	}
	return "beside the scalp sites there are " + strings.Join(labels, ", ")
}

// cautions name the sites that serve as eye channels as well.
func (e *eyes) cautions(m *montage.Montage) []string {
	if e == nil {
		return nil
	}
	var sites []string
	for i, s := range m.Sites {
		for _, sum := range e.sums {
			if m.Mix == nil && slices.ContainsFunc(sum, func(t montage.Term) bool { return t.Signal == i }) {
				sites = list.AppendNew(sites, s)
			}
		}
	}
	if sites == nil {
		return nil
	}
	return []string{strings.Join(sites, " ") + " serves as an eye channel: what it picks up of the brain goes with the blinks everywhere, and at itself nearly all"}
}

// signals are those to be read beside the montage's.
func (e *eyes) signals() []int {
	if e == nil {
		return nil
	}
	return e.read
}

// channels returns the eye channels of an epoch, channel × sample, from its signals
// in µV.
func (e *eyes) channels(signals [][]float64) [][]float64 {
	out := matrix.New(len(e.sums), len(signals[0]))
	for i, sum := range e.sums {
		for _, term := range sum {
			for t, x := range signals[term.Signal] {
				out[i][t] += term.Weight * x
			}
		}
	}
	return out
}

// describeEyes says in words how blinks were taken out.
func describeEyes(channels []Eye, e *EyeCoefficients) string {
	texts := make([]string, len(channels))
	for i, c := range channels {
		texts[i] = c.String()
	}
	return fmt.Sprintf("regression on %s, blinks and the rest apart (Gratton, Coles & Donchin 1983), from %d and %d samples",
		strings.Join(texts, " and "), e.BlinkN, e.RestN)
}
