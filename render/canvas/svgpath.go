package canvas

// svgPath writes an outline as SVG path data in steps relative to the point
// before. The steps are differences of rounded coordinates, so that rounding
// does not add up along the path.
func svgPath(o outline) string {
	w := svgPathWriter{last: ' '}
	for _, s := range o {
		switch s.verb {
		case move:
			w.command('M')
			w.at, w.start = [2]int64{}, [2]int64{}
			w.to(s.to)
			w.start = w.at
			w.last = 'm' // an absolute move is followed by relative lines
		case line:
			w.command('l')
			w.to(s.to)
		case cube:
			w.command('c')
			w.offset(s.c1)
			w.offset(s.c2)
			w.to(s.to)
		case shut:
			w.command('z')
			w.at = w.start
		}
	}
	return string(w.b)
}

type svgPathWriter struct {
	b         []byte
	last      byte // the command that a bare number repeats
	at, start [2]int64
	fresh     bool // no number since the command
}

func (w *svgPathWriter) command(c byte) {
	if c == w.last && c != 'z' {
		return
	}
	w.b = append(w.b, c)
	w.last, w.fresh = c, true
}

func (w *svgPathWriter) offset(p point) {
	for i, x := range [2]float64{p.x, p.y} {
		w.number(hundredths(x) - w.at[i])
	}
}

func (w *svgPathWriter) to(p point) {
	w.offset(p)
	w.at = [2]int64{hundredths(p.x), hundredths(p.y)}
}

func (w *svgPathWriter) number(n int64) {
	if !w.fresh && n >= 0 {
		w.b = append(w.b, ' ')
	}
	w.fresh = false
	w.b = appendHundredths(w.b, n)
}
