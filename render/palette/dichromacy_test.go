package palette

import "math"

// An eye carries linear sRGB to the colours that its owner tells apart.
type eye struct {
	name string
	m    [3][3]float64
}

// The three dichromacies: Machado, Oliveira and Fernandes, "A
// physiologically-based model for simulation of color vision deficiency",
// 2009, severity 1.0, applied to linear light (from memory; each row adds up
// to one, so that grey stays grey).
var eyes = []eye{
	{"common", [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}},
	{"protanopia", [3][3]float64{
		{0.152286, 1.052583, -0.204868},
		{0.114503, 0.786281, 0.099216},
		{-0.003882, -0.048116, 1.051998}}},
	{"deuteranopia", [3][3]float64{
		{0.367322, 0.860646, -0.227968},
		{0.280085, 0.672501, 0.047413},
		{-0.011820, 0.042940, 0.968881}}},
	{"tritanopia", [3][3]float64{
		{1.255528, -0.076749, -0.178779},
		{-0.078411, 0.930809, 0.147602},
		{0.004733, 0.691367, 0.303900}}},
}

func (e eye) sees(c linear) lab {
	in := [3]float64{c.r, c.g, c.b}
	var out [3]float64
	for i, row := range e.m {
		for j, w := range row {
			out[i] += w * in[j]
		}
		out[i] = math.Max(0, math.Min(1, out[i]))
	}
	return linear{out[0], out[1], out[2]}.lab()
}
