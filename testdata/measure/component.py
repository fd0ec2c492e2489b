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
    # the window's ends, on straight lines between samples, and what lies between them
    nodes = np.union1d([a, b], t[i])
    part = np.clip(np.interp(nodes, t, w), 0, None)
    cum = np.concatenate([[0], cumulative_trapezoid(part, nodes)])
    # the wave up to the vertex, every microsecond: the last time it is below the share
    latency = t[k] + shift / 250
    before = t < latency - 1e-12
    fine = np.arange(latency - .1, latency, 1e-6)
    rise = np.interp(fine, np.append(t[before], latency), np.append(w[before], sign * amplitude))
    onsets = [fine[np.flatnonzero(rise < f * sign * amplitude)[-1]] for f in (.5, .9, .99, .999)]
    out["cases"].append({
        "from": a, "to": b, "negative": sign < 0, "mean": v[i].mean(), "latency": latency, "amplitude": amplitude,
        "onsets": onsets, "area": trapezoid(part, nodes), "area_latency": float(np.interp(.5 * cum[-1], cum, nodes)),
    })
a, b = rng.standard_normal(20), rng.standard_normal(20)
gfp = lambda x: np.sqrt(((x - x.mean()) ** 2).mean())
out["maps"] = [a.tolist(), b.tolist()]
out["dissimilarity"] = float(np.sqrt((((a - a.mean()) / gfp(a) - (b - b.mean()) / gfp(b)) ** 2).mean()))
print(json.dumps(out))
