// The page begins here.

import { begin } from "./begin.js";
import { listen } from "./hands.js";
import { Page } from "./page.js";
import { read } from "./study.js";
import { byId } from "./svg.js";

try {
  const study = await read();
  begin(study);
  const page = new Page(study);
  listen(page);
  await page.draw();
  performance.measure("first picture");
} catch (error) {
  byId("readout").textContent = `The maps cannot be drawn; a newer browser may help (${error.message}).`;
  throw error;
}
