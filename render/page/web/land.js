// What the electrodes know of the head: how wrong the interpolation may be, and
// how far maps go.

import { contours } from "./contour.js";

/** What stands at a place. */
export const [known, guessed, paper] = [0, 1, 2];

/** What conditions with the same electrodes share. */
export class Land {
  constructor(meta, shape, atSites, [guess, bare], grid) {
    Object.assign(this, { electrodes: meta.electrodes, indicative: meta.indicative });
    this.atSites = atSites.map(root);
    this.squares = [shape, guess, bare].map((row) => grid.square(row));
    this.seen = new Map(); // what on computed
  }

  /** At the nodes of a view: the error over the field's σ, and what stands. */
  on(view) {
    if (!this.seen.has(view)) {
      const [shape, guess, bare] = this.squares.map((s) => view.lattice.sample(s));
      this.seen.set(view, { shape: shape.map(root), standing: Uint8Array.from(guess, (g, i) => standing(g, bare[i])) });
    }
    return this.seen.get(view);
  }

  /** The same at a place of the view; undefined beside the map. */
  at({ lattice }, x, y) {
    const [shape, guess, bare] = this.squares.map((s) => lattice.valueAt(s, x, y));
    return shape === undefined ? undefined : { shape: root(shape), standing: standing(guess, bare) };
  }
}

const root = (v) => Math.sqrt(Math.max(v, 0));
const standing = (guess, bare) => (bare > 0 ? paper : guess > 0 ? guessed : known);

/** The σ of a condition's field at an instant; undefined where it is not known. */
export const sigmaOf = (condition, read) => condition.sigma && Math.max(0, read(condition.sigma[0]));

/** The error of the interpolation, to be drawn as a field. It has no kernel. */
export class InterpolationError {
  constructor(meta) {
    this.meta = meta;
    this.nodes = 0; // that a map has before its sites
  }

  over(view, condition, read) {
    const { territory } = condition;
    const sigma = sigmaOf(condition, read);
    return {
      out: territory.atSites.map((v) => sigma * v),
      values: territory.on(view).shape.map((v) => sigma * v),
      valueAt: (x, y) => {
        const place = territory.at(view, x, y);
        return place && sigma * place.shape;
      },
    };
  }
}

/** Within how many errors of zero a map is stippled. */
export const doubtful = 2;

export const dotSize = 1;
const pitch = 4.4; // of the dots

/**
 * Where a field is that many errors from zero, as lines, and dots over what is
 * nearer.
 */
export function doubtOf(values, shape, sigma, lattice) {
  const beyond = values.map((v, i) => Math.abs(v) - doubtful * sigma * shape[i]);
  const lines = contours(beyond, lattice, 1e9, 0)[0]?.lines ?? [];
  const { columns, rows, left, top, cell, inside } = lattice;
  const dots = [];
  let odd = false;
  for (let y = 0; y < rows - 1; y += (pitch / cell) * Math.sqrt(0.75), odd = !odd) {
    const j = Math.floor(y);
    const first = Math.max(inside[j][0], inside[j + 1][0]);
    const last = Math.min(inside[j][1], inside[j + 1][1]);
    for (let x = odd ? pitch / cell / 2 : 0; x < last; x += pitch / cell) {
      const i = Math.floor(x);
      if (i < first) continue;
      const [u, v, at] = [x - i, y - j, j * columns + i];
      const upper = (1 - u) * beyond[at] + u * beyond[at + 1];
      const lower = (1 - u) * beyond[at + columns] + u * beyond[at + columns + 1];
      if ((1 - v) * upper + v * lower < 0) dots.push(left + x * cell, top + y * cell);
    }
  }
  return { lines, dots };
}
