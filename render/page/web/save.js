// What is shown, as files.

import { dotSize } from "./land.js";
import { bar, boundaryStrokes, contourStyle, fieldCanvas, ground, singled, stippleOpacity } from "./map.js";
import { family, svg, text, textWidth, themes } from "./svg.js";
import { chart, cursor } from "./trace.js";
import { latency } from "./words.js";

/** Hands a file to the person. */
export function download(name, blob) {
  const url = URL.createObjectURL(blob);
  const link = Object.assign(document.createElement("a"), { href: url, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

const width = 720;
const margin = 16;

/** The figure as it is shown, on paper, as an element of SVG. */
export function figure({ study, state, shown, quantity, view, scale, maps, panels, legend, sentences, read }) {
  const theme = themes.light;
  const group = svg("g", { "font-family": family, "font-size": 11, fill: theme.ink });
  let y = margin;
  const paragraph = (words, attributes = {}) => {
    for (const row of wrapped(words, width - 2 * margin, attributes["font-weight"])) {
      y += 14;
      group.append(text(row, margin, y, attributes));
    }
  };
  paragraph(
    `${study.title}, ${latency(state.at)}, seen from ${{ top: "above", left: "the left", right: "the right", front: "the front", back: "behind" }[view.name]}`,
    { "font-weight": "bold" },
  );
  y += 10;
  const across = Math.min(maps.length, 3);
  const pitch = (width - 2 * margin) / across;
  const factor = Math.min(pitch / view.box[2], 1.25);
  const mapHeight = view.box[3] * factor + 32;
  maps.forEach((map, i) => {
    const [x, top] = [margin + (i % across) * pitch + pitch / 2, y + Math.floor(i / across) * mapHeight];
    group.append(text(map.condition.title, x, top + 10, { "text-anchor": "middle", "font-weight": "bold" }));
    group.append(
      text(map.condition.note, x, top + 23, { "text-anchor": "middle", fill: theme.quiet, "font-size": 9.5 }),
    );
    const move = `translate(${x - factor * (view.box[0] + view.box[2] / 2)} ${top + 28 - factor * view.box[1]}) scale(${factor})`;
    group.append(svg("g", { transform: move }, ...mapParts(map, i, { study, state, quantity, view, scale, theme })));
  });
  y += Math.ceil(maps.length / across) * mapHeight + 6;
  const key = bar(300, quantity, scale, theme);
  group.append(svg("g", { transform: `translate(${margin} ${y})` }, key.group));
  y += key.height + 12;
  const drawn = chart(panels, {
    width: width - 2 * margin,
    times: study.times,
    windows: study.windows,
    unit: quantity.meta.unit,
    down: state.positive === "down",
    theme,
    columns: Math.min(panels.length, 3),
  });
  group.append(svg("g", { transform: `translate(${margin} ${y})` }, drawn.group, cursor(drawn, state.at, read, theme)));
  y += drawn.height + 4;
  let x = margin;
  y += 12;
  for (const { name, style } of legend) {
    const full = 34 + textWidth(name) + 16;
    if (x + full > width - margin && x > margin) [x, y] = [margin, y + 15];
    group.append(
      svg("path", {
        d: `M${x} ${y - 4}h26`,
        stroke: style.light,
        "stroke-width": 1.8,
        fill: "none",
        "stroke-dasharray": style.dash?.map((d) => d * 1.3).join(" ") ?? null,
      }),
    );
    group.append(text(name, x + 31, y));
    x += full;
  }
  y += 4;
  for (const s of sentences) paragraph(s);
  const height = Math.ceil(y + margin);
  return svg(
    "svg",
    { xmlns: "http://www.w3.org/2000/svg", width, height, viewBox: `0 0 ${width} ${height}`, role: "img" },
    svg("title", {}, `${study.title}, ${latency(state.at)}`),
    svg("desc", {}, sentences.join(" ")),
    svg("metadata", {}, JSON.stringify({ program: study.program, state: location.hash, inputs: study.inputs })),
    svg("rect", { width, height, fill: "#ffffff" }),
    group,
  );
}

function mapParts(map, i, { study, state, quantity, view, scale, theme }) {
  const { lattice } = view;
  const field = fieldCanvas(map.values, lattice, quantity.meta.dots, scale);
  const canvas = Object.assign(document.createElement("canvas"), { width: 4 * field.width, height: 4 * field.height });
  canvas.getContext("2d").drawImage(field, 0, 0, canvas.width, canvas.height);
  const half = lattice.cell / 2;
  const clip = `edge-${i}`;
  const lines = map.lines.map(({ level, lines: of }) => {
    const style = contourStyle(level);
    const d = pathOf(of);
    return svg("path", {
      d,
      fill: "none",
      stroke: theme.ink,
      "stroke-width": style.width,
      "stroke-opacity": style.opacity,
      "stroke-dasharray": style.dash.join(" ") || null,
    });
  });
  return [
    svg("clipPath", { id: clip }, svg("path", { d: view.edge })),
    svg(
      "g",
      { "clip-path": `url(#${clip})` },
      svg("image", {
        href: canvas.toDataURL("image/png"),
        x: lattice.left - half,
        y: lattice.top - half,
        width: lattice.columns * lattice.cell,
        height: lattice.rows * lattice.cell,
        preserveAspectRatio: "none",
      }),
      stipple(map.doubt.dots, theme),
      ...lines,
      ...boundaryStrokes.map(([colour, width]) =>
        svg("path", { d: pathOf(map.doubt.lines), fill: "none", stroke: colour, "stroke-width": width }),
      ),
    ),
    ground(view, map.condition, study, state, theme),
    singled(view, map),
  ];
}

const pathOf = (lines) => lines.map((p) => `M${p.map((v) => Number(v.toFixed(2))).join(" ")}`).join("");

/** The dots of doubt as one path. */
function stipple(dots, theme) {
  let d = "";
  for (let i = 0; i < dots.length; i += 2) {
    const [x, y] = [dots[i], dots[i + 1]].map((v) => Number((v - dotSize / 2).toFixed(2)));
    d += `M${x} ${y}h${dotSize}v${dotSize}h${-dotSize}z`;
  }
  return svg("path", { class: "stipple", d, fill: theme.ink, "fill-opacity": stippleOpacity });
}

function wrapped(words, most, weight) {
  const rows = [""];
  for (const word of words.split(" ")) {
    const longer = rows.at(-1) ? `${rows.at(-1)} ${word}` : word;
    if (textWidth(longer, weight) <= most || !rows.at(-1)) rows[rows.length - 1] = longer;
    else rows.push(word);
  }
  return rows;
}

/** A figure as a file of SVG. */
export const asSVG = (element) =>
  new Blob([`<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(element)}`], {
    type: "image/svg+xml",
  });

/** A figure as a file of dots, three for each of the screen's. */
export async function asPNG(element) {
  const url = URL.createObjectURL(asSVG(element));
  const image = new Image();
  image.src = url;
  await image.decode();
  const canvas = new OffscreenCanvas(3 * image.width, 3 * image.height);
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  URL.revokeObjectURL(url);
  return canvas.convertToBlob({ type: "image/png" });
}

/** A table as text; its cells hold no tabs. */
export const table = (rows) =>
  new Blob([rows.map((row) => `${row.map((c) => String(c).replace(/[\t\r\n]+/g, " ")).join("\t")}\n`).join("")], {
    type: "text/tab-separated-values",
  });
