// Package montage says which signals of a recording are potentials of which
// sites, and against what.
//
// A [Montage] is made of the labels of signals. Where they state several
// references, [Rederive] sets every site against one of them by way of the
// others. A [Reference] is what potentials are brought to.
//
// Potentials are mixed here, and nothing is cut, filtered or judged.
package montage
