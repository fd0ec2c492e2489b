// What is drawn of a state.

import { bar, clipped, fieldCanvas, ground, linesOf, mark, paint, singled } from "./map.js";
import { instant } from "./instant.js";
import { bandWords, panelsOf } from "./panels.js";
import { atCursor, atPlace } from "./say.js";
import { shownMaps } from "./study.js";
import { byId, html, svg, themes } from "./svg.js";
import { chart, cursor } from "./trace.js";
import { latency, short } from "./words.js";

/** What stands on the screen, and what was computed for it. */
export class Drawing {
  /**
   * A drawing of a state that others change; change is asked where an electrode
   * is clicked.
   */
  constructor(study, state, change) {
    this.study = study;
    this.state = state;
    this.change = change;
    // Of all but the latency:
    this.settled = false;
    this.quantity = null;
    this.view = null;
    this.scale = null;
    this.shown = []; // the conditions
    this.stages = []; // their maps
    this.panels = []; // of waveforms
    this.drawn = null; // the waveforms
    this.cursor = null; // its element
    this.legend = [];
    // Of the latency:
    this.read = null; // gives a series' value at it
    this.pointed = null; // the place on a map where the pointer is
  }

  get theme() {
    return themes[this.themeName];
  }

  get themeName() {
    return this.state.theme ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
  }

  /**
   * Draws all that does not depend on the latency; false where something else
   * was asked for meanwhile.
   */
  async settle() {
    const { study, state } = this;
    const { field, view } = state;
    const parts = await Promise.all([study.quantity(field), study.lookAt(view)]);
    if (field !== state.field || view !== state.view) return false;
    [this.quantity, this.view] = parts;
    this.settled = true;
    this.scale = this.quantity.meta.scales[state.scale[state.field] ?? this.quantity.meta.chosen];
    this.shown = shownMaps(study, state);
    document.documentElement.dataset.theme = this.themeName;
    this.fillControls();
    this.layMaps();
    this.layTraces();
    const key = bar(340, this.quantity, this.scale, study.colours, this.theme);
    byId("scale").replaceChildren(framed(key, "Scale of the maps"));
    this.signs();
    return true;
  }

  layMaps() {
    const { study, state, view, theme } = this;
    this.stages = this.shown.map((condition) => {
      const canvas = html("canvas");
      const overlay = svg(
        "svg",
        { viewBox: view.box.join(" "), "aria-hidden": "true" },
        ground(view, condition, study, state, theme),
      );
      const single = svg("g");
      overlay.append(single);
      const stage = html("div", { className: "stage" }, canvas, overlay);
      stage.setAttribute("role", "img");
      stage.setAttribute("aria-label", `Map of ${condition.title}`);
      stage.style.aspectRatio = `${view.box[2]} / ${view.box[3]}`;
      const caption = html("figcaption", {}, condition.title, html("span", {}, condition.note || "\u00a0"));
      const map = { condition, canvas, single, stage, element: html("figure", { className: "map" }, caption, stage) };
      stage.addEventListener("pointermove", (e) => this.point(map, e));
      stage.addEventListener("pointerdown", (e) => this.point(map, e));
      stage.addEventListener("click", (e) => this.pick(map, e));
      return map;
    });
    byId("maps").replaceChildren(...this.stages.map((m) => m.element));
    this.fit();
  }

  /** Gives every canvas the dots of its place on the screen. */
  fit() {
    const dots = Math.min(devicePixelRatio || 1, 2);
    for (const { canvas, stage } of this.stages) {
      const [w, h] = [Math.round(stage.clientWidth * dots), Math.round(stage.clientHeight * dots)];
      if (canvas.width !== w || canvas.height !== h)
        Object.assign(canvas, { width: Math.max(w, 1), height: Math.max(h, 1) });
    }
  }

  /** Takes the room that there is now; false where nothing is drawn yet. */
  resize() {
    if (!this.drawn) return false;
    this.fit();
    this.settled = this.settled && room() === this.drawn.width;
    return true;
  }

