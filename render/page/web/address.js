// The state of the page in its address: #at=170ms&pair=P7,P8. The keys are
// those of state.go.

/** What a page shows at first. */
export function initial(study) {
  const plain = study.conditions.map((c, i) => i).filter((i) => study.conditions[i].minus === undefined);
  const [of, minus] = plain.length > 1 ? plain : [null, null];
  return {
    at: study.times[strongest(study.conditions[0].values)],
    site: null,
    pair: null,
    field: "potential",
    view: "top",
    scale: {},
    positive: "up",
    theme: null,
    electrodes: true,
    labels: false,
    doubt: false,
    rings: true,
    of,
    minus,
  };
}

/**
 * The sample whose field is the strongest: the largest standard deviation over
 * sites.
 */
function strongest(rows) {
  const power = rows[0].map((_, t) => {
    const mean = rows.reduce((sum, row) => sum + row[t], 0) / rows.length;
    return rows.reduce((sum, row) => sum + (row[t] - mean) ** 2, 0);
  });
  return power.indexOf(Math.max(...power));
}

const onOff = (v) => v === "on";

/**
 * Reads a state over another; what it cannot do is said to trouble and left as
 * it was.
 */
export function parse(hash, study, state, trouble) {
  const next = { ...state, site: null, pair: null };
  const site = (name) => study.sites.findIndex((s) => s.name === name);
  const index = (name) => study.conditions.findIndex((c) => c.title === name);
  const keys = {
    at: (v) => {
      const match = /^(-?[\d.]+)(ms|s)$/.exec(decode(v));
      const at = match && Number(match[1]) / (match[2] === "ms" ? 1000 : 1);
      const [first, last] = [study.times[0], study.times.at(-1)];
      return match && at >= first - 1e-9 && at <= last + 1e-9 ? { at: Math.min(Math.max(at, first), last) } : null;
    },
    site: (v) => (site(decode(v)) < 0 ? null : { site: site(decode(v)), pair: null }),
    pair: (v) => {
      const [left, right] = parted(v);
      const pair = study.pairs.findIndex(([l, r]) => study.sites[l].name === left && study.sites[r].name === right);
      return pair < 0 ? null : { pair, site: null };
    },
    field: (v) => (study.fields.some((f) => f.name === v) ? { field: v } : null),
    view: (v) => (study.views.some((w) => w.name === v) ? { view: v } : null),
    scale: (v) => (Number(v) > 0 ? { wanted: Number(v) } : null),
    positive: (v) => (["up", "down"].includes(v) ? { positive: v } : null),
    theme: (v) => (["dark", "light"].includes(v) ? { theme: v } : null),
    electrodes: (v) => ({ electrodes: onOff(v) }),
    labels: (v) => ({ labels: onOff(v) }),
    doubt: (v) => ({ doubt: onOff(v) }),
    rings: (v) => ({ rings: onOff(v) }),
    minus: (v) => {
      const [of, minus] = parted(v).map(index);
      return of >= 0 && minus >= 0 && of !== minus ? { of, minus } : null;
    },
  };
  for (const part of hash
    .replace(/^#/, "")
    .split("&")
    .filter((part) => part.includes("="))) {
    const [key, value = ""] = part.split("=");
    const change = Object.hasOwn(keys, key) ? keys[key](value) : null;
    if (change) Object.assign(next, change);
    else trouble(`The address says “${part}”, which this study does not have.`);
  }
  if (next.wanted) {
    const { scales } = study.fields.find((f) => f.name === next.field);
    const distance = (s) => Math.abs(Math.log(s.limit / next.wanted));
    const nearest = scales.reduce((best, s, i) => (distance(s) < distance(scales[best]) ? i : best), 0);
    next.scale = { ...next.scale, [next.field]: nearest };
    delete next.wanted;
  }
  return next;
}

/**
 * Parts at commas before they are decoded, since names may hold some, unless
 * all commas were encoded, too.
 */
const parted = (v) => (v.includes(",") ? v.split(",").map(decode) : decode(v).split(","));

function decode(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** The address of a state; what is as at first is left out. */
export function format(state, study) {
  const first = initial(study);
  const name = (i) => encodeURIComponent(study.sites[i].name);
  const title = (i) => encodeURIComponent(study.conditions[i].title);
  const parts = [`at=${Number((state.at * 1000).toFixed(4))}ms`];
  if (state.site !== null) parts.push(`site=${name(state.site)}`);
  if (state.pair !== null) parts.push(`pair=${study.pairs[state.pair].map(name).join(",")}`);
  for (const key of ["field", "view", "positive", "theme"])
    if (state[key] !== first[key]) parts.push(`${key}=${state[key]}`);
  const chosen = state.scale[state.field];
  if (chosen !== undefined)
    parts.push(`scale=${study.fields.find((f) => f.name === state.field).scales[chosen].limit}`);
  for (const key of ["electrodes", "labels", "doubt", "rings"])
    if (state[key] !== first[key]) parts.push(`${key}=${state[key] ? "on" : "off"}`);
  if (state.of !== first.of || state.minus !== first.minus)
    parts.push(`minus=${title(state.of)},${title(state.minus)}`);
  return `#${parts.join("&")}`;
}
