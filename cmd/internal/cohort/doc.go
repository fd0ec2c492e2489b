// Package cohort carries out the many command lines of a study: what is done already stays,
// what fails is told and does not stop the others, and a cluster can take a share.
//
// A task is a command line with the files that it reads and makes. Its key is the SHA-256 of
// its settings and of the contents of those files. A record of each task that ended lies in
// the folder "status" of the results; a task whose record has the same key, and whose files
// are as recorded, is not done again. Records are written after the files that they tell of,
// so a run that is killed leaves tasks without a record, which are done anew.
//
// The results may come from anybody. They are reached through their folder alone, records are
// read as those of a stranger, and nothing is removed that no record lists with its hash.
package cohort
