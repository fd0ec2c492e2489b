// Lines along which a field on a lattice equals the multiples of a step.

/**
 * The lines of each level: a list of { level, lines }, a line a list of x, y,
 * x, y…
 */
export function contours(values, lattice, step, most) {
  const levels = new Map();
  collect(values, lattice, step, most, (k, a, b) => {
    if (!levels.has(k)) levels.set(k, []);
    levels.get(k).push(a, b);
  });
  return [...levels]
    .sort(([a], [b]) => a - b)
    .map(([k, segments]) => ({
      level: k * step,
      lines: join(segments).map((edges) => points(edges, values, lattice, k * step)),
    }));
}

// An edge between nodes is twice the node above or left of it, and one more
// where it runs down the page.

/**
 * Calls emit with the level's number and the two edges that a piece of line
 * runs between.
 */
function collect(values, { inside, columns }, step, most, emit) {
  for (let row = 0; row + 1 < inside.length; row++) {
    const first = Math.max(inside[row][0], inside[row + 1][0]);
    const last = Math.min(inside[row][1], inside[row + 1][1]);
    for (let i = row * columns + first; i < row * columns + last; i++) {
      const a = values[i] / step;
      const b = values[i + 1] / step;
      const c = values[i + columns + 1] / step;
      const d = values[i + columns] / step;
      const high = Math.floor(Math.max(a, b, c, d));
      for (let k = Math.ceil(Math.min(a, b, c, d)); k <= high; k++) {
        if (k >= -most && k <= most) pieces(a, b, c, d, k, i, columns, emit);
      }
    }
  }
}

/**
 * The pieces of one level in the cell right and below of node i; its corners go
 * round from there.
 */
function pieces(a, b, c, d, k, i, columns, emit) {
  const top = 2 * i;
  const right = 2 * i + 3;
  const bottom = 2 * (i + columns);
  const left = 2 * i + 1;
  switch ((a >= k) + 2 * (b >= k) + 4 * (c >= k) + 8 * (d >= k)) {
    case 1:
    case 14:
      return emit(k, left, top);
    case 2:
    case 13:
      return emit(k, top, right);
    case 4:
    case 11:
      return emit(k, right, bottom);
    case 8:
    case 7:
      return emit(k, bottom, left);
    case 3:
    case 12:
      return emit(k, left, right);
    case 6:
    case 9:
      return emit(k, top, bottom);
    case 5:
    case 10: {
      // A saddle: the mean says which corners belong together.
      const apart = a >= k === (a + b + c + d) / 4 >= k;
      emit(k, left, apart ? bottom : top);
      emit(k, right, apart ? top : bottom);
    }
  }
}

/**
 * Joins pieces, given as pairs of edges, into lines; a closed one ends where it
 * began.
 */
function join(segments) {
  const at = new Map(); // the pieces at an edge, one or two
  for (let i = 0; i < segments.length; i++) {
    const pieces = at.get(segments[i]);
    if (pieces) pieces.push(i >> 1);
    else at.set(segments[i], [i >> 1]);
  }
  const used = new Uint8Array(segments.length / 2);
  const follow = (edge) => {
    const line = [edge];
    for (;;) {
      const piece = at.get(edge).find((p) => !used[p]);
      if (piece === undefined) return line;
      used[piece] = 1;
      edge = segments[2 * piece] === edge ? segments[2 * piece + 1] : segments[2 * piece];
      line.push(edge);
    }
  };
  const lines = [];
  for (const [edge, pieces] of at) if (pieces.length === 1 && !used[pieces[0]]) lines.push(follow(edge));
  for (let p = 0; p < used.length; p++) if (!used[p]) lines.push(follow(segments[2 * p]));
  return lines;
}

function points(edges, values, { columns, left, top, cell }, level) {
  const out = [];
  for (const edge of edges) {
    const i = edge >> 1;
    const down = edge & 1;
    const a = values[i];
    const b = values[i + (down ? columns : 1)];
    const t = a === b ? 0 : (level - a) / (b - a);
    out.push(left + ((i % columns) + (down ? 0 : t)) * cell, top + (Math.floor(i / columns) + (down ? t : 0)) * cell);
  }
  return out;
}
