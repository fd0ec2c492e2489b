// Package paper is what all figures for print share: the one size of type and
// its lines, strokes and fills, margins, ticks, and pages that are filled from
// the top.
//
// Lengths are in points from the upper left corner of the page, y negative
// downward, unless it says otherwise.
//
// It knows no heads, no axes and no data.
package paper
