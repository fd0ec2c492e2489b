// Package render is the room of figures.
//
//   - scalp draws maps of the scalp, and sheets of them.
//   - chart draws waveforms, epochs, intervals, responses of filters.
//   - film draws maps that change with time.
//   - unmixed draws independent components, for who decides about them.
//   - cap draws how a fitted cap sits.
//   - guide draws the sheets that tell where electrodes go.
//   - page makes the interactive page.
//   - paper is what figures for print share: type, strokes, pages, stacks.
//   - canvas writes any of them as PNG, TIFF, SVG or PDF, with its provenance.
//   - palette holds the colour scales and the checks that they are fit for use.
package render
