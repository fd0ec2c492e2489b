package erp

import (
	"bytes"
	"context"
	"testing"

	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

// A header whose physical limits are wrong must not end in an average. The
// values swing from limit to limit: in every sample, or once between two
// events.
func TestAveragesOfImplausibleRecordings(t *testing.T) {
	for _, c := range []struct {
		low, high string // physical limits, as the header has them
		period    int    // samples
		want      string
	}{
		{"-1e300  ", "1e300   ", 1,
			"condition x: the largest amplitude is 1e+300 µV, more than any electrode on a scalp gives: " +
				"check units " +
				"and physical limits in the recording's header"},
		{"-1e300  ", "1e300   ", 150, "condition x: the amplitudes are too large for a mean or its error"},
		{"-0.0001 ", "0.0001  ", 1, "condition x: the largest amplitude is 0.0001 µV, which looks like volts"},
	} {
		h := recording.Header{Records: 4, Signals: erptest.Signals("C3", "C4")}
		file := erptest.Write(t, h,
			func(_, sample int) float64 { return 3276.7 * float64(1-2*(sample/c.period%2)) },
			erptest.Annotation(1, "a"), erptest.Annotation(2, "a"))
		file = bytes.ReplaceAll(file, []byte("-3276.8 "), []byte(c.low))
		file = bytes.ReplaceAll(file, []byte("3276.7  "), []byte(c.high))
		p := flat(t, "0..50ms")
		r, err := p.Run(context.Background(), Input{Recording: erptest.Open(t, file)})
		if err == nil {
			_, err = r.Averages("sub-01")
		}
		erptest.WantError(t, err, c.want)
	}
}
