package erp

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"calotte/topo/erp/reject"
	"calotte/topo/filter"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

// A stretch too short for the filter loses its epochs, and says so; the others
// are filtered each by itself.
func TestRunFiltersStretchByStretch(t *testing.T) {
	h := recording.Header{Records: 6, Signals: erptest.Signals("Cz"), AnnotationBytes: 64}
	file := erptest.Write(t, h, func(_, sample int) float64 { return 1000 + float64(sample) },
		erptest.Annotation(0.5, "a"), erptest.Annotation(2.5, "a"))
	copy(file[192:], "EDF+D")
	for _, move := range [][2]string{{"+5", "+9"}, {"+4", "+8"}, {"+3", "+7"}, {"+2", "+6"}, {"+1", "+5"}} {
		copy(file[bytes.Index(file, []byte(move[0]+"\x14\x14")):], move[1])
	}
	rec := erptest.Open(t, file)
	if len(rec.Segments) != 2 || rec.Segments[0].Records != 1 {
		t.Fatalf("segments %+v", rec.Segments)
	}
	rec.Events = append(rec.Events, erptest.Annotation(7.5, "a"))
	p := flat(t, "-200..400ms")
	p.Filter = filter.Design{HighPass: 1}
	r, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if c := r.Counts[0]; c.Kept != 1 || c.Rejected[reject.TooShort] != 1 || c.Rejected[reject.AcrossGap] != 1 {
		t.Errorf("%+v, want one kept, one too short, one across the gap", c)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	// A high-pass takes a straight line to zero in the middle of the
	// stretch.
	for j, v := range as[0].Mean[0] {
		if !erptest.Near(v, 0, 1e-6) {
			t.Errorf("sample %d: %v µV, want 0", j, v)
		}
	}
	if text := as[0].Info.Filters; !strings.Contains(text, "high-pass at 1 Hz") {
		t.Errorf("filters: %q", text)
	}
	if len(r.Cautions) == 0 {
		t.Error("nothing is said of a 1 Hz high-pass")
	}
	p.Filter = filter.Design{HighPass: 0.01}
	if _, err := p.Run(context.Background(), Input{Recording: rec}); err == nil {
		t.Error("a filter longer than every stretch was accepted")
	}
}
