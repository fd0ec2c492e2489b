# /usr/bin/python3 testdata/measure/component.py > testdata/measure/component.json
# Means, peaks, areas and their latencies of an invented wave, by numpy and scipy.
import json
import numpy as np
from scipy.signal import argrelmax
from scipy.integrate import trapezoid, cumulative_trapezoid

t = np.arange(-50, 151) / 250
rng = np.random.default_rng(4)
v = 5 * np.exp(-((t - .1) / .02) ** 2) - 7 * np.exp(-((t - .1732) / .025) ** 2) + 4 * np.exp(-((t - .35) / .06) ** 2) + .05 * rng.standard_normal(len(t))
v = np.round(v, 9)
out = {"times": t.tolist(), "values": v.tolist(), "cases": []}
for a, b, sign in ((.05, .14, 1), (.14, .22, -1), (.25, .5, 1)):
    i = np.flatnonzero((t >= a - 1e-9) & (t <= b + 1e-9))
    w = sign * v
    tops = [k for k in argrelmax(w)[0] if k in i and w[k] > w[k - 3:k].mean() and w[k] > w[k + 1:k + 4].mean()]
    k = max(tops, key=lambda k: w[k])
    c = np.polyfit(np.arange(-1, 2), v[k - 1:k + 2], 2)
    shift = -c[1] / (2 * c[0])
    amplitude = np.polyval(c, shift)
    part = np.clip(w[i], 0, None)
    cum = np.concatenate([[0], cumulative_trapezoid(part, t[i])])
    j = k
    while sign * (v[j - 1] - .5 * amplitude) >= 0:
        j -= 1
    onset = np.interp(.5 * amplitude * sign, [w[j - 1], w[j]], [t[j - 1], t[j]])
    out["cases"].append({
        "from": a, "to": b, "negative": sign < 0, "mean": v[i].mean(), "latency": t[k] + shift / 250, "amplitude": amplitude,
        "onset": onset, "area": trapezoid(part, t[i]), "area_latency": float(np.interp(.5 * cum[-1], cum, t[i])),
    })
a, b = rng.standard_normal(20), rng.standard_normal(20)
gfp = lambda x: np.sqrt(((x - x.mean()) ** 2).mean())
out["maps"] = [a.tolist(), b.tolist()]
out["dissimilarity"] = float(np.sqrt((((a - a.mean()) / gfp(a) - (b - b.mean()) / gfp(b)) ** 2).mean()))
print(json.dumps(out))
