// Package event chooses events of a recording and pairs them.
//
// # Selectors
//
// A [Selector] says which events are meant, by their labels, by the columns of
// their table, or by their time:
//
//	T1                                           events labelled T1
//	T1,T2                                        labelled T1 or T2
//	trial_type:known and response:correct        two columns
//	response_time<0.8 and not response:n/a       a number, and a value that is there
//	(known or novel) and time:0s..60s            brackets, and a stretch of time
//	"go left" or trial_type:'not sure'           quotes around blanks and keywords
//
// The grammar, where { } repeats and | separates choices:
//
//	selector   = all { "or" all }
//	all        = one { "and" one }
//	one        = "not" one | "(" selector ")" | labels | values | comparison | time
//	labels     = word { "," word }                the event's text is one of them
//	values     = word ":" word { "," word }       the column's value is one of them
//	comparison = word operator number             the column's value compares so
//	operator   = "<" | "<=" | ">" | ">=" | "=" | "!="
//	time       = "time" ":" span                  both ends included, with units
//
// A word is bare or in double or single quotes, in which a backslash takes away
// the meaning of the character behind it. Bare words hold no blank and none of
// ( ) , : < > = ! " ' and backslash. A quoted word is never a keyword. "not"
// binds closer than "and", "and" closer than "or". Case matters everywhere.
// Blanks between words mean nothing.
//
// # What a selector means
//
// Labels and values compare as text, all of it: 1 is not 1.0. The value n/a can
// be asked for like any other. Comparisons compare as numbers. Where an event
// has no such column, or no number in it, the outcome of a comparison is not
// known: the event is not selected, and "not" in front does not select it
// either, so that "not response_time<0.8" are the responses that came late and
// not those that never came. "and" and "or" go on from there as in the logic of
// three values (Kleene 1938): not known or true is true, not known and false is
// false. A column of values that an event does not have reads n/a.
//
// Times are seconds from the start that the recording's header gives, as those
// of
// [recording.Event].
//
// # Pairs
//
// [Pairs] finds the response that belongs to each stimulus, and the response time.
package event
