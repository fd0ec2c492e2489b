// Values at an instant, between samples by the not-a-knot cubic spline over the
// whole epoch, as calotte values reads them.

/** A function that reads a row of samples at a time in s. */
export function instant({ first, period, samples }, time) {
  const at = (time - first) / period;
  const nearest = Math.round(at);
  if (Math.abs(at - nearest) < 1e-6 || samples < 4) return (row) => row[nearest];
  const weights = splineWeights(Math.min(Math.floor(at), samples - 2), at, samples);
  return (row) => {
    let sum = 0;
    for (let i = 0; i < samples; i++) sum += weights[i] * row[i];
    return sum;
  };
}

// With y the samples, one apart, and M the second derivatives, T M = R y: inner
// rows say Mⱼ₋₁ + 4Mⱼ + Mⱼ₊₁ = 6(yⱼ₋₁ − 2yⱼ + yⱼ₊₁), and M₀ = 2M₁ − M₂ with its
// like at the end makes 6M₁ of the first. The value is a sum of two y and two
// M, so its weights on y are had by one solution with the transpose of T.
function splineWeights(i, at, n) {
  const [b, weights, v] = [at - i, new Float64Array(n), new Float64Array(n)];
  const a = 1 - b;
  [weights[i], weights[i + 1]] = [a, b];
  [v[i], v[i + 1]] = [(a ** 3 - a) / 6, (b ** 3 - b) / 6];
  for (const [end, step] of [
    [0, 1],
    [n - 1, -1],
  ]) {
    v[end + step] += 2 * v[end];
    v[end + 2 * step] -= v[end];
  }
  const diagonal = (j) => (j === 1 || j === n - 2 ? 6 : 4);
  const above = (j) => (j === 1 ? 0 : 1); // what row j of T has right of the diagonal
  const below = (j) => (j === n - 2 ? 0 : 1); // and left of it
  const [c, z] = [new Float64Array(n), new Float64Array(n)];
  for (let j = 1; j <= n - 2; j++) {
    const left = j > 1 ? above(j - 1) : 0;
    const pivot = diagonal(j) - left * c[j - 1];
    c[j] = j < n - 2 ? below(j + 1) / pivot : 0;
    z[j] = (v[j] - left * z[j - 1]) / pivot;
  }
  for (let j = n - 3; j >= 1; j--) z[j] -= c[j] * z[j + 1];
  for (let j = 1; j <= n - 2; j++) {
    weights[j - 1] += 6 * z[j];
    weights[j] -= 12 * z[j];
    weights[j + 1] += 6 * z[j];
  }
  return weights;
}
