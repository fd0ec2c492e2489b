// What the waveforms show: all sites, one site, or a mirror pair.

/** The panels of a state, for chart. */
export function panelsOf(study, state, shown, quantity) {
  const csd = quantity.meta.name === "csd";
  const courses = (c) => (site) => (csd ? quantity.course(site, c.values) : c.values[site]);
  if (state.site !== null) return ofSite(study, state.site, shown, courses, csd);
  if (state.pair !== null) return ofPair(study, state.pair, shown, courses, csd);
  return shown.map((c) => {
    const faint = study.sites.map((_, s) => courses(c)(s));
    return {
      title: c.title,
      faint,
      curves: [
        {
          name: csd ? "root mean square over sites" : "global field power",
          values: power(faint, !csd),
          style: style(study, 0),
          width: 1.8,
        },
      ],
    };
  });
}

const style = (study, k) => study.curves[k % study.curves.length];

/** The standard deviation over sites of every sample, or about zero. */
function power(rows, centred) {
  return rows[0].map((_, t) => {
    let [sum, squares] = [0, 0];
    for (const row of rows) {
      sum += row[t];
      squares += row[t] * row[t];
    }
    const mean = centred ? sum / rows.length : 0;
    return Math.sqrt(Math.max(0, squares / rows.length - mean * mean));
  });
}

/** Half the width of the band of a curve, and what it is. */
function band(errors, condition, csd) {
  if (!errors || csd) return null;
  return errors.map((e) => e * (condition.half || 1));
}

/**
 * Whether a condition has others of the same people beside it, so that the band
 * belongs to their difference.
 */
const isPaired = (c, plain) =>
  c.minus === undefined && /p(erson|eople)$/.test(c.over ?? "") && plain.some((o) => o !== c && o.name === c.name);

function ofSite(study, site, shown, courses, csd) {
  const plain = shown.filter((c) => c.minus === undefined);
  const differences = shown.filter((c) => c.minus !== undefined);
  const curve = (c, k) => ({
    name: c.title,
    values: courses(c)(site),
    band: isPaired(c, plain) ? null : band(c.errors?.[site], c, csd),
    style: style(study, k),
  });
  const name = study.sites[site].name;
  const panels = [];
  if (plain.length) panels.push({ title: name, curves: plain.map(curve), peaks: csd ? [] : peaks(study, name, plain) });
  differences.forEach((c) => panels.push({ title: `${name}, ${c.title}`, curves: [curve(c, plain.length)] }));
  return panels;
}

/** The peaks that a table of components gives for a site. */
function peaks(study, name, plain) {
  const column = (key) => study.measures.columns.indexOf(key);
  const [site, owner, condition, peak, time] = ["site", "name", "condition", "peak", "peak_latency"].map(column);
  if (Math.min(site, owner, condition, peak, time) < 0) return [];
  return study.measures.rows
    .filter((row) => row[site] === name && Number.isFinite(Number(row[peak])) && Number.isFinite(Number(row[time])))
    .flatMap((row) => {
      const k = plain.findIndex((c) => c.name === row[owner] && c.label === row[condition]);
      return k < 0 ? [] : [{ time: Number(row[time]), value: Number(row[peak]), style: style(study, k) }];
    });
}

function ofPair(study, pair, shown, courses, csd) {
  const [left, right] = study.pairs[pair];
  const [l, r] = [left, right].map((i) => study.sites[i].name);
  return shown.map((c) => {
    const [a, b] = [left, right].map(courses(c));
    return {
      title: c.title,
      curves: [
        { name: `${l}, left`, values: a, style: style(study, 4), width: 1.3 },
        { name: `${r}, right`, values: b, style: style(study, 1), width: 1.3 },
        {
          name: "right minus left",
          values: b.map((v, t) => v - a[t]),
          band: band(c.pairErrors?.[pair], c, csd),
          style: style(study, 0),
          width: 2,
        },
      ],
    };
  });
}

/** What the bands of the panels are, in words. */
export function bandWords(panels, shown, state, csd) {
  if (csd) return "No bands: the error of a current density is not known from those of the sites.";
  if (!panels.some((p) => p.curves.some((c) => c.band))) {
    if (state.site === null && state.pair === null) return "";
    if (state.site !== null && shown.some((c) => c.errors))
      return "No bands: these conditions are of the same people, so the band belongs to their difference, whose average is not given.";
    return "No bands: standard errors are not known.";
  }
  const with95 = shown.find((c) => c.half);
  const what = state.pair !== null ? "of right minus left" : "of the mean";
  return with95 ? `Bands: 95 % intervals ${what} (t) over ${with95.over}.` : `Bands: one standard error ${what}.`;
}
