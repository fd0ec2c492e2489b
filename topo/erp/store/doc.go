// Package store keeps averages in files. An average is a set of them:
//
//	STEM_average.tsv    time, then a column a site, µV
//	STEM_sem.tsv        the standard errors, same shape
//	STEM_pairs.tsv      time, then right minus left and its error a pair
//	STEM_epochs.npy     the epochs, where they are kept: epoch × site × sample, µV
//	STEM_epochs.tsv     what became of each event
//	STEM_average.json   what is known beside the numbers, and their SHA-256
//
// STEM is NAME_CONDITION. The JSON is written last, so that a set with one is
// whole. Errors are missing where they are not known. A table made elsewhere is
// read without a JSON.
//
// Files are read from any [fs.FS], by slash-separated names, and written to any
// [Sink].
package store
