// Package head makes models of heads out of tape measures, on which package
// layout places sites.
//
// A [Head] is what a tape measures. The circumference alone gives a sphere;
// with the nasion-inion and the ear-to-ear arc it gives an [Ellipsoid] on which
// the three arcs have the measured lengths. The plane z = 0 is the ring through
// Fpz, T7, Oz and T8. The nasion, the inion and the two preauricular points lie
// below it, a tenth of their arc farther on.
//
// Where the left and right halves of ring and ear-to-ear arc were measured each
// by itself, [Head.Surface] returns a [TwoHalves] that has them. A [Visit] is
// all that is written down on the day, as a head file keeps it.
//
// Which sites lie on it, and how a scan becomes a surface, are not told here.
package head
