package layout

import "gonum.org/v1/gonum/spatial/r3"

// MarkOn is where a step of a rule lies on the rule's arc, and how far from its
// start.
func MarkOn(r Rule, step int, arc Arc) (r3.Vec, float64) { return mark{r, step}.on(arc) }

// Facets are the triangles between the sites.
func (h *Hull) Facets() [][3]int { return h.facets }
