package wearer

const (
	// ElectrodesEnding ends the name of a table of positions.
	ElectrodesEnding = "_electrodes.tsv"
	// CoordinatesEnding ends the name of the JSON that says how they were
	// taken.
	CoordinatesEnding = "_coordsystem.json"
	// HeadEnding ends the name of a head file.
	HeadEnding = "_head.json"
)
