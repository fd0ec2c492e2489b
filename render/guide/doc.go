// Package guide makes the placement guide that a technician holds, as pages.
package guide
