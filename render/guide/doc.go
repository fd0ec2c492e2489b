// Package guide makes the placement guide that a technician holds: pages of
// paper, black on white, as figures for package canvas. Pages makes the guide
// of one head, Blank the one for any head, before a number exists.
//
// # Sheets
//
//	0   any head: landmarks, cautions, a fan that divides any tape, a ladder of
//	    shares, and what an error of the inion costs
//	1   distances on this head, in the order of work; on its back the cautions in
//	    full and places for what was found
//	1b  six checks of a cap: nasion-Fpz, inion-Oz, the ears to T7 and T8, the ears
//	    to Fpz and to Oz, and Cz at the halves of both arcs. The first three are
//	    the tenths that show a cap's tilt to the front, to a side, and a wrong
//	    size; the next two show a turn about the vertical, the sixth a slide
//	2   checks of the marks, left against right, and the tap test of the plugs
//	3   the head as the technician stands, and the list of electrodes
//	4   strips: tapes of paper at true size
//
// # Distances
//
// Distances are lengths along the scalp in cm. Midline, ear-to-ear arc and ring
// follow a straight tape and are read from its zero. Every other site is given
// by its distances from three marks that are there by then, never by the middle
// of a straight tape, which lies beside the arc. The three are chosen among the
// nearest on the site's side or the midline: those for which the errors of the
// tape (1 mm, more for long distances) move the site least. Sites and their
// mirror images are measured from mirrored marks.
//
// # Strips
//
// A strip's thick edge is the arc. Rows and lower ring turn within the scalp,
// so their edge is the plane curve with the same curvature (layout.Unroll); a
// narrow strip of that shape lies on the arc. A printer that is off is
// corrected by Options.Bar: everything on the strips is drawn 100/Bar times as
// large.
//
// # Words
//
// All that a guide says is in text.yaml, in English. A lab's own words come
// from ReadText. A text without room is an error that names it.
//
// How far a mark may be off (5 mm), where the head rests when it lies back (the
// rows from PO back), the steps of cap sizes and the order of work are common
// practice without a source.
package guide
