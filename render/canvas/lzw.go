package canvas

// The Lempel-Ziv-Welch code of TIFF 6.0, section 13: codes of 9 to 12 bits,
// most significant bit first, that grow one code earlier than elsewhere.
const (
	lzwClear = 256
	lzwEnd   = 257
	lzwFirst = 258
	// lzwMost is the last code that is given out before the table is
	// cleared, since the codes' width would not hold more.
	lzwMost = 4094
)

// packLZW compresses one strip.
func packLZW(data []byte) []byte {
	w := bitWriter{}
	width := uint(9)
	next := lzwFirst
	table := map[uint32]int{} // a code and the byte after it: their own code
	w.write(lzwClear, width)
	prefix := -1
	for _, b := range data {
		if prefix < 0 {
			prefix = int(b)
			continue
		}
		key := uint32(prefix)<<8 | uint32(b)
		if code, ok := table[key]; ok {
			prefix = code
			continue
		}
		w.write(prefix, width)
		table[key] = next
		next++
		switch {
		case next > lzwMost:
			w.write(lzwClear, width)
			clear(table)
			next, width = lzwFirst, 9
		case next == 1<<width:
			width++
		}
		prefix = int(b)
	}
	if prefix >= 0 {
		w.write(prefix, width)
		next++ // the reader adds an entry here, and may widen its codes
		if next == 1<<width {
			width++
		}
	}
	w.write(lzwEnd, width)
	return w.bytes()
}

// A bitWriter packs codes, the most significant bit first.
type bitWriter struct {
	out  []byte
	held uint32
	bits uint
}

func (w *bitWriter) write(code int, width uint) {
	w.held = w.held<<width | uint32(code)
	w.bits += width
	for w.bits >= 8 {
		w.bits -= 8
		w.out = append(w.out, byte(w.held>>w.bits))
	}
}

func (w *bitWriter) bytes() []byte {
	if w.bits > 0 {
		w.out = append(w.out, byte(w.held<<(8-w.bits)))
		w.bits = 0
	}
	return w.out
}
