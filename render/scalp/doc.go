// Package scalp draws maps of the scalp: a [Sheet] of them, composed into a
// [Plate] that package canvas writes as PNG, TIFF, SVG or PDF. Views,
// projections, fields and their contours are open to other figures of a head. A
// [Map] is one map for plots of gonum.org/v1/plot, of any program.
//
// # Maps
//
// A map shows the head from above, nose at the top, or from a side
// (Sheet.Views); left and right are the wearer's. From above, unless
// Sheet.Spacing says otherwise, directions from the head's centre are laid on
// the page by the azimuthal equidistant projection about the vertex (J. P.
// Snyder, "Map Projections: A Working Manual", US Geological Survey
// Professional Paper 1395, 1987, chapter 25): the distance from the middle is
// the angle from the vertex. The edge is the ring through nasion, preauricular
// points and inion, 112.5° from the vertex on the sphere. The outline has the
// head's own proportions, and on any head the ring is the edge; TopView says
// how.
//
// From the side the projection is orthographic; the map ends at the same ring,
// below which the outline runs on to tell which way the head looks.
//
// The spherical spline is evaluated at 97 × 97 nodes across the map (145 × 145
// for more than 128 sites, 193 × 193 for what is rougher than potentials) and
// interpolated between them by cubics with continuous slopes. Colours and
// contours both come from that surface. It departs from the spline by less than
// 0.1 % of the scale, but for current densities of pure noise at 345 sites: 0.5
// %.
//
// Instead of a picture a field may be drawn in bands (Sheet.Form), areas in one
// colour each between neighbouring ticks of the scale, for journals that refuse
// pictures in line art. What is within one step of zero is one band, in the
// colour of zero: where zero lies depends on the reference. Bands are laid over
// each other from zero outward, so that no gap shows between them (bands.go,
// rings.go).
//
// # Scale
//
// One scale, symmetric about zero, serves a whole sheet, so that equal colours
// are equal values. Its limit is the largest magnitude at any electrode, or
// what is surely larger between them: a known value less two errors of the
// interpolation. It is rounded outward; contours run at its ticks, and no
// closer than twice the standard error where that is known. What is clipped
// makes the bar end in points, and the legend gives its share and the extremes
// where the field is known; for statistics, those at the electrodes.
//
// The line at zero is grey and not the strongest, because it depends on the
// reference where zero lies. A map that stays within one step of zero has no
// line at all, and a map of current density none at zero: it would follow
// noise.
//
// # Pages
//
// Latencies stand side by side, on several lines where the width does not hold
// them. Where there is but one latency, the rows stand side by side instead.
//
// # Territory
//
// A map shows in full colour what the electrodes know: there the error of the
// interpolation (package topo) is at most an eighth of the largest magnitude at
// any electrode. Up to a third it is guessed, and hatched; beyond, and over 15
// mm outside of the electrodes, there is only paper: no colour, no contour, no
// extreme. One error is taken for all maps that share a scale, so that
// territory does not change from map to map; repaired electrodes know nothing.
// On unseen electrodes of open recordings the map is off by a fifth of the
// largest magnitude in at most one case of twenty where it is known (topo's
// tests).
//
// Doubt is not colour: where a value is within some errors of zero, dots lie
// over the map, up to a line like no contour (Sheet.Boundary). A site that
// departs from what the others predict (topo.Spline.Departures) gets a ring.
//
// # Decisions
//
// A t on a map is exact everywhere: the units behind an average, people or
// epochs, give a spread whose columns go through the same spline (Row.Spread);
// no error is interpolated.
//
// A field is computed on a chart, not on the page. From above the chart is the
// map; a side view is orthographic, and at its rim the field of the page has an
// infinite slope, so its chart is azimuthal about the eye's axis. Contours are
// traced on the chart and carried to the page.
package scalp
