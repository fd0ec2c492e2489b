package main

// redoneVerbs are the verbs whose work can be done again, and whether their
// arguments are files. Other verbs ask, serve, or make what does not say how it
// was made.
var redoneVerbs = map[string]bool{
	"unmix": true, "average": true, "combine": true,
	"map": true, "values": true, "traces": true, "frames": true, "explore": true,
	"components": true, "asymmetry": true, "compare": true,
	"capcheck": true,
	"guide":    false, // CODE would ask for measures, or look for those beside the user
}
