// Package unmixed draws independent components for the person who decides about
// them: a Sheet with a row a component, and the data before and after a Change.
//
// A component has no size of its own. Its courses are given in µV at the site
// where its map is largest, and each map has a scale of its own, since the
// pattern is what tells an eye from a brain. Numbers come from the caller.
package unmixed
