// Package layout names the sites of the scalp and says where they are on a
// head.
//
// # Names
//
// The package knows the sites of the 10-20 system (Jasper 1958; Klem et al.
// 1999, Electroencephalogr Clin Neurophysiol Suppl 52:3), of the 10-10 system
// (American Clinical Neurophysiology Society, guideline 2, 2016) and of the
// 10-5 system (Oostenveld & Praamstra 2001, Clin Neurophysiol 112:713),
// the earlobes A1 and A2, the mastoids M1 and M2 and the preauricular points
// LPA and RPA. [Name] is always the guideline's spelling: T7, never T3.
//
// The spellings of the 10-5 sites are from memory of the published figure. The
// ones worth a second look when a table made elsewhere is read are the two
// added rings: NFp1, NFp1h and NFpz between the nasion and Fp, OI1, OI1h and OIz
// between O and the inion, and N1, N1h, I1, I1h on the lower ring.
//
// # Coordinates
//
// Positions are in mm: x to the wearer's right ear, y to the nasion, z up, from
// the centre of the head model. Left and right are the wearer's.
//
// # Heads
//
// A [Head] is what a tape measures. The circumference alone gives a sphere;
// with the nasion-inion and the ear-to-ear arc it gives an [Ellipsoid] on which
// the three arcs have the measured lengths. The plane z = 0 is the ring through
// Fpz, T7, Oz and T8. The nasion, the inion and the two preauricular points lie
// below it, a tenth of their arc farther on.
//
// Where the left and right halves of ring and ear-to-ear arc were measured each
// by itself, [Head.Surface] returns a [TwoHalves] that has them. A [Scan] is a
// head as it was scanned, with the four landmarks marked on it. Sites are placed on
// all of these by the same rules.
//
// # Strips and distances
//
// A straight tape follows the midline, the ear-to-ear arc and the ring only.
// [Unroll] says how a strip has to curve to lie on another arc, by the arc's
// geodesic curvature; [Surface] gives the distances between sites already marked.
//
// # Rules
//
// A rule divides an arc, the section of the head by the plane through three
// points, at fractions of its length. [Rules] is the table; [Place] follows it.
//
// # Digitised points and fitted caps
//
// [ReadElectrodes] reads points as they are in a file and [Digitise] brings them
// into the coordinates above; its result says how. [CheckCap] compares them with
// the sites of [Place]: how the cap is turned, which electrodes are exchanged, and
// what to do. [CheckTapes] does the same for a few distances laid with a tape.
// [Compare] is for any two layouts, once [DigitisePair] has brought digitised ones
// into one frame, and [GeometricPairs] for sites whose names say nothing.
//
// # Where to find what
//
// The files of a subject begin alike.
//
//   - Names: name, nearest (what a slip of the pen may have meant), mirror, label
//     (texts of EDF+), sets (10-20, 10-10, 10-5), site.
//   - Heads: head and its files (headfile, headobject, headvalues), halves, visit
//     (what is written down on the day), surface, ellipsoid, ellipse, newton.
//   - Rules: rules is the table, place follows it, curve and distance are for the tape.
//   - Scans: mesh, its file forms (meshread, meshply, meshobj, meshstl) and sections
//     (meshsection); scan, with its landmarks, tapes and arcs.
//   - Digitised points: electrodes and bids are the files; points is the way to head
//     coordinates, with units, axes and landmarks; align finds axes, centre and
//     order; pointspair and pointscompare are for two sets, pointspairs for mirrors.
//   - Cap check: capcheck and what it fits (capcheckfit, capcheckswap,
//     capcheckheight, capcheckturn); capchecktape for tapes; capcheckadvice and
//     capcheckreseat say what to do.
//   - Numbers as text: centimetres (what a tape shows), digits, vectorjson.
package layout
