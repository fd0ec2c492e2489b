package canvas

import (
	"math"
	"strconv"
)

// hundredths is a coordinate in the files: 0.01 pt is 3.5 µm of paper.
func hundredths(x float64) int64 {
	return int64(math.Round(max(-1e12, min(1e12, x)) * 100))
}

// appendHundredths writes n/100 as short as a decimal can be: 1.5, .25, -3.
func appendHundredths(b []byte, n int64) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	whole, rest := n/100, n%100
	if whole > 0 || rest == 0 {
		b = strconv.AppendInt(b, whole, 10)
	}
	switch {
	case rest == 0:
	case rest%10 == 0:
		b = append(b, '.', byte('0'+rest/10))
	default:
		b = append(b, '.', byte('0'+rest/10), byte('0'+rest%10))
	}
	return b
}

func appendNumber(b []byte, x float64) []byte { return appendHundredths(b, hundredths(x)) }

func number(x float64) string { return string(appendNumber(nil, x)) }

// ratio writes a factor of a matrix, which needs more digits than a length.
func ratio(x float64) string {
	if math.Abs(x) < 5e-7 {
		return "0"
	}
	return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64)
}