  layTraces() {
    const { study, state, theme } = this;
    this.panels = panelsOf(study, state, this.shown, this.quantity);
    this.drawn = chart(this.panels, {
      width: room(),
      times: study.times,
      windows: study.windows,
      unit: this.quantity.meta.unit,
      down: state.positive === "down",
      theme,
    });
    this.cursor = svg("g");
    byId("traces").replaceChildren(
      framed({ ...this.drawn, group: svg("g", {}, this.drawn.group, this.cursor) }, "Waveforms"),
    );
    this.legend = [
      ...new Map(this.panels.flatMap((p) => p.curves.map(({ name, style }) => [name, { name, style }]))).values(),
    ];
    byId("legend").replaceChildren(
      ...this.legend.map(({ name, style }) =>
        html(
          "span",
          {},
          svg(
            "svg",
            { viewBox: "0 0 32 10", "aria-hidden": "true" },
            svg("path", {
              d: "M1 5H31",
              stroke: style[theme.curve],
              "stroke-width": 2.4,
              fill: "none",
              "stroke-dasharray": style.dash?.map((d) => d * 1.3).join(" ") ?? null,
            }),
          ),
          name,
        ),
      ),
    );
  }

  /** Draws what depends on the latency. */
  step() {
    const { study, state, view, quantity, scale } = this;
    const fields = new Map();
    this.read = instant(study, state.at);
    for (const map of this.stages) {
      const c = map.condition;
      const [a, b] = [fields.get(c.of), fields.get(c.minus)];
      const out = c.linear && a && b ? a.map((v, i) => v - b[i]) : quantity.at(c.values.map(this.read));
      fields.set(c.title, out);
      Object.assign(map, { out, square: study.grid.square(out) });
      map.values = view.lattice.sample(map.square);
      map.lines = linesOf(map.values, view.lattice, quantity, scale);
      paint(map.canvas, view, fieldCanvas(map.values, view.lattice, study.dots, scale.limit), map.lines);
      this.single(map);
    }
    this.cursor.replaceChildren(cursor(this.drawn, state.at, this.read, this.theme));
    byId("latency").value = study.sampleAt(state.at);
    byId("latency").setAttribute("aria-valuetext", latency(state.at));
    byId("now").textContent = latency(state.at);
    if (this.pointed) this.readOut();
  }

  single(map) {
    const { study, state } = this;
    const t = state.at;
    map.chosen = study.chosen
      .filter((c) => (c.from === 0 && c.to === 0) || (t >= c.from - 1e-9 && t <= c.to + 1e-9))
      .map((c) => c.site);
    map.picked = state.site !== null ? [state.site] : state.pair !== null ? study.pairs[state.pair] : [];
    const key = [map.chosen, map.picked].join("|");
    if (map.key === key) return;
    map.key = key;
    map.single.replaceChildren(singled(this.view, map.chosen, map.picked, this.theme));
  }

  sentences() {
    const { study, state } = this;
    const beyond = Math.max(...this.stages.map((m) => clipped(m.values, this.view.lattice, this.scale.limit)));
    return [
      ...atCursor(this),
      bandWords(this.panels, this.shown, state, this.quantity.meta.name === "csd"),
      beyond > 0 ? `Up to ${Math.ceil(beyond * 100)} % of a map lies beyond the scale, in the colour of its end.` : "",
      `Hatched: guessed, the interpolation may be off by over ${(study.largest / 8).toFixed(1)} µV; white: not known.`,
      study.choice ? `Diamonds: ${study.choice}.` : "",
      ...study.remarks,
      "A value picked by eye is not a test.",
    ].filter(Boolean);
  }

  /** The signs of electrodes that occur, with their meaning. */
  signs() {
    const kinds = new Set(this.shown.flatMap((c) => c.marks));
    const meanings = ["measured", "repaired: interpolated", "left out"];
    const words = [...kinds].sort().map((k) => [mark(k, 6, 6, k ? 2.6 : 3), meanings[k]]);
    byId("signs").replaceChildren(
      ...words.map(([sign, word]) =>
        html("li", {}, svg("svg", { viewBox: "0 0 12 12", "aria-hidden": "true" }, sign), word),
      ),
    );
  }

