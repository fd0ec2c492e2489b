// What is at the cursor, in sentences.

import { guessed, paper } from "./land.js";
import { amount, interval, latency, number } from "./words.js";

/** Sentences about the site or pair that is picked, at the cursor. */
export function atCursor({ study, state, stages, quantity, read }) {
  const csd = quantity.meta.name === "csd";
  const errors = quantity.meta.name === "interpolation";
  const shown = stages.map((m) => m.condition);
  const value = (c, site) => stages.find((m) => m.condition === c).out[quantity.nodes + site];
  const errorAt = (rows, i) => (csd || errors || !rows ? undefined : read(rows[i]));
  const at = latency(state.at);
  const what = errors ? ", error of the interpolation" : "";
  if (state.site !== null) {
    const name = study.sites[state.site].name;
    const parts = shown.map((c) => {
      const error = errorAt(c.errors, state.site);
      const v = value(c, state.site);
      return `${c.title} ${c.minus === undefined || errors ? amount(quantity, v, error, c.over) : interval(quantity, v, error, c)}`;
    });
    return [`${name} at ${at}${what}: ${parts.join("; ")}.`];
  }
  if (state.pair !== null) {
    const [l, r] = study.pairs[state.pair];
    const d = csd ? 3 : 2;
    return shown.map((c) => {
      const [a, b] = [value(c, l), value(c, r)];
      const error = errorAt(c.pairErrors, state.pair);
      const names = `${study.sites[l].name}–${study.sites[r].name}`;
      const sides = `${names} at ${at}${what}, ${c.title}: left ${number(a, d)}, right ${number(b, d)}`;
      return errors ? `${sides} µV.` : `${sides}, right minus left ${interval(quantity, b - a, error, c)}.`;
    });
  }
  return ["Choose a site or a mirror pair, or click a site on a map."];
}

/**
 * What a map has at a place: at an electrode with its standard error, elsewhere
 * with the error of the interpolation, and on paper nothing.
 */
export function atPlace({ study, state, quantity, read }, condition, place) {
  const at = latency(state.at);
  if (place.site !== undefined) {
    const error =
      quantity.meta.name !== "potential" || !condition.errors ? undefined : read(condition.errors[place.site]);
    const kind = ["", ", repaired", ", left out"][condition.marks[place.site]];
    return `${study.sites[place.site].name}${kind}, ${condition.title}, ${at}: ${amount(quantity, place.value, error, condition.over)}`;
  }
  const where = `nearest ${study.sites[place.nearest].name}, ${condition.title}, ${at}`;
  if (place.standing === paper) return `Not known here, ${where}`;
  const how = place.standing === guessed ? "guessed" : "interpolated";
  const off =
    quantity.meta.name === "potential" && place.error !== undefined
      ? ` (error of the interpolation ${amount(quantity, place.error)})`
      : "";
  return `Between electrodes, ${where}: ${amount(quantity, place.value)}, ${how}${off}`;
}

/** The facts in one line below the title. */
export function facts(study) {
  return [
    study.synthetic ? "Synthetic data" : "",
    `reference: ${study.reference || "not known"}`,
    `${study.sites.length} sites at ${study.digitised ? "positions measured on the wearer" : "ideal positions of the head model"}`,
    `${study.samples} samples every ${Number((study.period * 1000).toPrecision(6))} ms`,
  ]
    .filter(Boolean)
    .join(" · ");
}
