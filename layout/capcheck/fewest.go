package capcheck

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// A TapePlan is readings that a technician is to take, with the covariance of
// the turn that they leave and what is made of it.
type TapePlan struct {
	Tapes      []string // "Nz-Fpz", those that tell most first
	Covariance layout.PoseCovariance
	Error      float64
}

// FewestTapes picks readings with the usual error, two opposite ones at a time,
// the pair that lowers an error most, until it is at most a limit or none is
// left. One of a pair alone would take a cap that sits too high for one that is
// turned. The error is what a covariance of the turn does to the purpose, in
// any unit; of no reading it is that of a cap which nobody looked at.
func FewestTapes(head layout.Surface, limit float64,
	errorOf func(layout.PoseCovariance) (float64, error)) (TapePlan, error) {
	plan := TapePlan{Covariance: layout.PoseCovariance{}.PlusTurn(r3.Vec{X: unseenTurn}).
		PlusTurn(r3.Vec{Y: unseenTurn}).PlusTurn(r3.Vec{Z: unseenTurn})}
	var err error
	if plan.Error, err = errorOf(plan.Covariance); err != nil {
		return plan, err
	}
	for plan.Error > limit && len(plan.Tapes) < len(cheapTapes) {
		var best TapePlan
		for pair := range slices.Chunk(cheapTapes[:], 2) {
			tried := plan
			for _, ends := range pair {
				tried.Tapes = append(slices.Clone(tried.Tapes),
					Tape{From: ends[0], To: ends[1]}.String())
			}
			if slices.Contains(plan.Tapes, tried.Tapes[len(plan.Tapes)]) {
				continue
			}
			if tried.Covariance, err = leftBy(head, tried.Tapes); err != nil {
				return plan, err
			}
			if tried.Error, err = errorOf(tried.Covariance); err != nil {
				return plan, err
			}
			if best.Tapes == nil || tried.Error < best.Error*(1-1e-9) {
				best = tried
			}
		}
		plan = best
	}
	return plan, nil
}

// leftBy is the covariance that tapes leave of the turn of a cap that is in its
// place.
func leftBy(head layout.Surface, tapes []string) (layout.PoseCovariance, error) {
	f := tapeFit{height: tellsHeight(tapes)}
	for _, ends := range cheapTapes {
		if !slices.Contains(tapes, Tape{From: ends[0], To: ends[1]}.String()) {
			continue
		}
		line, err := newTapeLine(head, ends[0], ends[1])
		if err != nil {
			return layout.PoseCovariance{}, err
		}
		f.lines = append(f.lines, line)
		f.scale += line.radius() / float64(len(tapes))
	}
	return newTapeView(f.gradients(r3.Vec{}, 0), usualTapeError).covariance(), nil
}
