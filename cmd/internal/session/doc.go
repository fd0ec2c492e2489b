// Package session is what all verbs share: the streams, the global flags, and
// the provenance of what a run makes. What a verb does is not here.
package session
