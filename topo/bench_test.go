package topo

import (
	"fmt"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
)

// grid is as many points as a coarse drawing grid has, 97².
const grid = 97 * 97

func eachSet(b *testing.B, run func(b *testing.B, sites []layout.Site)) {
	for _, sites := range [][]layout.Site{sites64(b), sites345(b)} {
		b.Run(fmt.Sprintf("sites=%d", len(sites)), func(b *testing.B) { run(b, sites) })
	}
}

func BenchmarkNew(b *testing.B) {
	eachSet(b, func(b *testing.B, sites []layout.Site) {
		build(b, sites, Options{}) // the table is built once in a process
		for b.Loop() {
			build(b, sites, Options{})
		}
	})
}

func BenchmarkSolve(b *testing.B) {
	eachSet(b, func(b *testing.B, sites []layout.Site) {
		s, v := build(b, sites, Options{}), white(len(sites), 250)
		for b.Loop() {
			solve(b, s, v)
		}
	})
}

func BenchmarkBasis(b *testing.B) {
	eachSet(b, func(b *testing.B, sites []layout.Site) {
		s, points := build(b, sites, Options{}), spread(grid)
		for _, q := range []Quantity{Potential, CurrentDensity} {
			s.Basis(points[:1], q)
			b.Run(q.String(), func(b *testing.B) {
				for b.Loop() {
					s.Basis(points, q)
				}
			})
		}
	})
}

func BenchmarkVariance(b *testing.B) {
	eachSet(b, func(b *testing.B, sites []layout.Site) {
		s, points := build(b, sites, Options{}), spread(grid)
		covariance := mat.NewDiagDense(len(sites), constant(len(sites)).RawVector().Data)
		for b.Loop() {
			if _, err := s.Variance(points, Potential, covariance); err != nil {
				b.Fatal(err)
			}
		}
	})
}
