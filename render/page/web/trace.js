// Waveforms: panels of curves over time, with windows below and a cursor
// across.

import { area, line, scaleLinear } from "./library/index.js";
import { family, svg, text, textWidth } from "./svg.js";
import { short } from "./words.js";

const room = { left: 44, right: 10, top: 20, bottom: 34, window: 20 };
const narrowest = 250;
const paneHeight = 210;

/**
 * Draws panels on a width. Each has a title and curves { values, band, style,
 * width }, and may have faint lines and peaks { time, value, style }. Returns
 * the group, its height, and for the cursor where each panel's axes lie.
 */
export function chart(panels, { width, times, windows, unit, down, theme, columns }) {
  const across = columns ?? Math.max(1, Math.min(panels.length, Math.floor(width / narrowest)));
  const paneWidth = width / across;
  const toWidth = scaleLinear([times[0], times[times.length - 1]], [0, paneWidth - room.left - room.right]);
  const tiers = windowTiers(windows, toWidth);
  const foot = room.bottom + (windows.length ? 6 + room.window * (Math.max(...tiers) + 1) : 0);
  const height = paneHeight + foot - room.bottom;
  const [low, high] = extent(panels);
  const group = svg("g", { "font-family": family, "font-size": 11, fill: theme.ink });
  const axes = panels.map((panel, i) => {
    const [x0, y0] = [(i % across) * paneWidth, Math.floor(i / across) * height];
    const x = scaleLinear([times[0], times[times.length - 1]], [x0 + room.left, x0 + paneWidth - room.right]);
    const y = scaleLinear(
      [low, high],
      down ? [y0 + room.top, y0 + height - foot] : [y0 + height - foot, y0 + room.top],
    ).nice(6);
    drawAxes(group, panel, { x, y, x0, y0, bottom: y0 + height - foot, unit, down, theme });
    drawWindows(group, windows, tiers, x, y0 + height - foot + 27, theme);
    drawCurves(group, panel, times, x, y, theme);
    return { x, y, panel, top: y0 + room.top, bottom: y0 + height - foot, left: x0, right: x0 + paneWidth };
  });
  return { group, axes, width, height: Math.ceil(panels.length / across) * height };
}

