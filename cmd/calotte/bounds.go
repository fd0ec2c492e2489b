package main

import (
	"fmt"

	"calotte/cmd/internal/console"
)

// A bound is how much of something one run makes at most: more than anybody can
// look at. Work that is done again may have been asked for by a stranger's
// file, so its bound is what takes some seconds.
type bound struct {
	what       string
	own, again int64
	instead    string
}

var (
	mostMaps   = bound{"maps on a sheet", 500, 100, "draw several sheets, or a film (calotte frames)"}
	mostRows   = bound{"values", 4_000_000, 100_000, "ask for fewer sites, latencies or averages at a time"}
	mostFrames = bound{"frames", 20_000, 2_000, "draw fewer, by --every or --during"}
	mostPixels = bound{"pixels of all frames", 200_000_000_000, 1_000_000_000,
		"draw fewer frames, or smaller ones (--side)"}
	mostArrangements = bound{"arrangements", 10_000_000, 100_000, "draw fewer (--arrangements)"}
)

// bounded refuses a product that is above a bound.
func (a *app) bounded(b bound, n ...int) error {
	total := int64(1)
	for _, k := range n {
		total *= int64(k)
	}
	switch {
	case total > b.own:
		return console.Usagef("%d %s: expected at most %d: %s", total, b.what, b.own, b.instead)
	case total > b.again && a.Places != nil:
		return fmt.Errorf("%d %s: work of a record is done again up to %d: do it yourself, as calotte "+
			"origin without "+
			"--redo tells", total, b.what, b.again)
	}
	return nil
}
