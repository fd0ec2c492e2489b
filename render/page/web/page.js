// The page: its state, and how that changes.

import { format, initial, parse } from "./address.js";
import { Drawing } from "./drawing.js";
import { byId, html } from "./svg.js";

const stepsASecond = 6; // a flash takes two steps, so there are at most three a second
const playStep = 0.01; // s
const calm = 150; // ms without a change, after which the page says and keeps what it shows

export class Page {
  constructor(study) {
    this.study = study;
    this.state = this.fromAddress();
    this.drawing = new Drawing(study, this.state, (patch) => this.change(patch));
    this.pending = false; // whether a frame of the screen is asked for
    this.later = null; // the timer of what a moving cursor need not say
    this.playing = null; // the timer of the steps
  }

  fromAddress() {
    byId("trouble").textContent = "";
    return parse(location.hash, this.study, initial(this.study), (words) => (byId("trouble").textContent = words));
  }

  /**
   * Changes the state; what depends on it is drawn with the next frame of the
   * screen.
   */
  change(patch) {
    const still = Object.keys(patch).every((k) => k === "at");
    Object.assign(this.state, patch);
    if (!still) this.drawing.settled = false;
    clearTimeout(this.later); // which would speak of what is no longer shown
    byId("words").setAttribute("aria-busy", "true");
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(async () => {
      this.pending = false;
      await this.draw();
    });
  }

  async draw() {
    const { drawing } = this;
    if (!drawing.settled && !(await drawing.settle())) return;
    performance.mark("step begins");
    drawing.step();
    performance.measure("step", "step begins");
    clearTimeout(this.later);
    this.later = setTimeout(() => this.afterwards(), calm);
  }

  /** Says and keeps what a moving cursor need not. */
  afterwards() {
    const { study, state, drawing } = this;
    byId("words").replaceChildren(...drawing.sentences().map((s) => html("p", {}, s)));
    byId("words").setAttribute("aria-busy", "false");
    history.replaceState(null, "", format(state, study));
    drawing.measures();
    performance.clearMarks();
    const steps = performance.getEntriesByName("step");
    if (steps.length > 1000) performance.clearMeasures("step");
  }

  move(samples) {
    this.stop();
    this.to(this.study.sampleAt(this.state.at) + samples);
  }

  to(sample) {
    this.change({ at: this.study.times[Math.min(Math.max(sample, 0), this.study.samples - 1)] });
  }

  play() {
    if (this.playing) return this.stop();
    const stride = Math.max(1, Math.round(playStep / this.study.period));
    const last = this.study.samples - 1;
    let at = this.study.sampleAt(this.state.at) % last;
    this.playing = setInterval(() => {
      if (at >= last) return this.stop();
      this.to((at += stride));
    }, 1000 / stepsASecond);
    this.showPlaying();
  }

  stop() {
    clearInterval(this.playing);
    this.playing = null;
    this.showPlaying();
  }

  showPlaying() {
    byId("play").textContent = this.playing ? "Stop" : "Play";
    byId("play").setAttribute("aria-pressed", String(Boolean(this.playing)));
  }
}
