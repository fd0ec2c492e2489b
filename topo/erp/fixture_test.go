package erp

import (
	"context"
	"testing"

	"calotte/topo/erp/average"
	"calotte/topo/recording"
)

// averages runs a pipeline over recordings of one person.
func averages(tb testing.TB, p *Pipeline, recs ...*recording.Recording) []*average.Average {
	tb.Helper()
	var inputs []Input
	for _, rec := range recs {
		inputs = append(inputs, Input{Recording: rec})
	}
	total, err := p.Run(context.Background(), inputs...)
	if err != nil {
		tb.Fatal(err)
	}
	as, err := total.Averages("sub-01")
	if err != nil {
		tb.Fatal(err)
	}
	return as
}
