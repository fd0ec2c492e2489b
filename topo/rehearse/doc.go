// Package rehearse runs a study many times before it is run: on the noise of
// recordings in which the conditions' labels mean nothing any more, with an
// effect planted, for any number of people and epochs.
//
// A reading is what a study looks at in an epoch, one number in µV: the mean of
// a window at a site, say, or that at the right site less that at the left.
//
// # A rehearsal
//
// A person's epochs of both conditions are pooled, so that nothing tells them
// apart. A rehearsal draws people, with replacement, and for each draws epochs
// for either condition, with replacement; the difference of the two means is
// noise alone. To it the effect is added: its size times what an effect of 1 µV
// is in each reading, plus, for each person, a normal deviate of the standard
// deviation between people, in the same proportion. Every reading is tested as
// it would be: p by sign flips over people, the interval of the mean by t.
//
// What is left out makes a rehearsal kinder than a study: people whose effects
// differ, unless that is said; people who are unlike those recorded, of whom
// few are few; recordings that get worse in a longer session.
//
// Rehearsal i draws from (seed, i), whatever the size of the effect, so that
// sizes are compared on the same noise.
package rehearse
