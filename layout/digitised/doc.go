// Package digitised brings the positions that a digitiser or a scanner gave
// into the coordinates of package layout, and compares layouts.
//
// [ReadElectrodes] and [DecodeCoordinates] read the files of a data set as they
// are. [Digitise] finds unit, axes and centre; its result says how. [Compare]
// is for any two layouts, once [DigitisePair] has brought digitised ones into
// one frame, and [GeometricPairs] for sites whose names say nothing.
//
// The file points is the way to head coordinates, with units, axes and
// landmarks; the files align find axes, centre and order, labels the names that
// stand for no site; pair and compare are for two sets, symmetry for mirrors;
// electrodes and bids are the files.
//
// How a cap sits is package capcheck's question.
package digitised
