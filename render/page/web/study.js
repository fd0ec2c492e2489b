// The embedded data, unpacked.

import { Grid, Lattice, Quantity } from "./field.js";
import { InterpolationError, Land } from "./land.js";
import { dotsOf } from "./map.js";
import { unpack } from "./pack.js";

/**
 * Reads the study; kernels and views are unpacked when they are first asked
 * for.
 */
export async function read() {
  const study = JSON.parse(document.getElementById("study").textContent);
  const grid = new Grid(study.grid);
  study.times = Array.from({ length: study.samples }, (_, i) => study.first + i * study.period);
  study.lands = await Promise.all(study.lands.map((l) => landOf(l, grid)));
  await Promise.all(
    study.conditions.map(async (c) => {
      for (const key of ["values", "errors", "pairErrors", "sigma"]) if (c[key]) c[key] = await unpack(c[key]);
      c.territory = study.lands[c.land];
      c.departures = bySample(c.departing);
    }),
  );
  for (const c of study.conditions) {
    const [a, b] = [c.of, c.minus].map((title) => study.conditions.find((o) => o.title === title));
    c.linear = Boolean(a && b) && isDifference(c.values, a.values, b.values, 2 * study.valueStep);
  }
  study.quantity = once(async (name) => {
    const meta = study.fields.find((f) => f.name === name);
    meta.colours = meta.oneSided ? study.sequential : study.colours;
    meta.dots = dotsOf(meta.colours);
    if (!meta.kernel) return new InterpolationError(meta);
    const [nodes, sites] = await Promise.all([unpack(meta.kernel), unpack(meta.atSites)]);
    return new Quantity(
      meta,
      nodes.map((row, s) => joined(row, sites[s])),
      grid,
    );
  });
  study.lookAt = once(async (name) => {
    const view = study.views.find((v) => v.name === name);
    view.edgePath = new Path2D(view.edge);
    view.lattice = new Lattice(view.lattice, await unpack(view.lattice.chart), grid);
    return view;
  });
  study.grid = grid;
  study.sampleAt = (t) => Math.round((t - study.first) / study.period); // at or nearest to a time
  return study;
}

async function landOf(meta, grid) {
  const [[shape], [atSites], standings] = await Promise.all([meta.shape, meta.atSites, meta.standing].map(unpack));
  return new Land(meta, shape, atSites, standings, grid);
}

/** The sites that depart at each sample, and by how many of their errors. */
function bySample(departing) {
  const list = new Map();
  for (const [sample, site, z] of departing) list.set(sample, [...(list.get(sample) ?? []), { site, z }]);
  return list;
}

function joined(a, b) {
  const out = new Float32Array(a.length + b.length);
  out.set(a);
  out.set(b, a.length);
  return out;
}

function once(make) {
  const made = new Map();
  return (name) => {
    if (!made.has(name)) made.set(name, make(name));
    return made.get(name);
  };
}

/**
 * The maps of a state: every condition that is no difference, the one
 * difference that is chosen, with the errors of its average where that was
 * given, and differences of other conditions; of errors of the interpolation
 * those that are known.
 */
export function shownMaps(study, state) {
  return allMaps(study, state).filter((c) => c.sigma || state.field !== "interpolation");
}

function allMaps(study, state) {
  const plain = study.conditions.filter((c) => c.minus === undefined);
  const [a, b] = [study.conditions[state.of], study.conditions[state.minus]];
  const given = study.conditions.filter((c) => c.minus !== undefined);
  if (!a) return [...plain, ...given];
  const known = given.find((c) => c.of === a.title && c.minus === b.title);
  const among = (title) => plain.some((c) => c.title === title);
  // Those that cannot be chosen, since not both of their conditions are here,
  // are shown always.
  return [...plain, known ?? difference(a, b), ...given.filter((c) => !among(c.of) || !among(c.minus))];
}

/**
 * Whether values are those of a minus b but for their rounding, so that the
 * field is, too.
 */
const isDifference = (values, a, b, most) =>
  values.every((row, i) => row.every((v, t) => Math.abs(v - (a[i][t] - b[i][t])) <= most));

/**
 * A difference that is made here knows where the condition of fewer electrodes
 * does; how rough its field is would take its average.
 */
function difference(a, b) {
  const { land, territory } = a.territory.electrodes < b.territory.electrodes ? a : b;
  const minus = (x, y) => x.map((row, i) => row.map((v, t) => v - y[i][t]));
  return {
    title: `${a.title} minus ${b.title}`,
    note: "",
    linear: true,
    land,
    territory,
    departures: new Map(),
    of: a.title,
    minus: b.title,
    values: minus(a.values, b.values),
    marks: a.marks.map((m, i) => Math.max(m, b.marks[i])),
  };
}
