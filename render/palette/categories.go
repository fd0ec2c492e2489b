package palette

import (
	"image/color"
	"sync"
)

// Categories are the colours of curves that are told apart by name, in the
// order in which they are to be used: indigo, rust, wine, sage, slate and
// ochre. The values, in OKLCh, were searched for under the condition that any
// two are apart to every eye and neighbours in the order differ in grey print;
// line styles tell apart what colours cannot.
var Categories = sync.OnceValue(func() []color.RGBA { return screen(categories) })

// CategoriesOnDark are the same hues for curves on a dark ground, under the
// same conditions.
var CategoriesOnDark = sync.OnceValue(func() []color.RGBA { return screen(categoriesOnDark) })

func screen(colours []lab) []color.RGBA {
	var list []color.RGBA
	for _, c := range colours {
		list = append(list, c.linear().rgba())
	}
	return list
}

var categories = []lab{
	polar(0.33, 0.15, 270),
	polar(0.50, 0.16, 42),
	polar(0.34, 0.13, 357),
	polar(0.74, 0.07, 130),
	polar(0.53, 0.09, 215),
	polar(0.65, 0.13, 80),
}

var categoriesOnDark = []lab{
	polar(0.65, 0.11, 270),
	polar(0.78, 0.10, 42),
	polar(0.58, 0.15, 357),
	polar(0.94, 0.09, 130),
	polar(0.77, 0.13, 215),
	polar(0.65, 0.10, 80),
}
