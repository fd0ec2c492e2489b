package wearer

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/unit"
)

// An Interview asks for the measures of one head, in the order of the tape. An
// answer is waited for until the context ends.
type Interview struct {
	ctx     context.Context
	answers <-chan string // closed when there are no more
	out     io.Writer
}

// NewInterview asks on one stream and reads the answers from another.
func NewInterview(ctx context.Context, in io.Reader, out io.Writer) *Interview {
	answers := make(chan string)
	go func() {
		defer close(answers)
		lines := bufio.NewScanner(in)
		for lines.Scan() {
			select {
			case answers <- strings.TrimSpace(lines.Text()):
			case <-ctx.Done():
				return
			}
		}
	}()
	return &Interview{ctx, answers, out}
}

// Measures asks for two readings of each measure, and for what is to be noted
// about the head. Measures that no head has are asked for again.
func (q *Interview) Measures(code string) (head.Visit, error) {
	v := head.Visit{Wearer: code, Date: time.Now().Format(time.DateOnly), Posture: head.Sitting}
	fmt.Fprintf(q.out, "Measures of %s: lengths with their unit, such as 36.2cm. Read each tape twice, laid anew.\n",
		code)
	fmt.Fprintln(q.out, "Mark Fpz and Oz at 10 % of the first tape, T7 and T8 at 10 % of the second; the "+
		"third runs "+
		"through them.")
	for {
		if err := q.tapes(&v); err != nil {
			return v, err
		}
		if _, err := v.Check(); err != nil {
			fmt.Fprintf(q.out, "  %v\n", err)
			continue
		}
		break
	}
	var err error
	v.Notes, err = q.notes()
	return v, err
}

// tapes asks for the lengths.
func (q *Interview) tapes(v *head.Visit) (err error) {
	for _, m := range []struct {
		what string
		into *[]float64
	}{
		{"nasion, over the vertex, to inion", &v.Readings.NasionInion},
		{"left preauricular point, over the vertex, to the right one", &v.Readings.EarEar},
		{"around the head through Fpz, T7, Oz and T8", &v.Readings.Circumference},
	} {
		if *m.into, err = q.readings(m.what); err != nil {
			return err
		}
	}
	if err := q.halves(v); err != nil {
		return err
	}
	v.Widest, err = q.length("around the head where it is widest, for the cap's size (empty: not measured): ", true)
	return err
}

// halves asks for the two sides of ring and ear arc, where they were measured
// apart.
func (q *Interview) halves(v *head.Visit) (err error) {
	apart, err := q.line("were the halves of ring and ear arc measured apart? (yes; empty: no) ")
	if err != nil || !strings.EqualFold(apart, "yes") {
		return err
	}
	for _, m := range []struct {
		what string
		into *[]float64
	}{
		{"Fpz over T7 to Oz", &v.Readings.LeftRing},
		{"Fpz over T8 to Oz", &v.Readings.RightRing},
		{"left preauricular point to the vertex", &v.Readings.LeftEar},
		{"right preauricular point to the vertex", &v.Readings.RightEar},
	} {
		if *m.into, err = q.readings(m.what); err != nil {
			return err
		}
	}
	return nil
}

// disagreeing is how far two readings of one tape may differ, in mm (common
// practice, no source). A third one then decides which two are kept.
const disagreeing = 5

// readings asks for two readings that agree, or for three of which the two that
// agree best are kept.
func (q *Interview) readings(what string) ([]float64, error) {
	var mm []float64
	for _, which := range []string{"first", "second", "third"} {
		next, err := q.length(fmt.Sprintf("%s, %s reading: ", what, which), false)
		if err != nil {
			return nil, err
		}
		if mm = append(mm, next); len(mm) < 2 {
			continue
		}
		if math.Abs(mm[1]-mm[0]) <= disagreeing {
			break
		}
		if len(mm) == 2 {
			fmt.Fprintf(q.out, "  the readings differ by %v: lay the tape once more\n",
				unit.Length(math.Abs(mm[1]-mm[0])))
		}
	}
	if len(mm) < 3 {
		return mm, nil
	}
	slices.Sort(mm)
	if mm[1]-mm[0] <= mm[2]-mm[1] {
		return mm[:2], nil
	}
	return mm[1:], nil
}