  /** Reads a map where the pointer is. */
  point(map, event) {
    const box = map.stage.getBoundingClientRect();
    const [left, top, width] = this.view.box;
    const perDot = width / box.width;
    this.pointed = { map, x: left + (event.clientX - box.left) * perDot, y: top + (event.clientY - box.top) * perDot };
    this.readOut();
  }

  /**
   * What lies under the pointer: an electrode that is near, or a place between.
   */
  placeOf({ map, x, y }) {
    const { view, quantity } = this;
    let [nearest, least] = [-1, Infinity];
    view.places.forEach((p, i) => {
      const d = Math.hypot(p.x - x, p.y - y);
      if (p.seen && d < least) [nearest, least] = [i, d];
    });
    if (least < 5) return { site: nearest, value: map.out[quantity.nodes + nearest] };
    const value = view.lattice.valueAt(map.square, x, y);
    return value === undefined || nearest < 0 ? null : { nearest, value };
  }

  readOut() {
    const map = this.stages.find((m) => m.condition === this.pointed.map.condition);
    if (!map) return;
    const place = this.placeOf({ ...this.pointed, map });
    byId("readout").textContent = place ? atPlace(this, map.condition, place) : "Point at a map.";
  }

  /**
   * Chooses the electrode of a map on which the pointer is, or lets go of it.
   */
  pick(map, event) {
    this.point(map, event);
    const place = this.placeOf(this.pointed);
    if (place?.site !== undefined)
      this.change({ site: this.state.site === place.site ? null : place.site, pair: null });
  }

  fillControls() {
    const { study, state } = this;
    const plain = study.conditions.map((c, i) => [i, c.title]).filter(([i]) => study.conditions[i].minus === undefined);
    const none = ["", "none"];
    options("site", [none, ...study.sites.map((s, i) => [i, s.name])], state.site ?? "");
    options(
      "pair",
      [none, ...study.pairs.map(([l, r], i) => [i, `${study.sites[l].name} – ${study.sites[r].name}`])],
      state.pair ?? "",
    );
    options("of", plain, state.of);
    options("minus", plain, state.minus);
    byId("difference").hidden = state.of === null;
    options(
      "field",
      study.fields.map((f) => [f.name, f.short]),
      state.field,
    );
    options(
      "view",
      study.views.map((v) => [
        v.name,
        { top: "above", left: "the left", right: "the right", front: "the front", back: "behind" }[v.name],
      ]),
      state.view,
    );
    const { scales, unit, chosen } = this.quantity.meta;
    options(
      "limit",
      scales.map((s, i) => [i, `±${short(s.limit)} ${unit}`]),
      state.scale[state.field] ?? chosen,
    );
    byId("positive").value = state.positive;
    byId("electrodes").checked = state.electrodes;
    byId("labels").checked = state.labels;
    byId("dark").checked = this.themeName === "dark";
  }

  /** The rows of the table of components for what is picked. */
  measures() {
    const { study, state } = this;
    if (!study.measures.rows.length) return;
    byId("measures").hidden = false;
    const site = study.measures.columns.indexOf("site");
    const picked = new Set(
      [...(state.site !== null ? [state.site] : []), ...(state.pair !== null ? study.pairs[state.pair] : [])].map(
        (i) => study.sites[i].name,
      ),
    );
    const rows = study.measures.rows.filter((row) => picked.size === 0 || site < 0 || picked.has(row[site]));
    const cells = (kind, row) => html("tr", {}, ...row.map((c) => html(kind, {}, c)));
    byId("measures").lastElementChild.replaceChildren(
      html(
        "table",
        {},
        html("thead", {}, cells("th", study.measures.columns)),
        html("tbody", {}, ...rows.map((r) => cells("td", r))),
      ),
    );
  }
}

/** The width of the waveforms. */
const room = () => Math.max(280, byId("traces").clientWidth);

function options(id, pairs, chosen) {
  byId(id).replaceChildren(...pairs.map(([value, label]) => html("option", { value, textContent: label })));
  byId(id).value = String(chosen);
}

function framed({ group, width, height }, label) {
  return svg("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": label }, group);
}