function extent(panels) {
  let [low, high] = [0, 0];
  const take = (v) => {
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (const { curves, faint = [] } of panels) {
    for (const { values, band } of curves) {
      values.forEach((v, i) => {
        take(v - (band ? band[i] : 0));
        take(v + (band ? band[i] : 0));
      });
    }
    for (const values of faint) values.forEach(take);
  }
  return low === high ? [-1, 1] : [low, high];
}

const straight = (d, theme, opacity = 1, width = 0.9) =>
  svg("path", { d, fill: "none", stroke: theme.ink, "stroke-width": width, "stroke-opacity": opacity });

function drawAxes(group, panel, { x, y, x0, bottom, y0, unit, down, theme }) {
  const [left, right] = x.range();
  const [one, other] = y.range();
  group.append(text(panel.title, x0 + room.left, y0 + 12, { "font-weight": "bold" }));
  group.append(straight(`M${left} ${one}V${other}`, theme));
  for (const v of y.ticks(6)) {
    group.append(straight(`M${left} ${y(v)}h-4`, theme), text(short(v), left - 7, y(v) + 4, { "text-anchor": "end" }));
  }
  group.append(straight(`M${left} ${y(0)}H${right}`, theme, 0.5), straight(`M${left} ${bottom}H${right}`, theme));
  if (x.domain()[0] < 0 && x.domain()[1] > 0) group.append(straight(`M${x(0)} ${one}V${other}`, theme, 0.5));
  const ticks = x.ticks(Math.max(2, Math.floor((right - left) / 55)));
  ticks.forEach((v) => {
    group.append(
      straight(`M${x(v)} ${bottom}v4`, theme),
      text(short(v * 1000), x(v), bottom + 15, { "text-anchor": "middle" }),
    );
  });
  group.append(text("ms", right, bottom + 27, { "text-anchor": "end", fill: theme.quiet }));
  const scale = [`${unit}, ${down ? "positive down" : "positive up"}`, unit].find(
    (s) => textWidth(panel.title, "bold") + textWidth(s) + 12 < right - left,
  );
  if (scale) group.append(text(scale, right, y0 + 12, { "text-anchor": "end", fill: theme.quiet }));
}

/**
 * The tier below the axis in which each window finds room for its bracket and
 * name.
 */
function windowTiers(windows, x) {
  const ends = [];
  return windows.map((w) => {
    const middle = (x(w.from) + x(w.to)) / 2;
    const half = Math.max(textWidth(w.name), x(w.to) - x(w.from)) / 2 + 3;
    let tier = 0;
    while (ends[tier] > middle - half) tier++;
    ends[tier] = middle + half;
    return tier;
  });
}

function drawWindows(group, windows, tiers, x, top, theme) {
  windows.forEach((w, i) => {
    const [from, to, y] = [x(w.from), x(w.to), top + tiers[i] * room.window];
    group.append(straight(`M${from} ${y - 5}v5H${to}v-5`, theme, 0.8, 1.1));
    group.append(text(w.name, (from + to) / 2, y + 12, { "text-anchor": "middle", fill: theme.quiet }));
  });
}

function drawCurves(group, panel, times, x, y, theme) {
  const path = line(
    (_, i) => x(times[i]),
    (v) => y(v),
  );
  for (const values of panel.faint ?? []) {
    group.append(
      svg("path", { d: path(values), fill: "none", stroke: theme.ink, "stroke-width": 0.6, "stroke-opacity": 0.22 }),
    );
  }
  for (const { values, band, style } of panel.curves) {
    if (!band) continue;
    const between = area(
      (_, i) => x(times[i]),
      (v, i) => y(v - band[i]),
      (v, i) => y(v + band[i]),
    );
    group.append(svg("path", { d: between(values), fill: style[theme.curve], "fill-opacity": 0.2 }));
  }
  for (const { values, style, width = 1.6 } of panel.curves) {
    group.append(
      svg("path", {
        d: path(values),
        fill: "none",
        stroke: style[theme.curve],
        "stroke-width": width,
        "stroke-dasharray": style.dash?.map((d) => d * 1.3).join(" ") ?? null,
        "stroke-linejoin": "round",
      }),
    );
  }
  for (const { time, value, style } of panel.peaks ?? []) {
    const [px, py] = [x(time), y(value)];
    group.append(
      svg("path", {
        d: `M${px} ${py - 5}v10M${px - 5} ${py}h10`,
        fill: "none",
        stroke: style[theme.curve],
        "stroke-width": 1.4,
      }),
    );
  }
}

/**
 * The cursor at a time: a line through every panel, and a dot on every curve
 * where read reads it.
 */
export function cursor({ axes }, time, read, theme) {
  const group = svg("g");
  for (const { x, y, panel, top, bottom } of axes) {
    const at = x(time);
    group.append(
      svg("path", { d: `M${at} ${top}V${bottom}`, stroke: theme.accent, "stroke-width": 1.2, fill: "none" }),
    );
    for (const { values, style } of panel.curves) {
      group.append(
        svg("circle", {
          cx: at,
          cy: y(read(values)),
          r: 3,
          fill: style[theme.curve],
          stroke: theme.paper,
          "stroke-width": 1,
        }),
      );
    }
  }
  return group;
}

/** The time at a place of the chart; undefined beside the panels. */
export function timeAt({ axes }, px, py) {
  const on = axes.find(
    ({ left, right, top, bottom }) => px >= left && px <= right && py >= top - room.top && py <= bottom + room.bottom,
  );
  return on?.x.invert(px);
}
