package inference_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// The numbers of scipy and numpy, by testdata/inference/reference.py.
type reference struct {
	Paired struct {
		Data            [][]float64
		T, P, Corrected []float64
		Simultaneous    float64
		Joint           []float64 // the median, its p, the share, its p
	}
	Groups struct {
		First, Second [][]float64
		T, P          []float64
	}
	BCa struct {
		Values      []float64
		Draws       [][]int
		Ends, Scipy []float64
	}
	FDR      struct{ P, Adjusted []float64 }
	Enhanced struct {
		Data                [][]float64
		T, Value, Corrected []float64
	}
}

func readReference(t *testing.T) (r reference) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "inference", "reference.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}
