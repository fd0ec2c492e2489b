package average

import (
	"fmt"
	"math"
	"slices"

	"calotte/layout/rowtable"
)

// Amplifiers sample at 50 Hz to 50 kHz (common practice, no source); a step far
// outside is meant in another unit.
const (
	slowestStep = 0.1  // s
	fastestStep = 1e-5 // s
)

// unevenness is how much one step may differ from the median step, as a share
// of it, for times that were rounded.
const unevenness = 0.05

// checkTimes refuses times that do not increase evenly or that can only be
// meant in another unit than their column's. Rows follow the header line.
func (t *tableReader) checkTimes() error {
	column := t.columns[t.timeAt]
	steps := make([]float64, len(t.Times)-1)
	for i := range steps {
		steps[i] = t.Times[i+1] - t.Times[i]
		if !(steps[i] > 0) {
			return &rowtable.Error{Line: i + 3, Column: column,
				Got: fmt.Sprintf("time runs backwards or stands still (%.10g after %.10g s)",
					t.Times[i+1],
					t.Times[i]),
				Want: "expected increasing times"}
		}
	}
	step := slices.Sorted(slices.Values(steps))[len(steps)/2]
	for i, d := range steps {
		if !(math.Abs(d-step) <= unevenness*step) {
			return &rowtable.Error{Line: i + 3, Column: column,
				Got:  fmt.Sprintf("a step of %.4g s where %.4g s is usual", d, step),
				Want: "expected evenly spaced times"}
		}
	}
	switch {
	case step >= slowestStep && t.timeUnit == 1:
		return &rowtable.Error{Column: column,
			Got:  fmt.Sprintf("a step of %.4g s, which looks like milliseconds", step),
			Want: "name the column time_ms, or give seconds"}
	case step < fastestStep && t.timeUnit != 1:
		return &rowtable.Error{Column: column,
			Got:  fmt.Sprintf("a step of %.4g ms, which looks like seconds", step*1000),
			Want: "name the column time, or give milliseconds"}
	case step >= slowestStep || step < fastestStep:
		return &rowtable.Error{Column: column, Got: fmt.Sprintf("a step of %.4g s", step),
			Want: "expected a sampling rate between 10 Hz and 100 kHz"}
	}
	return nil
}

// Averages are of the order of 1 to 100 µV (common practice, no source): a
// nanovolt is below any amplifier's noise, a tenth of a volt above what a scalp
// gives. An amplifier that passes direct current adds the electrodes' offset of
// some 100 mV (likewise), which only a baseline takes away. What is left of
// equal numbers by rounding is no amplitude at all.
const (
	roundingNoise  = 1e-9 // µV
	leastAmplitude = 1e-3 // µV
	mostAmplitude  = 1e5  // µV
	mostRecorded   = 1e6  // µV
)

// CheckMicrovolts refuses amplitudes, site × sample, that can only be meant in
// another unit than µV, or that are not finite. All zero is allowed.
func CheckMicrovolts(values [][]float64) error {
	switch v := largest(values); {
	case !isFinite(v):
		return &rowtable.Error{Got: "an amplitude that is not finite", Want: "give numbers"}
	case inVolts(v):
		return &rowtable.Error{Got: fmt.Sprintf("the largest amplitude is %.3g, which looks like volts", v),
			Want: "give µV (volts times 1,000,000)"}
	case v > mostAmplitude:
		return &rowtable.Error{Got: fmt.Sprintf("the largest amplitude is %.3g µV, more than any "+
			"scalp potential",
			v),
			Want: "give µV"}
	}
	return nil
}

// CheckRecorded is the same for the average of a recording, whose header can be
// wrong.
func (a *Average) CheckRecorded() error {
	const check = "check units and physical limits in the recording's header"
	switch v, sem := largest(a.Mean), largest(a.SEM); {
	case !isFinite(v) || !isFinite(sem):
		return fmt.Errorf("the amplitudes are too large for a mean or its error: %s", check)
	case inVolts(v):
		return fmt.Errorf("the largest amplitude is %.3g µV, which looks like volts: %s", v, check)
	case v > mostRecorded:
		return fmt.Errorf("the largest amplitude is %.3g µV, more than any electrode on a scalp gives: %s", v,
			check)
	}
	return nil
}

// largest magnitude among the values, NaN if any is.
func largest(values [][]float64) float64 {
	most := 0.0
	for _, row := range values {
		for _, v := range row {
			most = max(most, math.Abs(v))
		}
	}
	return most
}

func isFinite(v float64) bool { return v-v == 0 }
func inVolts(v float64) bool  { return v > roundingNoise && v < leastAmplitude }
