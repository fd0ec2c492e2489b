package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo/unit"
)

// An interview asks for the measures of one head, in the order of the tape.
type interview struct {
	in  *bufio.Scanner
	out io.Writer
}

// askMeasures asks for two readings of each measure, and for what is to be
// noted about the head.
func askMeasures(in io.Reader, out io.Writer, code string) (layout.Visit, error) {
	q := interview{bufio.NewScanner(in), out}
	v := layout.Visit{Wearer: code, Date: time.Now().Format(time.DateOnly), Posture: layout.Sitting}
	fmt.Fprintf(out, "Measures of %s: lengths with their unit, such as 36.2cm. Read each tape twice, laid anew.\n", code)
	fmt.Fprintln(out, "Mark Fpz and Oz at 10 % of the first tape, T7 and T8 at 10 % of the second; the third runs through them.")
	for _, m := range []struct {
		what string
		into *[]float64
	}{
		{"nasion, over the vertex, to inion", &v.Readings.NasionInion},
		{"left preauricular point, over the vertex, to the right one", &v.Readings.EarEar},
		{"around the head through Fpz, T7, Oz and T8", &v.Readings.Circumference},
	} {
		for _, which := range []string{"first", "second"} {
			mm, err := q.length(fmt.Sprintf("%s, %s reading: ", m.what, which), false)
			if err != nil {
				return v, err
			}
			*m.into = append(*m.into, mm)
		}
	}
	var err error
	if v.Widest, err = q.length("around the head where it is widest, for the cap's size (empty: not measured): ", true); err != nil {
		return v, err
	}
	v.Notes, err = q.notes()
	return v, err
}

// length asks until a length is given, or nothing where that is allowed.
func (q *interview) length(prompt string, optional bool) (float64, error) {
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
var kinds = []layout.NoteKind{layout.InionUncertain, layout.Scar, layout.Shunt, layout.Plate, layout.SkullDefect}

// notes asks for notes until an empty line.
func (q *interview) notes() ([]layout.Note, error) {
	fmt.Fprintln(q.out, "Anything to note? Its number, then left, right or midline, then where, in your own words and never a name.")
	for i, k := range kinds {
		fmt.Fprintf(q.out, "  %d %s\n", i+1, k)
	}
	var notes []layout.Note
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
func parseNote(text string) (layout.Note, error) {
	kind, rest, err := noteKind(strings.TrimSpace(text))
	if err != nil {
		return layout.Note{}, err
	}
	n := layout.Note{Kind: kind, Side: layout.Midline}
	side, place, _ := strings.Cut(strings.TrimSpace(rest), " ")
	switch s := layout.Side(strings.ToLower(side)); {
	case s == layout.LeftSide, s == layout.RightSide, s == layout.Midline:
		n.Side, n.Place = s, strings.TrimSpace(place)
	case side != "" || kind != layout.InionUncertain:
		return n, fmt.Errorf("%s: %q: expected left, right or midline behind it", kind, side)
	}
	return n, nil
}

// noteKind splits off what a note is about.
func noteKind(text string) (kind layout.NoteKind, rest string, err error) {
	for i, k := range kinds {
		for _, begin := range []string{strconv.Itoa(i + 1), string(k)} {
			rest, ok := strings.CutPrefix(strings.ToLower(text), begin)
			if ok && (rest == "" || rest[0] == ' ') {
				return k, text[len(begin):], nil
			}
		}
	}
	return "", "", fmt.Errorf("%q: expected a number from 1 to %d first, or what it stands for, such as scar", text, len(kinds))
}

// noteFlags collects notes from flags.
type noteFlags []layout.Note

func (ns *noteFlags) Set(text string) error {
	n, err := parseNote(text)
	if err == nil {
		*ns = append(*ns, n)
	}
	return err
}

func (ns noteFlags) String() string {
	texts := make([]string, len(ns))
	for i, n := range ns {
		texts[i] = strings.TrimSpace(fmt.Sprintf("%s %s %s", n.Kind, n.Side, n.Place))
	}
	return strings.Join(texts, "; ")
}

func (ns noteFlags) Type() string { return "note" }

// line asks for one line of text.
func (q *interview) line(prompt string) (string, error) {
	fmt.Fprint(q.out, prompt)
	if q.in.Scan() {
		return strings.TrimSpace(q.in.Text()), nil
	}
	fmt.Fprintln(q.out)
	if err := q.in.Err(); err != nil {
		return "", err
	}
	return "", console.Usagef("the answers ended early: answer every question, or give the measures by flags; nothing was written")
}
