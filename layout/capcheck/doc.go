// Package capcheck tells how a fitted cap sits, and what to do about it.
//
// [CheckSites] compares digitised electrodes with the sites of layout.Place:
// how the cap is turned, which electrodes are exchanged, whether it sits too
// high. [CheckTapes] does the same for a few distances laid with a tape. A
// [Check] holds what was found and the [Advice], in the order in which it is to
// be followed.
//
// The file fit finds turn and height, swap the exchanges; tape and tapefit are
// for tapes; advice, moves, next and reseat say what to do.
//
// A turn that the readings cannot see is never taken for none: it is not known,
// its variance in [Check.Covariance] is that of a cap which nobody looked at,
// and the advice asks for the tape that tells most of it.
//
// It draws nothing and reads no files: package cap of render draws it.
package capcheck
