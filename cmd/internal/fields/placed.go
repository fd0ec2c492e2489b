package fields

import (
	"context"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/option"
	"calotte/cmd/internal/wearer"
	"calotte/topo/contrast"
)

// Placed are the potentials of an average at some points as they would have
// been read had every cap sat in its place, or all errors of them, and the part
// of these errors that placement makes: point × latency, in µV.
func (f *Fields) Placed(ctx context.Context, index int, points []r3.Vec,
	placement *wearer.Placement) (values, errors *mat.Dense, err error) {
	avg := f.Averages[index]
	units, read, err := f.UnitsOf(ctx, index)
	if err != nil {
		return nil, nil, err
	}
	f.Files = append(f.Files, read...)
	recorded := contrast.Sample{Average: avg, Units: units}
	poses, err := placement.Of(recorded, f.Head.Radius, append(read, f.Paths[index]), "")
	if err != nil {
		return nil, nil, err
	}
	spline, err := f.Spline(avg)
	if err != nil {
		return nil, nil, err
	}
	ideal, err := poses.AtIdeal(recorded, spline)
	if err != nil {
		return nil, nil, err
	}
	readings := make([]contrast.Reading, len(points))
	for i, p := range points {
		readings[i] = contrast.Reading{Places: []r3.Vec{p}, Weights: []float64{1}}
	}
	parts, err := poses.Errors(recorded, spline, readings, f.At)
	if err != nil {
		return nil, nil, err
	}
	errors = mat.NewDense(len(points), len(f.At), nil)
	for i := range points {
		for j := range f.At {
			errors.Set(i, j, parts[i][j].Placement)
		}
	}
	if f.Quantity == option.AllErrors {
		if values, err = ideal.Certainties(contrast.StandardError, nil, spline, points, f.At); err != nil {
			return nil, nil, err
		}
		values.Apply(func(i, j int, sampling float64) float64 {
			parts[i][j].Sampling = sampling
			return parts[i][j].Total()
		}, values)
		return values, errors, nil
	}
	amplitudes, err := f.Amplitudes(ideal.Average)
	if err != nil {
		return nil, nil, err
	}
	c, err := spline.Solve(amplitudes)
	if err != nil {
		return nil, nil, err
	}
	return spline.Interpolate(points, f.Quantity.Interpolated(), c), errors, nil
}
