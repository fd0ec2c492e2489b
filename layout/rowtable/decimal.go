package rowtable

import (
	"encoding/binary"
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// Decimal reads a finite number of decimal digits. What else Go itself would
// read is a slip in a table: "0x1p4", "1_000", "inf".
func Decimal(text string) (x float64, ok bool) {
	x, err := strconv.ParseFloat(text, 64)
	plain := strings.IndexByte(text, 'x') < 0 && strings.IndexByte(text, 'X') < 0 &&
		strings.IndexByte(text, '_') < 0
	return x, plain && err == nil && x-x == 0
}

// mostDigits is how many decimal digits fit into 64 bits, whichever they are.
const mostDigits = 19

// Leading reads the number that text begins with, digits with or without a sign
// and a point, to the very bits that [Decimal] gives. It returns how many bytes
// the number takes, which is 0 where there is none, or one of more digits than
// fit into 64 bits, which is for Decimal to read. What follows the number,
// such as an exponent, is for the caller to look at.
func Leading(text []byte) (x float64, length int) {
	i, negative := 0, false
	if len(text) > 0 && (text[0] == '-' || text[0] == '+') {
		i, negative = 1, text[0] == '-'
	}
	m, end := digits(text, i, 0)
	whole, behind := end-i, 0
	if whole == 1 && m == 0 { // takes no room
		whole = 0
	}
	found := end > i
	if end < len(text) && text[end] == '.' {
		point := end
		m, end = digits(text, point+1, m)
		behind = end - point - 1
		found = found || behind > 0
	}
	if !found || whole+behind > mostDigits { // past that m has overflowed
		return 0, 0
	}
	x = quotient(m, behind)
	if negative {
		x = -x
	}
	return x, end
}

// digits appends the decimal digits of text from i on to those of m, and
// returns where they end.
func digits(text []byte, i int, m uint64) (all uint64, end int) {
	for i+8 <= len(text) {
		eight, ok := eightDigits(binary.LittleEndian.Uint64(text[i:]))
		if !ok {
			break
		}
		m = m*1e8 + eight
		i += 8
	}
	for ; i < len(text) && text[i]-'0' <= 9; i++ {
		m = m*10 + uint64(text[i]-'0')
	}
	return m, i
}

// eightDigits reads eight bytes, the first one the lowest, where all are
// digits: neighbours are joined to numbers of two, four and eight digits, all
// in one word.
func eightDigits(text uint64) (x uint64, ok bool) {
	const zeros, high, sixes = 0x3030303030303030, 0xF0F0F0F0F0F0F0F0, 0x0606060606060606
	if text&high != zeros || (text+sixes)&high != zeros { // from ':' on six more change the upper half
		return 0, false
	}
	x = text - zeros
	x = (x*10 + x>>8) & 0x00FF00FF00FF00FF
	x = (x*100 + x>>16) & 0x0000FFFF0000FFFF
	return x*10_000&0xFFFFFFFF + x>>32, true
}

// quotient is m / 10^n, rounded once, to the nearest float64 and a half to the
// even one, for n up to mostDigits.
//
// Where m has at most 53 bits, it and 10^n are float64 exactly (10^22 still
// is), and their quotient is rounded once. Otherwise whole numbers are divided:
// shifted so that both have their highest bit set, the quotient has 64 bits, of
// which 53 are kept; the remainder says whether half of the last is exceeded.
func quotient(m uint64, n int) float64 {
	const kept = 53
	power := powers[n]
	if m>>kept == 0 {
		return float64(m) / float64(power)
	}
	up, down := bits.LeadingZeros64(m), bits.LeadingZeros64(power)
	m, power = m<<up, power<<down
	high, low, exponent := m, uint64(0), down-up-64
	if m >= power {
		high, low, exponent = m>>1, m<<63, exponent+1
	}
	q, rest := bits.Div64(high, low, power)
	const cut = 64 - kept
	const half = 1 << (cut - 1)
	over := q & (2*half - 1)
	q >>= cut
	if over > half || over == half && (rest > 0 || q&1 == 1) {
		q++
	}
	return float64(q) * math.Float64frombits(uint64(exponent+cut+1023)<<52)
}

// powers are those of ten that fit into 64 bits.
var powers = [mostDigits + 1]uint64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
	1e16, 1e17, 1e18, 1e19}
