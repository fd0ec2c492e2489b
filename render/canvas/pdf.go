package canvas

import "io"

func writePDF(w io.Writer, f Figure, provenance []byte) error { return nil }
