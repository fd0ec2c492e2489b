package page

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"math"

	"github.com/klauspost/compress/zlib"
)

// A packed table holds numbers as whole multiples of a step. The numbers of a row are
// coded as differences of some order, which are small where a row is smooth, then
// compressed; web/pack.js undoes it.
type packed struct {
	Rows    int     `json:"rows"`
	Columns int     `json:"columns"`
	Order   int     `json:"order"`
	Step    float64 `json:"step"`
	Data    string  `json:"data"` // base64 of zlib of varints
}

// Orders of differences that suit courses over time, which hold noise, and what is smooth.
const (
	ofCourses = 2
	ofSmooth  = 3
)

// pack rounds a table to multiples of step. Values over step must lie within ±2³⁰.
func pack(rows [][]float64, step float64, order int) (packed, error) {
	p := packed{Rows: len(rows), Order: order, Step: step}
	var numbers []byte
	for _, row := range rows {
		p.Columns = len(row)
		last := make([]int64, order) // the differences of each order, zero first
		for _, v := range row {
			n := int64(math.Round(v / step))
			for k, before := range last {
				last[k] = n
				n -= before
			}
			numbers = binary.AppendVarint(numbers, n)
		}
	}
	var b bytes.Buffer
	w, err := zlib.NewWriterLevel(&b, zlib.BestCompression)
	if err == nil {
		_, err = w.Write(numbers)
	}
	if err == nil {
		err = w.Close()
	}
	p.Data = base64.StdEncoding.EncodeToString(b.Bytes())
	return p, err
}
