// Package reject says which epochs are not averaged, and what was lost to what.
//
// A [Rule] measures a site of an epoch and holds it against a limit, by hand or
// found in the data ([RobustLimits]); an [Exclusion] is a person's decision.
// [Judge] finds all faults of an epoch, not only the first, so that
// [Rejections] can count what each site alone has cost, and say which repair
// would bring the most back.
//
// Which rules hold for a recording, and when an epoch is asked, package erp
// decides.
package reject
