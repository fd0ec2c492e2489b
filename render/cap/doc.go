// Package cap draws how a fitted cap sits: a view of the head from above with
// the cap's electrodes, from where each belongs to where it sits, and what to
// do about it.
//
// Arrows are for what to do and for nothing else, numbered as the advice is;
// what is wrong are lines from an open circle to a filled mark, drawn longer by
// a whole number where they would be too short to see. An exchanged electrode's
// line starts at its partner's place, so that it shows the cap's displacement.
// Where the sides of the whole cap are exchanged there are no lines: the names
// stand where their electrodes sit.
//
// What is found and advised is package capcheck's; nothing is judged here.
package cap
