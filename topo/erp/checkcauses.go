package erp

import (
	"context"
	"math"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/cause"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/screen"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// judge passes through the epochs, and says which are kept and to what the
// others are lost.
func (c Checkup) judge(ctx context.Context, p *Pipeline, in Input, out *Checked) (reject.Rejections, error) {
	s := &session{pipeline: p}
	if err := s.plan([]Input{in}); err != nil {
		return reject.Rejections{}, err
	}
	pl := s.plans[0]
	var judge *cause.Judge
	if placed, err := layout.Place(c.Surface, pl.montage.Names); err == nil && len(placed) > 1 {
		judge = cause.NewJudge(layout.Sites(placed)[:len(pl.montage.Sites)],
			cause.NewMeter(pl.window.Len(), pl.window.Rate, out.Mains))
	}
	err := s.each(ctx, pl, func(e excerpt) error {
		sites, err := pl.chain.clean(e)
		if err != nil {
			return err
		}
		pl.judge(e, sites)
		if t := &pl.trials[e.trial]; judge != nil && len(t.Faults) > 0 {
			why, site := judge.Epoch(sites, t.Sites())
			out.LostTo = cause.Collect(out.LostTo, why, site, true)
		}
		return nil
	})
	cause.ByEpochs(out.LostTo)
	verdicts := reject.Rejections{}
	for _, t := range pl.trials {
		verdicts.Verdicts = append(verdicts.Verdicts, t.Verdict)
	}
	return verdicts, err
}

// blame finds the causes of the marks and of the hum.
func (c *Checked) blame(sites []string, typical []cause.Parts) {
	names := make([]layout.Name, len(sites))
	for i, s := range sites {
		names[i] = layout.Name(s)
	}
	hum, at := cause.Hum(c.Hum, c.HumWorst), slices.Index(sites, c.HumSite)
	if hum == cause.SharedHum || hum == cause.LoneHum && typical[at].Hums() {
		c.Causes = cause.Collect(c.Causes, hum, c.HumSite, false)
		if hum == cause.SharedHum { // places do not tell then
			c.Marks = slices.DeleteFunc(c.Marks, func(m screen.Mark) bool {
				return m.Reason == screen.Exchanged || m.Reason == screen.Unlike
			})
		}
	}
	for _, mark := range c.Marks {
		c.Faults = append(c.Faults, mark.String())
		why, site := cause.Contact, slices.Index(sites, mark.Site)
		switch {
		case mark.Reason == screen.Flat:
			why = cause.Dead
		case mark.Reason == screen.Exchanged:
			c.Causes = cause.Collect(c.Causes, cause.Exchanged, mark.Site, false)
			c.Causes = cause.Collect(c.Causes, cause.Exchanged, mark.With, false)
			continue
		case mark.Reason == screen.Buzzing && !typical[site].Hums() && !cause.Raised(typical, site):
			continue // the slope of a blink buzzes as well
		case mark.Reason == screen.Buzzing || typical[site].Fast > typical[site].Slow:
			why = cause.Noise(names, typical, site)
		}
		c.Causes = cause.Collect(c.Causes, why, mark.Site, false)
	}
	slices.SortStableFunc(c.Causes, func(a, b cause.Found) int { return a.Cause.Rank() - b.Cause.Rank() })
}

// A makeup follows what the sites are made of second by second, against their
// average, so that a reference that picks up muscle is no site's fault.
type makeup struct {
	meter *cause.Meter
	apart [][]float64 // memory of a second against its average
	hums  *hums
	each  [][][]float64 // slow, fast, rest × site × second
}

func newMakeup(mains unit.Frequency, sites int, w epoch.Window) *makeup {
	return &makeup{cause.NewMeter(w.Len(), w.Rate, 0), matrix.New(sites, w.Len()), newHums(mains, sites, w),
		[][][]float64{make([][]float64, sites), make([][]float64, sites), make([][]float64, sites)}}
}

func (m *makeup) add(rows [][]float64) {
	if len(m.each[0][0]) == mostSeconds {
		return
	}
	common := make([]float64, len(rows[0]))
	for _, row := range rows {
		for t, x := range row {
			common[t] += x / float64(len(rows))
		}
	}
	for i, row := range rows {
		for t, x := range row {
			m.apart[i][t] = x - common[t]
		}
		parts, _ := m.meter.Parts(m.apart[i])
		for k, size := range []float64{parts.Slow, parts.Fast, parts.Rest} {
			m.each[k][i] = append(m.each[k][i], size)
		}
	}
	m.hums.add(m.apart)
}

// typical are the medians over the seconds, of each site.
func (m *makeup) typical(mains float64) []cause.Parts {
	typical := make([]cause.Parts, len(m.apart))
	for i := range typical {
		typical[i] = cause.Parts{Slow: measure.Median(m.each[0][i]), Fast: measure.Median(m.each[1][i]),
			Rest: measure.Median(m.each[2][i])}
	}
	if mains == 0 {
		return typical
	}
	for i, hum := range m.hums.medians(mains) {
		p := &typical[i]
		p.Hum, p.Rest = hum, math.Sqrt(max(0, p.Rest*p.Rest-hum*hum/2))
	}
	return typical
}
