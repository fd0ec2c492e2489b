package screentest

import (
	"testing"

	"calotte/layout"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

// Seconds cuts a recording into pieces of one second, with its sites.
func Seconds(tb testing.TB, rec *recording.Recording) ([]layout.Site, [][][]float64) {
	tb.Helper()
	m, err := montage.New(rec.Signals, montage.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	length := int(rec.Rate(m.Signals[0]))
	var pieces [][][]float64
	for b, err := range rec.Blocks(m.Signals) {
		if err != nil {
			tb.Fatal(err)
		}
		for from := 0; from+length <= len(b.Samples[0]); from += length {
			piece := matrix.New(len(m.Sites), length)
			for i, row := range piece {
				copy(row, b.Samples[i][from:])
			}
			pieces = append(pieces, piece)
		}
	}
	return erptest.Placed(tb, m.Names), pieces
}
