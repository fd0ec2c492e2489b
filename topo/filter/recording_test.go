package filter

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"calotte/topo/recording"
)

// TestRecording filters an open recording as it is read, beside scipy.
func TestRecording(t *testing.T) {
	file, err := os.Open("../../../shared/data/eegmmidb/S001R03.edf")
	if err != nil {
		t.Skip("the open recording is not here: ", err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := recording.Open(file, info.Size(), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../testdata/filter/eegmmidb.json")
	if err != nil {
		t.Fatal(err)
	}
	var want map[int][]float64 // signal → every 97th sample
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	signals := make([]int, len(rec.Signals))
	for i := range signals {
		signals[i] = i
	}
	f := design(t, Design{HighPass: 0.5, LowPass: 40, Notch: 60}, rec.Rate(0))
	worst, compared := 0.0, 0
	for b, err := range f.Apply(rec.Blocks(signals), []int{rec.Samples(0, 0)}) {
		if err != nil {
			t.Fatal(err)
		}
		for signal, samples := range want {
			for i, x := range b.Samples[signal] {
				if at := b.First + i; at%97 == 0 {
					worst = max(worst, math.Abs(x-samples[at/97]))
					compared++
				}
			}
		}
	}
	t.Logf("%d samples differ by up to %.2g µV", compared, worst)
	if worst > 1e-9 || compared != len(want)*len(want[0]) {
		t.Errorf("%d of %d samples compared, off by up to %g µV", compared, len(want)*len(want[0]), worst)
	}
}
