package eye

import (
	"fmt"
	"strings"

	"calotte/layout"
	"calotte/topo/erp/montage"
)

// A Channel is a channel of eye movements, by the label of its signal, or the
// difference of two: above the eye minus below.
type Channel struct{ Plus, Minus string }

// Set reads LABEL or LABEL-LABEL. A label with a hyphen stands in double
// quotes.
func (e *Channel) Set(text string) error {
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
	*e = Channel{plus, minus}
	return nil
}

// eyeLabel takes a label off the front of a text.
func eyeLabel(text string) (label, rest string, err error) {
	text = strings.TrimSpace(text)
	end := strings.IndexByte(text, '-')
	if quoted, ok := strings.CutPrefix(text, `"`); ok {
		label, rest, ok = strings.Cut(quoted, `"`)
		if rest = strings.TrimSpace(rest); !ok || rest != "" && rest[0] != '-' {
			return "", "", fmt.Errorf("eye channel %q: expected a closing quote, then nothing or a hyphen",
				text)
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
func (e Channel) String() string {
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

// Describe says in words how blinks were taken out.
func Describe(channels []Channel, e *Coefficients) string {
	texts := make([]string, len(channels))
	for i, c := range channels {
		texts[i] = c.String()
	}
	return fmt.Sprintf("regression on %s, blinks and the rest apart (Gratton, Coles & Donchin 1983), from %d "+
		"and %d samples",
		strings.Join(texts, " and "), e.BlinkN, e.RestN)
}

// Channels are the labels of the signals that are of the type EOG, without it,
// a vertical one (with a V) first: what blinks can be taken out by.
func Channels(m *montage.Montage) []string {
	var vertical, others []string
	for _, a := range m.Aside {
		l, err := layout.ParseLabel(a.Label)
		if err != nil || l.Kind != layout.SignalLabel || l.Type != "EOG" {
			continue
		}
		name := WithoutType(strings.TrimSpace(a.Label))
		if strings.Contains(strings.ToUpper(name), "V") {
			vertical = append(vertical, name)
		} else {
			others = append(others, name)
		}
	}
	return append(vertical, others...)
}

// WithoutType is the label of a signal without the type before it, as EDF+
// writes it: "EOG VEOG".
func WithoutType(label string) string {
	if l, err := layout.ParseLabel(label); err == nil && l.Kind == layout.SignalLabel {
		if rest, ok := strings.CutPrefix(label, l.Type+" "); ok {
			return strings.TrimSpace(rest)
		}
	}
	return label
}
