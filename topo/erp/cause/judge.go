package cause

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"

	"calotte/layout"
	"calotte/topo/measure"
)

// Limits of the rules, ours.
const (
	raised   = 1.3 // times the cap's median of the fast part, at a second electrode over a muscle
	follows  = 0.5 // correlation with the nearest electrode, or the one on the other side
	joins    = 0.5 // share of the worst electrode's size at which another takes part
	humLimit = 10  // µV of amplitude: as large as most responses
	humAlone = 4   // times the median, where it is one electrode's
)

// A Judge tells causes on one cap. It is for one goroutine.
type Judge struct {
	meter           *Meter
	sites           []layout.Name
	nearest, mirror []int // of each site; its nearest one where it has no mirror
	parts           []Parts
	slow            [][]float64
}

// NewJudge prepares for epochs of these sites, two or more, which the meter can
// split.
func NewJudge(sites []layout.Site, meter *Meter) *Judge {
	j := &Judge{meter: meter, parts: make([]Parts, len(sites)), slow: make([][]float64, len(sites))}
	for i, s := range sites {
		j.sites = append(j.sites, layout.Name(s.Name))
		nearest, least := -1, math.Inf(1)
		mirror := -1
		for k, o := range sites {
			if d := r3.Norm(r3.Sub(s.Position, o.Position)); k != i && d < least {
				nearest, least = k, d
			}
			if k != i && layout.Name(o.Name) == layout.Name(s.Name).Mirror() {
				mirror = k
			}
		}
		if mirror < 0 {
			mirror = nearest
		}
		j.nearest, j.mirror = append(j.nearest, nearest), append(j.mirror, mirror)
		j.slow[i] = make([]float64, len(meter.slow))
	}
	return j
}

// Epoch is why an epoch, site × sample in µV against its average, is lost in
// which some sites, one or more, swing too much; and the site that decides.
func (j *Judge) Epoch(rows [][]float64, faulty []string) (why Cause, site string) {
	worst, most := -1, math.Inf(-1)
	for i, row := range rows {
		var slow []float64
		j.parts[i], slow = j.meter.Parts(row)
		copy(j.slow[i], slow)
		if size := max(j.parts[i].Slow,
			j.parts[i].Fast); size > most && slices.Contains(faulty, string(j.sites[i])) {
			worst, most = i, size
		}
	}
	if worst < 0 {
		return Contact, faulty[0]
	}
	return j.causeAt(worst, len(faulty)), string(j.sites[worst])
}

func (j *Judge) causeAt(worst, faulty int) Cause {
	p := j.parts[worst]
	if p.Fast > p.Slow {
		why := Noise(j.sites, j.parts, worst)
		if why == Contact && 2*faulty > len(j.sites) {
			return Movement
		}
		return why
	}
	muscle, _ := muscleAt(j.sites, worst)
	if m := j.mirror[worst]; (muscle == Jaw || muscle == Forehead) && j.parts[m].Slow > joins*p.Slow {
		switch r := stat.Correlation(j.slow[worst], j.slow[m], nil); {
		case r > follows && muscle == Forehead:
			return Blink
		case r < -follows:
			return Sideways
		}
	}
	switch {
	case 2*faulty > len(j.sites):
		return Movement
	case stat.Correlation(j.slow[worst], j.slow[j.nearest[worst]], nil) < follows:
		return Contact
	}
	return Movement
}

// Noise is why a site is noisy whose fast part is the matter, with the parts of
// all sites.
func Noise(sites []layout.Name, parts []Parts, site int) Cause {
	if parts[site].Hums() {
		humming := 0
		for _, p := range parts {
			if p.Hum > joins*parts[site].Hum {
				humming++
			}
		}
		if 2*humming > len(sites) {
			return SharedHum
		}
		return LoneHum
	}
	muscle, others := muscleAt(sites, site)
	if muscle != "" && (others == nil ||
		slices.ContainsFunc(others, func(i int) bool { return Raised(parts, i) })) {
		return muscle
	}
	return Contact
}

// Raised reports whether a site's fast part, without the hum, is larger than
// what is usual on the cap.
func Raised(parts []Parts, site int) bool {
	rest := make([]float64, len(parts))
	for i, p := range parts {
		rest[i] = p.Rest
	}
	return rest[site] > raised*measure.Median(rest)
}

// Hum is whether hum is large, of all electrodes or of one, by their median
// amplitudes in µV as recorded; empty where it is not.
func Hum(median, worst float64) Cause {
	switch {
	case median >= humLimit:
		return SharedHum
	case worst >= humLimit && worst >= humAlone*median:
		return LoneHum
	}
	return ""
}
