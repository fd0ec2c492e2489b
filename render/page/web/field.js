// From amplitudes at the sites to a field over the head: the kernel's product
// on the grid, and the lattice of a view that looks its values up there.

/** A quantity that is mapped: its weights, a row for each site. */
export class Quantity {
  constructor(meta, kernel, grid) {
    Object.assign(this, { meta, kernel, grid });
    this.nodes = grid.cells.length; // that a map has before its sites
  }

  /**
   * Values at the grid's nodes, and behind them at the sites, of one sample.
   */
  at(amplitudes) {
    const out = new Float32Array(this.kernel[0].length);
    const n = amplitudes.length;
    const whole = n - (n % 8);
    for (let s = 0; s < whole; s += 8) {
      // Eight rows at once, since reading and writing out costs as much as a
      // product.
      const [a, b, c, d, e, f, g, h] = this.kernel.slice(s, s + 8);
      const [va, vb, vc, vd, ve, vf, vg, vh] = amplitudes.slice(s, s + 8);
      for (let i = 0; i < out.length; i++) {
        out[i] += va * a[i] + vb * b[i] + vc * c[i] + vd * d[i] + (ve * e[i] + vf * f[i] + vg * g[i] + vh * h[i]);
      }
    }
    for (let s = whole; s < n; s++) {
      const row = this.kernel[s];
      for (let i = 0; i < out.length; i++) out[i] += amplitudes[s] * row[i];
    }
    return out;
  }

  /**
   * The map of a condition at an instant, seen by a view: its values at nodes
   * and sites, at the view's nodes, and at any place. Done has the maps before
   * by their titles, of which a difference is made.
   */
  over(view, condition, read, done) {
    const [a, b] = [condition.of, condition.minus].map((title) => done.get(title)?.out);
    const out = condition.linear && a && b ? a.map((v, i) => v - b[i]) : this.at(condition.values.map(read));
    const square = this.grid.square(out);
    return {
      out,
      values: view.lattice.sample(square),
      valueAt: (x, y) => view.lattice.valueAt(square, x, y),
    };
  }

  /** Values of all samples at one site. */
  course(site, rows) {
    const out = new Float32Array(rows[0].length);
    rows.forEach((row, s) => {
      const w = this.kernel[s][this.nodes + site];
      for (let t = 0; t < out.length; t++) out[t] += w * row[t];
    });
    return out;
  }
}

/** The grid as grid.go lays it: rows of nodes about the middle of a square. */
export class Grid {
  constructor(meta) {
    this.side = meta.side;
    this.perUnit = meta.cells / 2;
    const cells = [];
    meta.spans.forEach((span, row) => {
      const first = row * meta.side + (meta.side - span) / 2;
      for (let i = 0; i < span; i++) cells.push(first + i);
    });
    this.cells = Int32Array.from(cells);
  }

  /** The values of the nodes, each in its place of the square. */
  square(values) {
    const out = new Float32Array(this.side * this.side);
    for (let i = 0; i < this.cells.length; i++) out[this.cells[i]] = values[i];
    return out;
  }

  /**
   * Where on the square a place on the chart has its first of 6 × 6 nodes, and
   * their weights.
   */
  locate(x, y, weights, at) {
    const middle = (this.side - 1) / 2;
    const column = x * this.perUnit + middle;
    const row = y * this.perUnit + middle;
    cubic(column - Math.floor(column), weights, at);
    cubic(row - Math.floor(row), weights, at + taps);
    return (Math.floor(row) - 2) * this.side + Math.floor(column) - 2;
  }
}

const taps = 6;

/**
 * The weights of six nodes, two before and two behind the interval, of a cubic
 * whose slopes are fourth-order differences.
 */
function cubic(t, out, at) {
  const [t2, t3] = [t * t, t * t * t];
  const [value0, value1] = [2 * t3 - 3 * t2 + 1, 3 * t2 - 2 * t3];
  const [slope0, slope1] = [(t3 - 2 * t2 + t) / 12, (t3 - t2) / 12];
  out[at] = slope0;
  out[at + 1] = slope1 - 8 * slope0;
  out[at + 2] = value0 - 8 * slope1;
  out[at + 3] = value1 + 8 * slope0;
  out[at + 4] = 8 * slope1 - slope0;
  out[at + 5] = -slope1;
}

function interpolate(square, side, base, w, at) {
  const a = w[at];
  const b = w[at + 1];
  const c = w[at + 2];
  const d = w[at + 3];
  const e = w[at + 4];
  const f = w[at + 5];
  let sum = 0;
  for (let j = 0, i = base; j < taps; j++, i += side) {
    sum +=
      w[at + taps + j] *
      (a * square[i] +
        b * square[i + 1] +
        c * square[i + 2] +
        d * square[i + 3] +
        e * square[i + 4] +
        f * square[i + 5]);
  }
  return sum;
}

/** The nodes that a view is drawn from. */
export class Lattice {
  constructor(meta, chart, grid) {
    Object.assign(this, meta);
    this.grid = grid;
    this.chart = { x: chart.slice(0, meta.rows), y: chart.slice(meta.rows) };
    const n = meta.rows * meta.columns;
    this.image = new ImageData(meta.columns, meta.rows);
    this.canvas = new OffscreenCanvas(meta.columns, meta.rows);
    this.base = new Int32Array(n);
    this.weights = new Float32Array(2 * taps * n);
    this.each((i, row, column) => {
      this.base[i] = grid.locate(this.chart.x[row][column], this.chart.y[row][column], this.weights, 2 * taps * i);
    });
  }

  /** Calls work for every node on the map or beside it. */
  each(work) {
    this.inside.forEach(([first, last], row) => {
      for (let column = first; column <= last; column++) work(row * this.columns + column, row, column);
    });
  }

  /** The field of a square at every node. */
  sample(square) {
    const out = new Float32Array(this.rows * this.columns);
    const { side } = this.grid;
    for (let row = 0; row < this.rows; row++) {
      const [first, last] = this.inside[row];
      for (let i = row * this.columns + first; i <= row * this.columns + last; i++) {
        out[i] = interpolate(square, side, this.base[i], this.weights, 2 * taps * i);
      }
    }
    return out;
  }

  /** The field at a place of the view; undefined beside the map. */
  valueAt(square, x, y) {
    const column = (x - this.left) / this.cell;
    const row = (y - this.top) / this.cell;
    const [j, i] = [Math.floor(row), Math.floor(column)];
    if (!(j >= 0 && j + 1 < this.rows)) return undefined;
    for (const [first, last] of [this.inside[j], this.inside[j + 1]]) {
      if (i < first || i + 1 > last) return undefined;
    }
    const [u, v] = [column - i, row - j];
    const between = (rows) =>
      (1 - v) * ((1 - u) * rows[j][i] + u * rows[j][i + 1]) + v * ((1 - u) * rows[j + 1][i] + u * rows[j + 1][i + 1]);
    const weights = new Float32Array(2 * taps);
    return interpolate(
      square,
      this.grid.side,
      this.grid.locate(between(this.chart.x), between(this.chart.y), weights, 0),
      weights,
      0,
    );
  }
}
