// Elements of SVG, made without markup, so that no text of the data becomes
// any.

const space = "http://www.w3.org/2000/svg";

/**
 * An element with attributes and children; attributes that are null are left
 * out.
 */
export function svg(name, attributes = {}, ...children) {
  const e = document.createElementNS(space, name);
  for (const [key, value] of Object.entries(attributes)) if (value !== null) e.setAttribute(key, value);
  e.append(...children.filter((c) => c !== null));
  return e;
}

/** A line of text. */
export function text(words, x, y, attributes = {}) {
  return svg("text", { x, y, ...attributes }, words);
}

/** An element of HTML with properties and children. */
export function html(name, properties = {}, ...children) {
  const e = Object.assign(document.createElement(name), properties);
  e.append(...children);
  return e;
}

/** The element of the page with an id. */
export const byId = (id) => document.getElementById(id);

export const family = '"Liberation Sans", Arial, Helvetica, sans-serif';

/**
 * What figures are drawn in, on a light ground as on paper, and on a dark one.
 */
export const themes = {
  light: { ink: "#1d232b", quiet: "#525b66", paper: "#ffffff", accent: "#1f4e79", curve: "light" },
  dark: { ink: "#e9ecef", quiet: "#b3bac2", paper: "#1a2027", accent: "#9cc3ea", curve: "dark" },
};

const pen = new OffscreenCanvas(1, 1).getContext("2d");

/** How wide a line of text is at the size of figures, 11. */
export function textWidth(words, weight = "normal") {
  pen.font = `${weight} 11px ${family}`;
  return pen.measureText(words).width;
}
