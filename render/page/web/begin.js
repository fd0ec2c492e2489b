// What is filled in once.

import { facts } from "./say.js";
import { byId, html } from "./svg.js";

/** Fills what never changes. */
export function begin(study) {
  byId("title").textContent = study.title;
  byId("facts").textContent = facts(study);
  byId("latency").max = study.samples - 1;
  byId("methods").hidden = !study.methods;
  if (study.links.length) {
    byId("links").hidden = false;
    byId("links").lastElementChild.replaceChildren(
      ...study.links.map((l) => html("li", {}, html("a", { href: `#${l.state.replace(/^#/, "")}` }, l.name))),
    );
  }
  const cells = (kind, ...texts) =>
    html("tr", {}, ...texts.map((t, i) => html(kind, { className: i ? "hash" : "" }, t)));
  byId("origin").lastElementChild.append(
    html("p", {}, `Written by ${study.program}. The page is one file; nothing leaves it.`),
    html("table", {}, cells("th", "file", "SHA-256"), ...study.inputs.map((i) => cells("td", i.name, i.sha256))),
  );
  if (study.stamp) watch(study.stamp);
}

/** Asks the server behind the page whether the averages have changed. */
function watch(stamp) {
  byId("reload").addEventListener("click", () => location.reload());
  setInterval(async () => {
    if (document.hidden) return;
    try {
      const answer = await fetch("version", { cache: "no-store" });
      if (!answer.ok) return; // another server has the port now
      byId("fresh").hidden = (await answer.text()).trim() === stamp;
    } catch {
      // The server has gone; the page stays as it is.
    }
  }, 2000);
}
