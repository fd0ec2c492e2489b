// Package film draws maps that change with time, frame by frame.
//
// A frame is an image of 256 colours: 63 of the scale under four amounts of
// ink, and white under the same, so that lines are smooth over any colour. What
// stands still is drawn once, through the canvas.
//
// A map that stands still is package scalp's, and the files are written by
// package canvas.
//
// # Decisions
//
// A frame is an image of 256 colours: 63 of the scale under four amounts of
// ink, and white under the same, so that lines are smooth over any colour. What
// stands still is drawn once, through the canvas; the rest goes straight into
// the pixels.
//
// A film plays six frames a second unless asked otherwise: a flash takes two
// frames, so it cannot flash more than three times a second, whatever it shows.
package film
