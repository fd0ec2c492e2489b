// Numbers and sentences.

/** A number with a true minus sign. */
export function number(v, digits) {
  const s = v.toFixed(digits);
  return Number(s) === 0 ? (0).toFixed(digits) : s.replace("-", "−");
}

/** A number of a scale or of ticks, as short as it is exact. */
export const short = (v) => String(Number(v.toPrecision(6))).replace("-", "−");

/** A time in s as people read it. */
export const latency = (s) => `${short(Math.round(s * 1e6) / 1e3)} ms`;

/** How many digits behind the point values of a field have. */
const digits = (field) => (field.meta.name === "csd" ? 3 : 2);

/** A value with its unit, and where it is known its error. */
export function amount(field, v, error, over) {
  const [d, unit] = [digits(field), field.meta.unit];
  const tail = error === undefined ? "" : ` (s.e. ${number(error, d)}${over ? `, ${over}` : ""})`;
  return `${number(v, d)} ${unit}${tail}`;
}

/** A difference with its interval. */
export function interval(field, v, error, condition) {
  const d = digits(field);
  if (error === undefined) return `${number(v, d)} ${field.meta.unit} (its error is not known)`;
  if (!condition.half) return amount(field, v, error, condition.over);
  const [low, high] = [v - condition.half * error, v + condition.half * error];
  return `${number(v, d)} ${field.meta.unit} [${number(low, d)}, ${number(high, d)}] (95 %, ${condition.over})`;
}
