// Package wearer finds whose head it is, as flags say: tapes, files, scans,
// digitised electrodes. Where sites lie on a head, package layout computes.
package wearer
