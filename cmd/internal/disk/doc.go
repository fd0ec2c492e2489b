// Package disk is the one door between the program and the file system: inputs
// that are regular files of a bounded size, and outputs that appear whole or
// not at all.
//
// # How an output takes its place
//
// Every file is written beside its place, under a hidden name that begins with
// ".calotte-", and synced. Only when all files of a run lie there are they
// renamed, in the order in which they were queued, and then their folders are
// synced, so that a power cut after the end of a run takes nothing back. A
// folder of files, such as the frames of a film, takes its place as one: the
// earlier folder steps aside, the new one comes in.
//
// While a run renames it holds the lock of each folder, and it keeps a lock on
// what it writes beside, so that whoever holds the lock of a folder can tell
// what a killed run left there from what another run is still writing: the
// first is swept away, and a folder that was stopped between its two renames
// is brought to its end. Locks are those of flock; where a file system has none
// nothing is swept.
//
// # Folders
//
// A [Folder] is opened once and then reached by names below it, through an
// [os.Root]: names that lead out of it, be it by dots or by links, are refused.
package disk
