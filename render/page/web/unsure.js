// What is not sure of the maps, in sentences.

import { doubtful, guessed, known, paper } from "./land.js";
import { latency, number } from "./words.js";

/** What hatching and paper mean, where there are any. */
export function territoryWords({ study, view, stages }) {
  const seen = new Map(stages.map((m) => [m.condition, standingsOf(m.condition, view)]));
  const any = (kind) => [...seen.values()].some((s) => s.has(kind));
  const [most, worst] = study.limits.map((v) => `${number(v, 2)} µV`);
  const outside = `over ${study.overhang} mm outside of the electrodes`;
  const beyond = study.extrapolated ? `; extrapolated, too, ${outside}` : "";
  const ignorant = [...seen].filter(([, s]) => !s.has(known)).map(([c]) => c.title);
  return [
    any(guessed) ? `Hatched: guessed, the interpolation, over all latencies, may be off by over ${most}${beyond}.` : "",
    any(paper) ? `Left empty: not known, off by over ${worst}, or ${outside}.` : "",
    ignorant.length ? `${ignorant.join(", ")}: nowhere in this view do the electrodes know the field.` : "",
    stages.some((m) => m.condition.territory.indicative)
      ? "With fewer than 8 electrodes what is known and guessed is indicative only."
      : "",
  ];
}

function standingsOf(condition, view) {
  const { standing } = condition.territory.on(view);
  const seen = new Set();
  view.lattice.each((i) => seen.add(standing[i]));
  return seen;
}

/** What the stipple means, and where there is none although it is asked for. */
export function doubtWords(drawing) {
  const { state, shown } = drawing;
  if (!state.doubt || state.field !== "potential") return "";
  const without = shown.filter((c) => !drawing.doubts(c)).map((c) => c.title);
  const words = [
    `Stippled, behind a pale line in a dark case: within ${doubtful} errors of the interpolation of zero, uncorrected;`,
    "the error of sampling is not in it.",
  ];
  if (without.length) words.push(`Not on ${without.join(", ")}, whose average is not given.`);
  return words.join(" ");
}

/** The ringed electrodes, with how many of their errors they depart by. */
export function departingWords({ study, state, stages }) {
  const texts = stages.flatMap(({ condition, departing }) =>
    departing.map(
      ({ site, z }) => `${condition.title}, ${study.sites[site].name} by ${number(Math.abs(z), 1)} times its error`,
    ),
  );
  if (!texts.length) return "";
  const at = latency(study.times[study.sampleAt(state.at)]);
  const what = "departs from what the other sites predict (by chance on 1 map in 100)";
  return `Rings at ${at}: ${what}: ${texts.join("; ")}.`;
}
