package topo_test

import (
	"fmt"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

func ExampleSpline_Solve() {
	model, _ := head.Default().Model()
	placed, _ := layout.Place(model, layout.Set1020())
	sites := layout.Sites(placed)
	spline, err := topo.New(sites, topo.Options{Radius: head.Default().Radius()})
	if err != nil {
		fmt.Println(err)
		return
	}
	// 1 µV for each cm to the right: largest at T8.
	amplitudes := mat.NewDense(len(sites), 1, nil)
	for i, s := range sites {
		amplitudes.Set(i, 0, s.Position.X/10)
	}
	c, err := spline.Solve(amplitudes)
	if err != nil {
		fmt.Println(err)
		return
	}
	right := []r3.Vec{{X: 1}}
	fmt.Printf("%.2f µV, %.3f µV/cm²\n", spline.Interpolate(right, topo.Potential, c).At(0, 0),
		spline.Interpolate(right, topo.CurrentDensity, c).At(0, 0))
	// Output: 8.91 µV, 0.225 µV/cm²
}
