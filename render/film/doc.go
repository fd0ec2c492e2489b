// Package film draws maps that change with time, frame by frame.
//
// A frame is an image of 256 colours: 63 of the scale under four amounts of
// ink, and white under the same, so that lines are smooth over any colour. What
// stands still is drawn once, through the canvas.
//
// A map that stands still is package scalp's, and the files are written by
// package canvas.
package film
