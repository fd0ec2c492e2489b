// One map: the field with its contours, and what stands still above it.

import { contours } from "./contour.js";
import { dotSize, paper } from "./land.js";
import { family, svg, text, themes } from "./svg.js";

const ink = themes.light.ink; // on the colours of a field, whatever the page's ground

/**
 * The field as a canvas of one dot a node, which serves until the next field is
 * asked for.
 */
export function fieldCanvas(values, lattice, colours, { low, limit }) {
  const { columns, inside, image, canvas } = lattice;
  const dots = new Uint32Array(image.data.buffer);
  const most = colours.length - 1;
  const perUnit = most / (limit - low);
  const zero = 0.5 - low * perUnit; // and cut off, which rounds
  for (let row = 0; row < inside.length; row++) {
    const last = row * columns + inside[row][1];
    for (let i = row * columns + inside[row][0]; i <= last; i++) {
      const step = values[i] * perUnit + zero;
      dots[i] = colours[step < 0 ? 0 : step > most ? most : step | 0];
    }
  }
  canvas.getContext("2d").putImageData(image, 0, 0);
  return canvas;
}

/** The colours of a scale as dots of an image. */
export const dotsOf = (colours) =>
  Uint32Array.from(colours, (c) => {
    const [r, g, b] = [1, 3, 5].map((i) => parseInt(c.slice(i, i + 2), 16));
    return (255 << 24) | (b << 16) | (g << 8) | r;
  });

/**
 * How a contour is drawn: positive full, negative dashed, zero pale, since
 * where zero lies is up to the reference.
 */
export function contourStyle(level) {
  if (level === 0) return { width: 1.2, opacity: 0.35, dash: [] };
  return { width: 0.75, opacity: 0.8, dash: level < 0 ? [3.2, 2] : [] };
}

/**
 * The contours to draw: that of zero only of potentials that reach the first
 * level.
 */
export function linesOf(values, standing, lattice, field, scale) {
  let extent = 0;
  lattice.each((i) => {
    if (standing[i] !== paper) extent = Math.max(extent, Math.abs(values[i]));
  });
  const zero = field.meta.name === "potential" && extent >= scale.step;
  return contours(values, lattice, scale.step, Math.round(scale.limit / scale.step)).filter(
    ({ level }) => level !== 0 || zero,
  );
}

/** The share of the map, where it has a field, whose values lie beyond the scale. */
export function clipped(values, standing, lattice, limit) {
  let [beyond, all] = [0, 0];
  lattice.each((i) => {
    if (standing[i] === paper) return;
    all++;
    if (Math.abs(values[i]) > limit) beyond++;
  });
  return all ? beyond / all : 0;
}

/**
 * Draws field, contours and what is in doubt on a canvas that shows the view's
 * box.
 */
export function paint(canvas, view, field, lines, doubt) {
  const context = canvas.getContext("2d");
  const [left, top, width] = view.box;
  const dots = canvas.width / width;
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.clearRect(0, 0, canvas.width, canvas.height);
  context.setTransform(dots, 0, 0, dots, -left * dots, -top * dots);
  context.save();
  context.clip(view.edgePath);
  const { lattice } = view;
  const half = lattice.cell / 2;
  context.drawImage(
    field,
    lattice.left - half,
    lattice.top - half,
    lattice.columns * lattice.cell,
    lattice.rows * lattice.cell,
  );
  context.fillStyle = context.strokeStyle = ink;
  context.lineJoin = "round";
  context.globalAlpha = stippleOpacity;
  for (let i = 0; i < doubt.dots.length; i += 2)
    context.fillRect(doubt.dots[i] - dotSize / 2, doubt.dots[i + 1] - dotSize / 2, dotSize, dotSize);
  for (const { level, lines: of } of lines) {
    const style = contourStyle(level);
    context.lineWidth = style.width;
    context.globalAlpha = style.opacity;
    context.setLineDash(style.dash);
    trace(context, of);
  }
  context.globalAlpha = 1;
  context.setLineDash([]);
  for (const [colour, width] of boundaryStrokes) {
    context.strokeStyle = colour;
    context.lineWidth = width;
    trace(context, doubt.lines);
  }
  context.restore();
}

function trace(context, lines) {
  context.beginPath();
  for (const line of lines) {
    context.moveTo(line[0], line[1]);
    for (let i = 2; i < line.length; i += 2) context.lineTo(line[i], line[i + 1]);
  }
  context.stroke();
}

/** A pale line in a dark case, unlike any contour. */
export const boundaryStrokes = [
  [ink, 2.4],
  ["#ffffff", 1.1],
];

export const stippleOpacity = 0.75;

const stroke = (d, colour, width, opacity = 1) =>
  svg("path", {
    d,
    fill: "none",
    stroke: colour,
    "stroke-width": width,
    "stroke-opacity": opacity,
    "stroke-linejoin": "round",
  });

/** What stands still above a field. */
export function ground(view, condition, study, state, theme) {
  const group = svg("g", { "font-family": family });
  const { hatch, paper: bare, shore } = view.lands[condition.land];
  group.append(
    svg("path", { class: "paper", d: bare, fill: theme.paper, "fill-rule": "evenodd" }),
    stroke(shore, theme.ink, 0.5, 0.5),
    svg("g", { class: "hatch" }, stroke(hatch, ink, 0.5, 0.5)),
    stroke(view.graticule, ink, 0.5, 0.3),
    stroke(view.ticks, theme.ink, 0.9),
    stroke(view.face, theme.ink, 0.8, 0.6),
    stroke(view.outline, theme.ink, 1.3),
  );
  if (state.electrodes) group.append(marks(view, condition.marks, view.radius * 1.15));
  if (state.labels) group.append(names(view, study));
  for (const l of view.landmarks) {
    const beside = { "-1": ["end", -2, 3], 0: ["middle", 0, l.below ? 9 : -3], 1: ["start", 2, 3] }[l.side];
    group.append(
      text(l.text, l.x + beside[1], l.y + beside[2], {
        class: "landmark",
        "text-anchor": beside[0],
        "font-size": 8.5,
        fill: theme.quiet,
      }),
    );
  }
  return group;
}

