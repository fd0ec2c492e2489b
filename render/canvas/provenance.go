package canvas

const (
	provenanceID      = "provenance"
	provenanceKeyword = "Provenance"
)
