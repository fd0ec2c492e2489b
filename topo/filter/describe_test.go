package filter

import (
	"strings"
	"testing"

	"calotte/topo/unit"
)

func TestDescribe(t *testing.T) {
	for _, c := range []struct {
		Design
		want string
	}{
		{Design{HighPass: 0.1, LowPass: 30},
			"high-pass at 0.1 Hz (−6 dB, transition from 0.05 to 0.15 Hz, 16501 taps); low-pass at 30 " +
				"Hz (−6 dB, " +
				"transition from 26.25 to 33.75 Hz, 221 taps)."},
		{Design{Notch: 50}, "zero phase: notch at 50 Hz and its multiples (−6 dB 1 Hz on both sides, " +
			"transitions of " +
			"1 Hz, 1651 taps)."},
	} {
		if got := design(t, c.Design, 500).Describe(); !strings.Contains(got, c.want) {
			t.Errorf("%q lacks %q", got, c.want)
		}
	}
}

func TestCautions(t *testing.T) {
	short, long := unit.Span{From: -0.1, To: 0.3}, unit.Span{From: -0.2, To: 0.8}
	for _, c := range []struct {
		Design
		window unit.Span
		want   []string // the start of each
	}{
		{Design{HighPass: 0.1}, long, nil},
		{Design{HighPass: 0.3}, long, nil},
		{Design{HighPass: 0.5}, short, nil},
		{Design{HighPass: 0.5}, long,
			[]string{"A high-pass of 0.5 Hz is above 0.3 Hz and the window ends after 300 ms"}},
		{Design{LowPass: 30}, short,
			[]string{"The low-pass has zero phase: it moves no peak, but spreads each response to " +
				"both sides, so " +
				"that onsets look earlier, by about 17 ms; traces of it reach 220 ms."}},
		{Design{LowPass: 30, Notch: 50}, short,
			[]string{"The low-pass", "The low-pass of 30 Hz alone stops 50 Hz: leave the notch out."}},
		{Design{LowPass: 45, Notch: 50}, short,
			[]string{"The low-pass",
				"The notch rings: an abrupt change leaves a decaying oscillation at 50 Hz up to 1650 ms"}},
		{Design{Notch: 60}, short, []string{"The notch rings"}},
	} {
		got := design(t, c.Design, 500).Cautions(c.window)
		if len(got) != len(c.want) {
			t.Errorf("%+v: got %q, want %q", c.Design, got, c.want)
			continue
		}
		for i := range got {
			if !strings.HasPrefix(got[i], c.want[i]) {
				t.Errorf("%+v: got %q, want %q", c.Design, got[i], c.want[i])
			}
		}
	}
}
