# /usr/bin/python3 testdata/measure/jackknife.py > testdata/measure/jackknife.json
# Paired tests of scores by the jackknife, of six invented people in two conditions, by numpy and scipy.
import json
import numpy as np
from scipy import stats
from scipy.integrate import cumulative_trapezoid

rng = np.random.default_rng(11)
t = np.arange(0, 101) / 250
people = 6
smooth = np.exp(-((np.arange(-10, 11) / 4) ** 2))


def wave(latency, size):
    noise = np.convolve(rng.standard_normal(len(t) + 20), smooth, "valid")
    return np.round(size * np.exp(-((t - latency) / .03) ** 2) + .25 * noise, 9)


data = np.array([[wave(.16 + .01 * rng.standard_normal(), 5 + rng.random()), wave(.172 + .01 * rng.standard_normal(), 5 + rng.random())] for _ in range(people)])
a, b = .102, .238


def scores(v):
    i = np.flatnonzero((t >= a - 1e-9) & (t <= b + 1e-9))
    k = i[np.argmax(v[i])]
    c = np.polyfit([-1, 0, 1], v[k - 1:k + 2], 2)
    shift = -c[1] / (2 * c[0])
    peak, latency = np.polyval(c, shift), t[k] + shift / 250
    before = t < latency
    times, values = np.append(t[before], latency), np.append(v[before], peak)
    j = np.flatnonzero(values < .5 * peak)[-1]
    onset = np.interp(.5 * peak, values[j:j + 2], times[j:j + 2])
    nodes = np.union1d([a, b], t[i])
    part = np.clip(np.interp(nodes, t, v), 0, None)
    cum = np.concatenate([[0], cumulative_trapezoid(part, nodes)])
    return np.array([v[i].mean(), peak, latency, onset, cum[-1], np.interp(.5 * cum[-1], cum, nodes)])


difference = lambda d: scores(d[:, 0].mean(0)) - scores(d[:, 1].mean(0))
whole = difference(data)
left = np.array([difference(np.delete(data, i, 0)) for i in range(people)])
se = np.sqrt((people - 1) / people * ((left - left.mean(0)) ** 2).sum(0))
half = stats.t.ppf(.975, people - 1) * se
own = np.array([scores(d[0]) - scores(d[1]) for d in data])
test = stats.ttest_1samp(own, 0)
ci = test.confidence_interval(.95)
print(json.dumps({
    "times": t.tolist(), "data": data.tolist(), "from": a, "to": b,
    "jackknifed": {"difference": whole.tolist(), "se": se.tolist(), "p": (2 * stats.t.sf(abs(whole / se), people - 1)).tolist(), "low": (whole - half).tolist(), "high": (whole + half).tolist()},
    "within": {"difference": own.mean(0).tolist(), "se": (own.std(0, ddof=1) / np.sqrt(people)).tolist(), "p": test.pvalue.tolist(), "low": ci.low.tolist(), "high": ci.high.tolist()},
}))
