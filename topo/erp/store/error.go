package store

// An Error is what is wrong with a file.
type Error struct {
	Name    string // of the file, as it was asked for
	Problem string // reads on after the name; empty: Err says it
	Err     error
}

// Error implements error.
func (e *Error) Error() string {
	if e.Problem != "" {
		return e.Name + " " + e.Problem
	}
	return e.Name + ": " + e.Err.Error()
}

// Unwrap returns the cause, if there is one.
func (e *Error) Unwrap() error { return e.Err }
