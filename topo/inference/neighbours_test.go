package inference_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/inference"
)

func TestNeighbours(t *testing.T) {
	placements, err := layout.Place(head.Sphere(89), layout.Set1010())
	if err != nil {
		t.Fatal(err)
	}
	var positions []r3.Vec
	index := map[string]int{}
	for i, s := range layout.Sites(placements) {
		index[s.Name] = i
		positions = append(positions, s.Position)
	}
	got, err := inference.Neighbours(positions)
	if err != nil {
		t.Fatal(err)
	}
	near := func(a, b string) bool { return slices.Contains(got[index[a]], index[b]) }
	for _, pair := range [][2]string{{"Cz", "C1"}, {"Cz", "FCz"}, {"P7", "P5"}, {"P7", "PO7"}, {"Oz", "Iz"},
		{"O1", "PO7"}} {
		if !near(pair[0], pair[1]) || !near(pair[1], pair[0]) {
			t.Errorf("%v are no neighbours", pair)
		}
	}
	for _, pair := range [][2]string{{"Cz", "Pz"}, {"T7", "T8"}, {"Nz", "Iz"}, {"F9", "F10"}, {"C3", "P3"}} {
		if near(pair[0], pair[1]) {
			t.Errorf("%v are neighbours", pair)
		}
	}
	for name, i := range index {
		if n := len(got[i]); n < 2 || n > 9 {
			t.Errorf("%s has %d neighbours", name, n)
		}
	}
}

// Being neighbours is mutual and does not depend on how the head is turned
// about its axis.
func TestNeighboursTurned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		turn := rapid.Float64Range(0, 6).Draw(t, "turn")
		random := rand.New(rand.NewPCG(seed, 1))
		var one, two []r3.Vec
		for len(one) < 20 {
			p := r3.Vec{X: random.NormFloat64(), Y: random.NormFloat64(), Z: math.Abs(random.NormFloat64())}
			one = append(one, p)
			two = append(two, r3.NewRotation(turn, r3.Vec{Z: 1}).Rotate(p))
		}
		a, err := inference.Neighbours(one)
		b, err2 := inference.Neighbours(two)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if fmt.Sprint(a) != fmt.Sprint(b) {
			t.Errorf("%v and, turned, %v", a, b)
		}
		for i, list := range a {
			for _, k := range list {
				if !slices.Contains(a[k], i) {
					t.Errorf("%d is a neighbour of %d, and not the other way", i, k)
				}
			}
		}
	})
}
