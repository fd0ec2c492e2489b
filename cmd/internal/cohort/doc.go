// Package cohort carries out the many command lines of a study: what is done
// already stays, what fails is told and does not stop the others, and a cluster
// can take a share.
//
// A task is a command line with the files that it reads and makes. Its key is
// the SHA-256 of its settings and of the contents of those files. A record of
// each task that ended lies in the folder "status" of the results; a task whose
// record has the same key, and whose files are as recorded, is not done again.
// Records are written after the files that they tell of, so a run that is
// killed leaves tasks without a record, which are done anew.
//
// The results may come from anybody. They are reached through their folder
// alone, records are read as those of a stranger, and nothing is removed that
// no record lists with its hash.
//
// # Decisions
//
// Whose results a folder holds is what status/owner.json says; a folder that
// does not say it, and is not empty, is somebody's. What tells of all results
// has a record, too: it goes, with the methods, the table of quality and the
// index, before anything that they tell of is made anew, so that a run that is
// killed leaves none of an earlier one.
//
// A record that this program cannot have written ends the run before anything
// is done, since what its task made could not be told from what somebody put
// there.
//
// What is known of a file is its stamp: size, time, and where the system has
// them the time of its last change of any kind and its number. What is younger
// than two seconds is read again.
//
// What a task says is kept without folders: in records, the index and the table
// of quality a path is its base name.
//
// A cluster runs the same program. Arrays of jobs do the people, one each, and
// a job after them is a run on one machine, which finds what is done and does
// what is lost or left. Only sbatch, squeue and scontrol are asked. Jobs print
// into a new folder each time, and what the cluster itself prints, which names
// machines, is not kept.
//
// Results lie as BIDS derivatives do, and what a group's file was made of is
// looked for in the folders sub-* and group beside its own.
package cohort
