package array

import "bytes"

// hdf5 is the mark that begins an HDF5 file, or its second block of 512 bytes
// where another header stands before it.
var hdf5 = []byte("\x89HDF\r\n\x1a\n")

// Foreign says of a file with these first bytes, of which it needs 520, what it
// is where that is a container of numbers that Open does not read, and what to
// do; empty: it is none that is known.
func Foreign(start []byte) string {
	second := start[min(512, len(start)):]
	switch {
	case bytes.HasPrefix(start, []byte("MATLAB 7.3")):
		return "a MATLAB 7.3 file, which is HDF5: save it with -v7"
	case bytes.HasPrefix(start, hdf5), bytes.HasPrefix(second, hdf5):
		return "an HDF5 file: export EDF, BDF or an array (.npy, .mat with -v7, .csv)"
	case bytes.HasPrefix(start, []byte("PK\x03\x04")) && bytes.Contains(start, []byte(".npy")):
		return "several NumPy arrays in one file (.npz): save the recording alone, with numpy.save"
	}
	return ""
}
