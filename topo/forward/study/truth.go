package study

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Group stands in a row of the truth for the mean of all participants.
const Group = "group"

// A TruthRow says where and when a component peaks without any noise.
type TruthRow struct {
	Participant string  // [Group] or the ID of one participant
	Component   string  // "P100", "N170", "P350"
	Condition   string  // [Known] or [Novel]
	Site        string  // or a pair, "P8-P7": right minus left
	Latency     float64 // s after the onset, to 0.1 ms
	Amplitude   float64 // µV against the average of the 64 sites
}

// The truth is searched this far around the planted latency, in such steps.
const (
	searched   = 0.040 // s
	searchStep = 1e-4  // s
)

// Truth returns the peaks of the noiseless responses: of the mean of all
// participants first, then of each. A peak is where the waveform, in which
// neighbouring components overlap, is farthest from zero within 40 ms of the
// planted latency.
func (s *Study) Truth() ([]TruthRow, error) {
	rows, err := truth(Group, s)
	if err != nil {
		return nil, err
	}
	for _, p := range s.participants {
		more, err := truth(p.ID, p)
		if err != nil {
			return nil, err
		}
		rows = append(rows, more...)
	}
	return rows, nil
}

// A responder has a noiseless response: a participant, or the study's mean.
type responder interface {
	Evoked(condition string, sites []string, times []float64) (*mat.Dense, error)
}

func truth(who string, r responder) ([]TruthRow, error) {
	var rows []TruthRow
	for _, part := range planted() {
		var times []float64
		for i := range int(2*searched/searchStep) + 1 {
			times = append(times, part.course.latency-searched+float64(i)*searchStep)
		}
		for _, condition := range conditions() {
			for _, site := range part.measured {
				wave, err := waveform(r, condition, site, times)
				if err != nil {
					return nil, err
				}
				at := farthest(wave)
				rows = append(rows, TruthRow{who, part.name, condition, site, times[at], wave[at]})
			}
		}
	}
	return rows, nil
}

// waveform is the response at a site, or at the first site of a pair minus
// that at the second.
func waveform(r responder, condition, site string, times []float64) ([]float64, error) {
	one, other, pair := strings.Cut(site, "-")
	sites := []string{one}
	if pair {
		sites = append(sites, other)
	}
	evoked, err := r.Evoked(condition, sites, times)
	if err != nil {
		return nil, err
	}
	wave := evoked.RawRowView(0)
	if pair {
		floats.Sub(wave, evoked.RawRowView(1))
	}
	return wave, nil
}

// farthest is the index of the value farthest from zero.
func farthest(wave []float64) int {
	best := 0
	for i, v := range wave {
		if math.Abs(v) > math.Abs(wave[best]) {
			best = i
		}
	}
	return best
}

// WriteTruth writes [Study.Truth] and [Study.Nuisances] as a table:
// tab-separated, latency in s and amplitude in µV, how many there are of what
// comes and goes, and in every row the word synthetic.
func (s *Study) WriteTruth(w io.Writer) error {
	rows, err := s.Truth()
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	fmt.Fprintln(out, strings.Join([]string{"participant", "component", "condition", "site",
		"latency_s", "amplitude_uV", "count", "reference", "data"}, "\t"))
	for _, r := range rows {
		fmt.Fprintf(out, "%s\t%s\t%s\t%s\t%.4f\t%.3f\tn/a\taverage\tsynthetic\n",
			r.Participant, r.Component, r.Condition, r.Site, r.Latency, r.Amplitude)
	}
	for _, n := range s.Nuisances() {
		count := "n/a"
		if n.Count > 0 {
			count = strconv.Itoa(n.Count)
		}
		fmt.Fprintf(out, "%s\t%s\tn/a\t%s\tn/a\t%.3f\t%s\t%s\tsynthetic\n", n.Participant, n.What, n.Site,
			n.Size, count, Reference)
	}
	return out.Flush()
}