/**
 * The sign of an electrode: filled where measured, open where repaired, crossed
 * where left out.
 */
export function mark(kind, x, y, radius) {
  const rim = { stroke: "#ffffff", "stroke-opacity": 0.75 };
  switch (kind) {
    case 1:
      return svg("circle", {
        cx: x,
        cy: y,
        r: 1.5 * radius,
        fill: "#ffffff",
        stroke: ink,
        "stroke-width": 0.6 * radius,
      });
    case 2: {
      const h = 1.8 * radius;
      return stroke(`M${x - h} ${y - h}L${x + h} ${y + h}M${x - h} ${y + h}L${x + h} ${y - h}`, ink, 0.8 * radius);
    }
    default:
      return svg("circle", { cx: x, cy: y, r: radius + 0.2, fill: ink, "stroke-width": 0.5 * radius, ...rim });
  }
}

function marks(view, kinds, radius) {
  const seen = view.places.map((p, i) => [p, kinds[i]]).filter(([p]) => p.seen);
  return svg("g", {}, ...seen.map(([p, kind]) => mark(kind, p.x, p.y, radius)));
}

/** The names of the sites that have room, the first ones first. */
function names(view, study) {
  const taken = [];
  const group = svg("g", {
    "font-size": 7,
    fill: ink,
    stroke: "#ffffff",
    "stroke-opacity": 0.8,
    "stroke-width": 1.6,
    "paint-order": "stroke",
    "text-anchor": "middle",
  });
  view.places.forEach((p, i) => {
    const half = 2.3 * study.sites[i].name.length + 1;
    const box = [p.x - half, p.y - 9.5, p.x + half, p.y - 2.5];
    const meets = taken.some((o) => o[0] < box[2] && box[0] < o[2] && o[1] < box[3] && box[1] < o[3]);
    if (!p.seen || meets) return;
    taken.push(box);
    group.append(text(study.sites[i].name, p.x, p.y - 3.4));
  });
  return group;
}

/**
 * Diamonds on electrodes that a table singles out, and rings round those that
 * depart and on those that are picked.
 */
export function singled(view, { chosen, picked, departing }) {
  const group = svg("g");
  for (const { site } of departing) {
    const p = view.places[site];
    const r = 2.3 * view.radius + 2;
    if (!p.seen) continue;
    for (const [stroke, width] of [
      ["#ffffff", 2.8],
      [ink, 1.2],
    ]) {
      group.append(
        svg("circle", { class: "departing", cx: p.x, cy: p.y, r, fill: "none", stroke, "stroke-width": width }),
      );
    }
  }
  for (const i of chosen) {
    const p = view.places[i];
    const h = 2.3 * view.radius + 1;
    if (p.seen)
      group.append(
        svg("path", {
          d: `M${p.x + h} ${p.y}L${p.x} ${p.y + h}L${p.x - h} ${p.y}L${p.x} ${p.y - h}Z`,
          fill: "#ffffff",
          stroke: ink,
          "stroke-width": 1.4,
        }),
      );
  }
  for (const i of picked) {
    const p = view.places[i];
    if (!p.seen) continue;
    for (const [colour, width] of [
      ["#ffffff", 3.2],
      [themes.light.accent, 1.6],
    ]) {
      group.append(svg("circle", { cx: p.x, cy: p.y, r: 5.5, fill: "none", stroke: colour, "stroke-width": width }));
    }
  }
  return group;
}

/** The bar of colours with its ticks, and what it means above it. */
export function bar(width, field, scale, theme) {
  const { colours } = field.meta;
  const [height, top, left] = [10, 16, 14];
  const inner = width - 2 * left;
  const group = svg("g", { "font-family": family, "font-size": 11, fill: theme.ink });
  group.append(text(`${field.meta.title}, ${field.meta.unit}`, left, 10));
  const step = inner / colours.length;
  colours.forEach((c, i) =>
    group.append(svg("rect", { x: left + i * step, y: top, width: step + 0.6, height, fill: c })),
  );
  const ticks = Math.round(scale.limit / scale.step);
  const lowest = scale.low && -ticks;
  const at = (v) => left + ((v - scale.low) / (scale.limit - scale.low)) * inner;
  // The ends of the scale have their numbers, and between them as many as there
  // is room for.
  let every = 1;
  while (every < ticks && (ticks % every || (inner * every) / (ticks - lowest) < 34)) every++;
  for (let k = lowest; k <= ticks; k++) {
    const x = at(k * scale.step);
    group.append(stroke(`M${x} ${top + height}v3`, theme.ink, 0.8));
    if (k % every === 0)
      group.append(text(number(k * scale.step, scale.low), x, top + height + 14, { "text-anchor": "middle" }));
  }
  return { group, width, height: top + height + 18 };
}

/** A number of a scale, with its sign where there are two. */
const number = (v, low) => (v > 0 && low < 0 ? "+" : "") + String(Number(v.toPrecision(4))).replace("-", "−");
