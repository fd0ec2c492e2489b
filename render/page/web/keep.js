// What can be kept of a page: the figure, and the numbers behind it.

import { figure } from "./save.js";
import { facts } from "./say.js";
import { short } from "./words.js";

/** The figure as it is shown. */
export const figureOf = (drawing) =>
  figure({ ...drawing, maps: drawing.stages, sentences: [...drawing.sentences(), `${facts(drawing.study)}.`] });

/** A file's name after the study and the latency. */
export function fileName(page, ending) {
  const plain = page.study.title.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") || "study";
  return `${plain}_${short(Math.round(page.state.at * 1e6) / 1e3).replace("−", "-")}ms${ending}`;
}

/** The values of all maps at all sites at the cursor. */
export function valuesOf(drawing) {
  const { study, state, quantity } = drawing;
  const plain = quantity.meta.name === "potential";
  const rows = [["name", "x", "y", "z", "at", "value", "sem", "condition"]];
  for (const { condition, out } of drawing.stages) {
    study.sites.forEach((s, i) => {
      const error = !plain || !condition.errors ? undefined : drawing.read(condition.errors[i]);
      rows.push([
        s.name,
        s.x,
        s.y,
        s.z,
        Number(state.at.toFixed(9)),
        out[quantity.nodes + i].toFixed(4),
        error?.toFixed(4) ?? "n/a",
        condition.title,
      ]);
    });
  }
  return rows;
}

/** The curves that are shown, a row for each sample. */
export function coursesOf(drawing) {
  const curves = drawing.panels.flatMap((p) => p.curves.map((c) => ({ head: `${p.title}: ${c.name}`, ...c })));
  const head = ["time", ...curves.flatMap((c) => (c.band ? [c.head, `${c.head}, half band`] : [c.head]))];
  return [
    head,
    ...drawing.study.times.map((t, i) => [
      Number(t.toFixed(9)),
      ...curves.flatMap((c) => (c.band ? [c.values[i].toFixed(4), c.band[i].toFixed(4)] : [c.values[i].toFixed(4)])),
    ]),
  ];
}
