// What people do: controls, dragging, keys, addresses.

import { coursesOf, figureOf, fileName, valuesOf } from "./keep.js";
import { asPNG, asSVG, download, table } from "./save.js";
import { byId } from "./svg.js";
import { timeAt } from "./trace.js";

/** Lets people do things to the page. */
export function listen(page) {
  const on = (id, kind, work) => byId(id).addEventListener(kind, work);
  const number = (v) => (v === "" ? null : Number(v));
  on("latency", "input", (e) => {
    page.stop();
    page.to(Number(e.target.value));
  });
  on("site", "change", (e) => page.change({ site: number(e.target.value), pair: null }));
  on("pair", "change", (e) => page.change({ pair: number(e.target.value), site: null }));
  on("of", "change", (e) =>
    page.change(
      Number(e.target.value) === page.state.minus
        ? { of: page.state.minus, minus: page.state.of }
        : { of: Number(e.target.value) },
    ),
  );
  on("minus", "change", (e) =>
    page.change(
      Number(e.target.value) === page.state.of
        ? { of: page.state.minus, minus: page.state.of }
        : { minus: Number(e.target.value) },
    ),
  );
  for (const id of ["field", "view", "positive"]) on(id, "change", (e) => page.change({ [id]: e.target.value }));
  on("limit", "change", (e) =>
    page.change({ scale: { ...page.state.scale, [page.state.field]: Number(e.target.value) } }),
  );
  for (const id of ["electrodes", "labels", "doubt", "rings"])
    on(id, "change", (e) => page.change({ [id]: e.target.checked }));
  on("dark", "change", (e) => page.change({ theme: e.target.checked ? "dark" : "light" }));
  on("play", "click", () => page.play());
  on("svg", "click", () => download(fileName(page, ".svg"), asSVG(figureOf(page.drawing))));
  on("png", "click", async () => download(fileName(page, ".png"), await asPNG(figureOf(page.drawing))));
  on("numbers", "click", () => download(fileName(page, "_values.tsv"), table(valuesOf(page.drawing))));
  on("courses", "click", () => download(fileName(page, "_waveforms.tsv"), table(coursesOf(page.drawing))));
  on("methods", "click", () => download("methods.txt", new Blob([page.study.methods], { type: "text/plain" })));
  listenToTraces(page, byId("traces"));
  listenToKeys(page);
  addEventListener("hashchange", () => {
    if (!location.hash.includes("=")) return; // a place on the page
    page.stop();
    page.change(page.fromAddress());
  });
  new ResizeObserver(() => {
    if (page.drawing.resize()) page.change({ at: page.state.at });
  }).observe(byId("figure"));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => page.change({ theme: page.state.theme }));
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const respect = () => {
    byId("play").disabled = calm.matches;
    byId("play").title = calm.matches ? "Off, since this system asks for less motion: the arrow keys step." : "";
    if (calm.matches) page.stop();
  };
  calm.addEventListener("change", respect);
  respect();
}

function listenToTraces(page, traces) {
  const drag = (e) => {
    const box = traces.getBoundingClientRect();
    const factor = page.drawing.drawn.width / box.width;
    const t = timeAt(page.drawing.drawn, (e.clientX - box.left) * factor, (e.clientY - box.top) * factor);
    if (t === undefined) return;
    page.stop();
    page.to(page.study.sampleAt(t));
  };
  traces.addEventListener("pointerdown", (e) => {
    traces.setPointerCapture(e.pointerId);
    drag(e);
  });
  traces.addEventListener("pointermove", (e) => {
    if (e.buttons) drag(e);
  });
}

function listenToKeys(page) {
  const ten = (e) => (e.shiftKey ? 10 : 1);
  const keys = {
    ArrowLeft: (e) => page.move(-ten(e)),
    ArrowRight: (e) => page.move(ten(e)),
    PageUp: () => page.move(10),
    PageDown: () => page.move(-10),
    Home: () => page.to(0),
    End: () => page.to(page.study.samples - 1),
  };
  addEventListener("keydown", (e) => {
    const typing =
      ["SELECT", "TEXTAREA"].includes(e.target.tagName) || (e.target.tagName === "INPUT" && e.target.id !== "latency");
    if (typing || e.ctrlKey || e.metaKey || e.altKey || !Object.hasOwn(keys, e.key)) return;
    e.preventDefault();
    keys[e.key](e);
  });
}