// length asks until a length is given, or nothing where that is allowed.
func (q *Interview) length(prompt string, optional bool) (float64, error) {
	for {
		text, err := q.line(prompt)
		if err != nil {
			return 0, err
		}
		if text == "" && optional {
			return 0, nil
		}
		var l unit.Length
		err = l.Set(text)
		if err == nil && l <= 0 {
			err = errors.New("expected more than 0")
		}
		if err == nil {
			return float64(l), nil
		}
		fmt.Fprintf(q.out, "  %v\n", err)
	}
}

// kinds are what can be noted, by the number that stands for it.
var kinds = []head.NoteKind{head.InionUncertain, head.Scar, head.Shunt, head.Plate, head.SkullDefect}

// notes asks for notes until an empty line.
func (q *Interview) notes() ([]head.Note, error) {
	fmt.Fprintln(q.out, "Anything to note? Its number, then left, right or midline, then where, in your own words "+
		"and never a name.")
	for i, k := range kinds {
		fmt.Fprintf(q.out, "  %d %s\n", i+1, k)
	}
	var notes []head.Note
	for {
		text, err := q.line("note (empty: no more): ")
		if err != nil || text == "" {
			return notes, err
		}
		n, err := parseNote(text)
		if err != nil {
			fmt.Fprintf(q.out, "  %v\n", err)
			continue
		}
		notes = append(notes, n)
	}
}

// parseNote reads what is to be noted, by its number or in words, the side, and
// where: "2 left above the ear", "skull defect right temple".
func parseNote(text string) (head.Note, error) {
	kind, rest, err := noteKind(strings.TrimSpace(text))
	if err != nil {
		return head.Note{}, err
	}
	n := head.Note{Kind: kind, Side: layout.Midline}
	side, place, _ := strings.Cut(strings.TrimSpace(rest), " ")
	switch s := layout.Side(strings.ToLower(side)); {
	case s == layout.LeftSide, s == layout.RightSide, s == layout.Midline:
		n.Side, n.Place = s, strings.TrimSpace(place)
	case side != "" || kind != head.InionUncertain:
		return n, fmt.Errorf("%s: %q: expected left, right or midline behind it", kind, side)
	}
	return n, nil
}

// noteKind splits off what a note is about.
func noteKind(text string) (kind head.NoteKind, rest string, err error) {
	for i, k := range kinds {
		for _, begin := range []string{strconv.Itoa(i + 1), string(k)} {
			rest, ok := strings.CutPrefix(strings.ToLower(text), begin)
			if ok && (rest == "" || rest[0] == ' ') {
				return k, text[len(begin):], nil
			}
		}
	}
	return "", "", fmt.Errorf("%q: expected a number from 1 to %d first, or what it stands for, such as scar", text,
		len(kinds))
}

// Notes collects notes from flags.
type Notes []head.Note

func (ns *Notes) Set(text string) error {
	n, err := parseNote(text)
	if err == nil {
		*ns = append(*ns, n)
	}
	return err
}

func (ns Notes) String() string {
	texts := make([]string, len(ns))
	for i, n := range ns {
		texts[i] = strings.TrimSpace(fmt.Sprintf("%s %s %s", n.Kind, n.Side, n.Place))
	}
	return strings.Join(texts, "; ")
}

func (ns Notes) Type() string { return "note" }

// line asks for one line of text.
func (q *Interview) line(prompt string) (string, error) {
	fmt.Fprint(q.out, prompt)
	var text string
	more := false
	select {
	case text, more = <-q.answers:
	case <-q.ctx.Done():
	}
	if err := q.ctx.Err(); err != nil { // also where the answers ended because of it
		fmt.Fprintln(q.out)
		return "", err
	}
	if !more {
		fmt.Fprintln(q.out)
		return "", console.Usagef("the answers ended early: answer every question in a line, or give the " +
			"measures by " +
			"flags; nothing was written")
	}
	return text, nil
}
