// Package study invents a study, synthetic throughout, whose truth is known:
// what package forward computes of dipoles, with noise, blinks and a failing
// electrode. It is no model of a real study.
package study
