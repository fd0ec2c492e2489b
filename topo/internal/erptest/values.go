package erptest

import (
	"testing"

	"calotte/topo/unit"
)

// Span reads a range.
func Span(tb testing.TB, text string) unit.Span {
	tb.Helper()
	var s unit.Span
	if err := s.Set(text); err != nil {
		tb.Fatal(err)
	}
	return s
}

// Latency reads an instant or a window.
func Latency(tb testing.TB, text string) unit.Latency {
	tb.Helper()
	var l unit.Latency
	if err := l.Set(text); err != nil {
		tb.Fatal(err)
	}
	return l
}
