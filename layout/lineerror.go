package layout

import "fmt"

// A LineError says what is wrong in a line of a table.
type LineError struct {
	Line int // from 1, the header's
	Err  error
}

func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.Err) }

// Unwrap returns Err.
func (e *LineError) Unwrap() error { return e.Err }
