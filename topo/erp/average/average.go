package average

// An Average is the mean of epochs, of participants, or a difference of such
// means.
type Average struct {
	Info  Info
	Sites []string    // as written in the source
	Times []float64   // s, evenly spaced, increasing, two or more
	Mean  [][]float64 // site × sample, µV
	SEM   [][]float64 // like Mean; nil when it is not known
	Pairs Pairs
}

// Rate is the number of samples a second.
func (a *Average) Rate() float64 {
	return float64(len(a.Times)-1) / (a.Times[len(a.Times)-1] - a.Times[0])
}
