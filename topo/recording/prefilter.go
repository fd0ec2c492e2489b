package recording

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// A Prefilter is what a signal's header says in numbers of the filters before
// the recording, corner frequencies in Hz; zero: it says none.
type Prefilter struct{ HighPass, LowPass, Notch float64 }

// corners are the marks of EDF ("HP:0.1Hz LP:75Hz N:50Hz"), each with a
// frequency. The unit may be missing; anything else behind the number, such as
// a time constant, is no frequency.
var corners = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(?i)(?:^|[\s,;|])(HP|LP|N|NOTCH)\s*:\s*(\d{1,5}(?:\.\d{1,4})?)(?:\s*Hz)?(?:$|[\s,;|])`)
})

// Filters reads the prefilter text. The text itself is free and may name
// anyone, so no more than these numbers may be passed on.
func (s *Signal) Filters() Prefilter {
	var p Prefilter
	// Signs that part are doubled, since a match takes those on both of its
	// sides.
	text := strings.NewReplacer(" ", "  ", ",", ",,", ";", ";;", "|", "||").Replace(s.Prefilter)
	for _, m := range corners().FindAllStringSubmatch(text, -1) {
		hertz, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			continue
		}
		switch strings.ToUpper(m[1]) {
		case "HP":
			p.HighPass = hertz
		case "LP":
			p.LowPass = hertz
		default:
			p.Notch = hertz
		}
	}
	return p
}

// String is "high-pass 0.1 Hz, low-pass 75 Hz", empty where nothing is said.
func (p Prefilter) String() string {
	var texts []string
	for _, part := range []struct {
		name  string
		hertz float64
	}{{"high-pass", p.HighPass}, {"low-pass", p.LowPass}, {"notch", p.Notch}} {
		if part.hertz > 0 {
			texts = append(texts, fmt.Sprintf("%s %g Hz", part.name, part.hertz))
		}
	}
	return strings.Join(texts, ", ")
}
