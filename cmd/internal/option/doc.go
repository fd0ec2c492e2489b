// Package option holds the values of flags: names, sites, quantities, ranges,
// and their grouping in the help. What is done with a value is the verb's
// business; flags that belong together and read files lie with what they read.
package option
