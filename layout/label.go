package layout

import (
	"fmt"
	"strings"
)

// A LabelKind says what a channel label turned out to be.
type LabelKind int

const (
	UnknownLabel LabelKind = iota // nothing that this package knows
	SiteLabel                     // one site against the recording's reference
	DerivedLabel                  // a site minus a reference that the label states
	SignalLabel                   // another signal than EEG: EOG, ECG, Trigger, …
)

func (k LabelKind) String() string {
	switch k {
	case SiteLabel:
		return "site"
	case DerivedLabel:
		return "derived"
	case SignalLabel:
		return "signal"
	}
	return "unknown"
}

// A Label is a channel label taken apart. Labels follow the EDF+ standard texts
// (Kemp & Olivan 2003, Clin Neurophysiol 114:1755), "EEG Fpz-Cz", or are bare
// names as they are common in practice, "Fc5.".
type Label struct {
	Written   string // the whole label as it was given
	Kind      LabelKind
	Type      string // "EEG" with a site; else the signal's type: "EOG"
	Site      Name   // of a site or derived label
	SiteText  string // the site as tables and figures write it, see [Spelled]: "T3" where Site is "T7"
	Reference string // of a derived label: a Name's text, or Ref, LE, LM, AVG, A1+A2, M1+M2
}

// ParseLabel takes a channel label apart. A label that it does not know gives
// an error that says which part is not known, an [*UnknownError] where that is
// the site, and a Label of the kind UnknownLabel with the parts that it did
// find.
//
// A derived label is no potential of its site: the caller decides whether its
// reference is the one that all channels share.
func ParseLabel(text string) (Label, error) {
	l := Label{Written: text}
	body := strings.TrimSpace(text)
	word := firstWord(body)
	if t, ok := signalType(word); ok {
		l.Kind, l.Type = SignalLabel, t
		return l, nil
	}
	if rest := strings.TrimSpace(body[len(word):]); strings.EqualFold(word, eeg) && rest != "" {
		l.Type, body = eeg, rest
	}

	site, reference, derived := strings.Cut(body, "-")
	l.SiteText = Spelled(site)
	name, err := Parse(site)
	if err != nil {
		return l, wrapUnlessWhole(text, site, err)
	}
	l.Site = name
	if derived {
		l.Reference, err = parseReference(reference)
		if err != nil {
			return l, fmt.Errorf("label %.40q: %w", text, err)
		}
	}
	l.Type, l.Kind = eeg, SiteLabel
	if derived {
		l.Kind = DerivedLabel
	}
	return l, nil
}

// wrapUnlessWhole names the label in an error about its site, unless they are
// the same text.
func wrapUnlessWhole(text, site string, err error) error {
	if site == text {
		return err
	}
	return fmt.Errorf("label %.40q: %w", text, err)
}

// parseReference returns a reference in its usual spelling. Where it is not
// known, the text comes back as written beside the error.
func parseReference(text string) (string, error) {
	if n, err := Parse(text); err == nil {
		return string(n), nil
	}
	folded := Fold(text)
	for _, r := range references {
		for _, spelling := range strings.Fields(r.folded) {
			if folded == spelling {
				return r.text, nil
			}
		}
	}
	text = strings.TrimSpace(text)
	return text, fmt.Errorf("unknown reference %.40q: expected a site, Ref, LE, LM, AVG, A1+A2 or M1+M2", text)
}

// references are the ones that are no single site (common practice, no source).
var references = [...]struct{ text, folded string }{
	{"Ref", "ref reference"},
	{"LE", "le"}, // linked ears
	{"LM", "lm"}, // linked mastoids
	{"AVG", "avg av ave average car"},
	{"A1+A2", "a1+a2 (a1+a2) (a1+a2)/2 a1a2 a1/a2"},
	{"M1+M2", "m1+m2 (m1+m2) (m1+m2)/2 m1m2 m1/m2"},
}

const eeg = "EEG"

// firstWord returns the text up to the first character that ends a type.
func firstWord(text string) string {
	if end := strings.IndexAny(text, " \t-_.:/+(["); end >= 0 {
		return text[:end]
	}
	return text
}

// signalType finds the type that a label's first word states, with or without a
// number behind it: "EMG", "EMG1".
func signalType(word string) (string, bool) {
	folded := Fold(word)
	bare := strings.TrimRight(folded, "0123456789")
	for _, s := range signals {
		for _, spelling := range strings.Fields(s.folded) {
			if folded == spelling || bare == spelling {
				return s.text, true
			}
		}
	}
	return "", false
}

// signals are the types other than EEG: those of the EDF+ standard texts and of
// BIDS, from memory, with spellings of common practice, no source.
var signals = [...]struct{ text, folded string }{
	{"EOG", "eog heog veog heogl heogr leog reog eogh eogv eogl eogr loc roc"},
	{"ECG", "ecg ekg ecgl ecgr ekgl ekgr"},
	{"EMG", "emg"},
	{"ERG", "erg"},
	{"MEG", "meg megmag meggradaxial meggradplanar"},
	{"MCG", "mcg"},
	{"ECoG", "ecog"},
	{"SEEG", "seeg"},
	{"EP", "ep"},
	{"Temp", "temp"},
	{"Resp", "resp"},
	{"SaO2", "sao2 spo2"},
	{"Pulse", "pulse ppg pleth"},
	{"GSR", "gsr eda"},
	{"Pupil", "pupil"},
	{"EyeGaze", "eyegaze"},
	{"Light", "light photic"},
	{"Sound", "sound audio"},
	{"Dist", "dist"},
	{"Area", "area"},
	{"Vol", "vol"},
	{"Dur", "dur"},
	{"Vel", "vel"},
	{"Mass", "mass"},
	{"Angle", "angle"},
	{"Value", "value"},
	{"Trigger", "trigger trig status marker event events"},
	{"Misc", "misc"},
	{"Annotations", "edf bdf annotations"},
}
