package page

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/klauspost/compress/zlib"
)

// A packed table holds numbers as whole multiples of a step. The numbers of a
// row are coded as differences of some order, which are small where a row is
// smooth, then compressed; web/pack.js undoes it.
type packed struct {
	Rows    int     `json:"rows"`
	Columns int     `json:"columns"`
	Order   int     `json:"order"`
	Step    float64 `json:"step"`
	Data    string  `json:"data"` // base64 of zlib of varints
}

// Orders of differences that suit courses over time, which hold noise, and what
// is smooth.
const (
	ofCourses = 2
	ofSmooth  = 3
)

// pack rounds a table to multiples of step. Values over step must lie within
// ±2³⁰.
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

// Unpack returns the numbers of a packed table, given as its JSON, as multiples
// of its step, row by row. A table that holds more or less than it says is
// refused.
func Unpack(table []byte) ([][]int64, error) {
	var p packed
	if err := json.Unmarshal(table, &p); err != nil {
		return nil, err
	}
	return p.numbers()
}

// numbers undoes pack: sums of every order, from the highest.
func (p packed) numbers() ([][]int64, error) {
	data, err := base64.StdEncoding.DecodeString(p.Data)
	if err != nil {
		return nil, err
	}
	const most, orders = 1 << 28, 8
	if p.Rows < 0 || p.Columns < 0 || p.Order < 0 || p.Order > orders || p.Columns > 0 && p.Rows > most/p.Columns {
		return nil, fmt.Errorf("a packed table of %d × %d numbers, order %d: expected at most %d, order %d",
			p.Rows,
			p.Columns, p.Order, most, orders)
	}
	r, err := zlib.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	count := p.Rows * p.Columns
	text, err := io.ReadAll(io.LimitReader(r, int64(count)*binary.MaxVarintLen64+1))
	if err != nil {
		return nil, err
	}
	if len(text) < count {
		return nil, errors.New("a packed table with too few numbers")
	}
	rows := make([][]int64, p.Rows)
	for i := range rows {
		last := make([]int64, p.Order)
		rows[i] = make([]int64, p.Columns)
		for j := range rows[i] {
			n, used := binary.Varint(text)
			if used <= 0 {
				return nil, errors.New("a packed table with too few numbers")
			}
			text = text[used:]
			for k := p.Order - 1; k >= 0; k-- {
				last[k] += n
				n = last[k]
			}
			rows[i][j] = n
		}
	}
	if len(text) > 0 {
		return nil, errors.New("a packed table with too many numbers")
	}
	return rows, nil
}
