package screen

import (
	"errors"
	"math"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/internal/stat"
)

// Marks returns what is wrong with which sites: flat ones first, then
// exchanges, noisy sites and those unlike their neighbours. It is an error when
// no piece was added or too few sites are left for the spline.
func (s *Screen) Marks() ([]Mark, error) {
	if s.pieces == 0 {
		return nil, errors.New("no data to look for bad electrodes in: most sites are flat or not " +
			"finite throughout")
	}
	var marks []Mark
	var alive []int
	for i, site := range s.sites {
		if 2*s.flat[i] > s.pieces {
			marks = append(marks, Mark{Site: site.Name, Reason: Flat,
				Value: float64(s.flat[i]) / float64(s.pieces),
				Z:     math.NaN()})
		} else {
			alive = append(alive, i)
		}
	}
	l, exchanges, noisy, loud, err := s.put(alive)
	if err != nil {
		return nil, err
	}
	marks = append(marks, exchanges...)
	marks = append(append(marks, loud...), noisy...)
	for _, m := range noisy {
		if l, err = l.drop(m.Site); err != nil {
			return nil, err
		}
	}
	l.covariance = selected(s.even, l.channels)
	unlike, err := s.unlike(l)
	return append(marks, unlike...), err
}

// put finds the exchanges and puts the channels right, and then the noisy
// sites. A loud channel is less in the way at the edge of the cap, which looks
// like an exchange: one that is still noisy in its new place is loud where it
// was, and is left out before the exchanges are looked for again.
func (s *Screen) put(channels []int) (l *leftOut, exchanges, noisy, loud []Mark, err error) {
	for {
		if l, err = s.leaveOneOut(channels); err != nil {
			return nil, nil, nil, nil, err
		}
		exchanges = l.exchanges(s.Relief)
		noisy = s.noisy(l)
		found := false
		for _, m := range noisy {
			moved := slices.ContainsFunc(exchanges,
				func(e Mark) bool { return e.Site == m.Site || e.With == m.Site })
			if m.Reason != Noisy || !moved {
				continue
			}
			found = true
			at := slices.IndexFunc(l.sites, func(site layout.Site) bool { return site.Name == m.Site })
			channel := l.channels[at]
			m.Site = s.sites[channel].Name
			loud = append(loud, m)
			channels = slices.DeleteFunc(slices.Clone(channels), func(i int) bool { return i == channel })
		}
		if !found {
			return l, exchanges, noisy, loud, nil
		}
	}
}

// noisy marks the loud sites that their neighbours do not explain, and those
// with high frequencies, each once.
func (s *Screen) noisy(l *leftOut) []Mark {
	left := l.variances()
	var marks []Mark
	for k, m := range s.loud(l, s.sd, Noisy) {
		if m.Z > s.Threshold && left[k] > unexplained*l.covariance.At(k, k) {
			marks = append(marks, m)
		}
	}
	for _, m := range s.loud(l, s.buzz, Buzzing) {
		if m.Z > s.Threshold && !marked(marks, m.Site) {
			marks = append(marks, m)
		}
	}
	return marks
}

// typical is the geometric mean over the pieces in which the site is not flat.
func (s *Screen) typical(sums []float64, site int) float64 {
	if alive := s.pieces - s.flat[site]; alive > 0 {
		return math.Exp(sums[site] / float64(alive))
	}
	return 0
}

// loud compares the typical value of each site with that of the others.
func (s *Screen) loud(l *leftOut, sums []float64, reason string) []Mark {
	marks := make([]Mark, len(l.sites))
	logs := make([]float64, len(l.sites))
	for k, channel := range l.channels {
		marks[k] = Mark{Site: l.sites[k].Name, Reason: reason, Value: s.typical(sums, channel)}
		logs[k] = math.Log(marks[k].Value)
	}
	for k, z := range deviations(logs) {
		marks[k].Z = z
	}
	return marks
}

// deviations returns z = (x − median)/(1.4826 MAD) of each value.
func deviations(values []float64) []float64 {
	centre, deviation := stat.Middle(values)
	z := make([]float64, len(values))
	for i, x := range values {
		z[i] = (x - centre) / (normalDeviation * deviation)
	}
	return z
}

func marked(marks []Mark, site string) bool {
	return slices.ContainsFunc(marks, func(m Mark) bool { return m.Site == site })
}

// unlike marks the site with the largest leave-one-out error, leaves it out,
// and looks again: a bad site spoils the prediction of its neighbours, too.
func (s *Screen) unlike(l *leftOut) ([]Mark, error) {
	var marks []Mark
	for len(l.sites) > 5 {
		variances := l.variances()
		logs := make([]float64, len(variances))
		for i, v := range variances {
			logs[i] = math.Log(v/l.expected[i]) / 2
		}
		z := deviations(logs)
		worst := slices.Index(z, slices.Max(z))
		if !(z[worst] > s.Threshold) {
			break
		}
		marks = append(marks, Mark{Site: l.sites[worst].Name, Reason: Unlike,
			Value: math.Sqrt(variances[worst] / l.usual()), Z: z[worst]})
		var err error
		if l, err = l.drop(l.sites[worst].Name); err != nil {
			return nil, err
		}
	}
	return marks, nil
}
