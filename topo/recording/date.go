package recording

import (
	"fmt"
	"strings"
	"time"
)

// clippingYear is the first of the hundred years that the two-digit year of the
// start date stands for: 85 is 1985, 84 is 2084 (Kemp & Olivan 2003).
const clippingYear = 1985

// start reads the start date and time. Nothing is computed from them, so an
// unreadable one is noted and left out.
func (p *headerReader) start(kind Kind, recording string) time.Time {
	clock := p.fixed(fieldTime).text()
	var hour, minute, sec int
	if !dotted(clock, &hour, &minute, &sec) || hour > 23 || minute > 59 || sec > 59 {
		p.note("start time %q is not hh.mm.ss: left out", clock)
		return time.Time{}
	}
	short, ok := shortDate(p.fixed(fieldDate).text())
	long, full := time.Time{}, false
	if kind.Plus() {
		long, full = longDate(recording)
	}
	day := short
	switch {
	case full && ok && !sameDay(short, long):
		p.note("start date %s in the recording field, %s in the date field: the former is used",
			long.Format(time.DateOnly), short.Format(time.DateOnly))
		day = long
	case full:
		day = long
	case !ok:
		p.note("start date %q is not dd.mm.yy: left out", p.fixed(fieldDate).text())
		return time.Time{}
	}
	return day.Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute +
		time.Duration(sec)*time.Second)
}

// sameDay compares the date field with the recording field, whose year need not
// lie within the hundred years of the former.
func sameDay(short, long time.Time) bool {
	return short.Day() == long.Day() && short.Month() == long.Month() && short.Year()%100 == long.Year()%100
}

func shortDate(text string) (time.Time, bool) {
	var day, month, year int
	if !dotted(text, &day, &month, &year) {
		return time.Time{}, false
	}
	year += clippingYear / 100 * 100
	if year < clippingYear {
		year += 100
	}
	t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	return t, t.Day() == day && int(t.Month()) == month
}

// longDate reads "Startdate dd-MMM-yyyy" at the front of the EDF+ recording
// field.
func longDate(recording string) (time.Time, bool) {
	words := strings.Fields(recording)
	if len(words) < 2 || words[0] != startdate {
		return time.Time{}, false
	}
	t, err := time.Parse(longDateLayout, words[1]) // months match in any case
	return t, err == nil
}

// The front of the EDF+ recording field; months are written in capitals.
const (
	startdate      = "Startdate"
	longDateLayout = "02-Jan-2006"
)

// dotted reads three two-digit numbers with points between them.
func dotted(text string, a, b, c *int) bool {
	if len(text) != 8 || !only(text, ".0123456789") {
		return false
	}
	n, err := fmt.Sscanf(text, "%2d.%2d.%2d", a, b, c)
	return err == nil && n == 3
}
