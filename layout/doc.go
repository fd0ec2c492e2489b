// Package layout names the sites of the scalp and says where they are on a
// head.
//
// # Names
//
// The package knows the sites of the 10-20 system (Jasper 1958; Klem et al.
// 1999, Electroencephalogr Clin Neurophysiol Suppl 52:3), of the 10-10 system
// (American Clinical Neurophysiology Society, guideline 2, 2016) and of the
// 10-5 system (Oostenveld & Praamstra 2001, Clin Neurophysiol 112:713), the
// earlobes A1 and A2, the mastoids M1 and M2 and the preauricular points LPA
// and RPA. [Name] is always the guideline's spelling: T7, never T3.
//
// The spellings of the 10-5 sites are from memory of the published figure. The
// ones worth a second look when a table made elsewhere is read are the two
// added rings: NFp1, NFp1h and NFpz between the nasion and Fp, OI1, OI1h and
// OIz between O and the inion, and N1, N1h, I1, I1h on the lower ring.
//
// # Coordinates
//
// Positions are in mm: x to the wearer's right ear, y to the nasion, z up, from
// the centre of the head model. Left and right are the wearer's.
//
// # Heads
//
// A [Surface] is the outside of a head, be it computed from tape measures
// (package head) or scanned (package scan). Sites are placed on all of them by
// the same rules.
//
// # Strips and distances
//
// A straight tape follows the midline, the ear-to-ear arc and the ring only.
// [Unroll] says how a strip has to curve to lie on another arc, by the arc's
// geodesic curvature; [Surface] gives the distances between sites already
// marked.
//
// # Rules
//
// A rule divides an arc, the section of the head by the plane through three
// points, at fractions of its length. [Rules] is the table; [Place] follows it.
//
// # Rooms
//
//   - head makes surfaces of what a tape measures; its files and visits.
//   - scan makes them of a scanned mesh with four landmarks.
//   - digitised brings digitised points into the coordinates above and compares
//     layouts.
//   - capcheck tells how a fitted cap sits, and what to do.
//
// Here the files name, nearest (what a slip of the pen may have meant), mirror,
// side, label (texts of EDF+), landmark, sets (10-20, 10-10, 10-5), site, find
// and written (lists of names as others write them) are about names; rules is
// the table, place follows it, curve and surface are for the tape; centimetres
// and signed are numbers as a tape and a check show them.
package layout
