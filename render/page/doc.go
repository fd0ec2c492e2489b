// Package page writes a study as one interactive page: a single HTML file that
// needs no network and asks for nothing. Maps of the conditions follow a cursor
// in the waveforms.
//
// What the page computes is the product of a matrix and the amplitudes of one
// sample. The matrix is embedded: for each node of a grid on the head, and for
// each electrode, the weights of the spline (topo.Spline.Weights). The grid
// lies on the chart of the view from above, and all views look their values up
// on it, so one grid serves them. Interpolation between nodes departs from the
// spline by less than 0.3 % of the scale (see the tests).
//
// # What is not known
//
// Beside the kernel stands how wrong the interpolation may be: E = σ √shape,
// where shape, the variance of its error over the field's (topo.Ignorance, with
// the nugget's noise), does not change with time, and σ is that of a condition
// at a sample. The nugget is one for all conditions and samples. So are the
// bounds of what is known, guessed and left empty (topo.Territory): they do not
// move with the cursor, and the electrodes' largest magnitude and the mean σ²
// of all samples draw them. Conditions whose repaired electrodes differ have
// bounds of their own. Departing electrodes (topo.Spline.Departures) are looked
// for in all samples of a condition together.
//
// The error of sampling is told at the electrodes and not between them, since
// that takes what each person or epoch has at every electrode, and a page of a
// group is not to hold single people. A difference that is made on the page,
// since its average was not given, has neither errors nor rings.
//
// The scripts in web are bundled with the chart library in web/library into
// bundle.js, by
//
//	go generate ./render/page
//
// # Decisions
//
// The page lets nothing in or out. Its Content-Security-Policy names the hashes
// of its own script and style; texts of the data become text nodes, never
// markup (web/svg.js). A served page may ask its own server whether averages
// have changed.
//
// It moves by itself only when asked, and then six steps a second, as a film
// does.
package page

//go:generate go tool esbuild web/main.js --bundle --minify --format=esm --target=es2022 --charset=utf8 --tsconfig=web/tsconfig.json --outfile=bundle.js --log-level=warning
