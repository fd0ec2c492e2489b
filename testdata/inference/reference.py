# /usr/bin/python3 testdata/inference/reference.py > testdata/inference/reference.json
# t, p of sign flips and exchanges, the BCa interval, adjusted p and threshold-free enhancement by scipy and numpy.
import itertools, json
import numpy as np
from scipy import stats

rng = np.random.default_rng(20)
out = {}
x = np.round(rng.standard_normal((6, 4)) + [0, .8, 1.5, -1], 6)
flips = np.array(list(itertools.product([1, -1], repeat=6)))
t = lambda a: stats.ttest_1samp(a, 0, axis=0).statistic
every = np.array([t(x * f[:, None]) for f in flips])
out["paired"] = {
    "data": x.tolist(), "t": t(x).tolist(),
    "p": [stats.permutation_test((x[:, j],), lambda a, axis: stats.ttest_1samp(a, 0, axis=axis).statistic, permutation_type="samples", n_resamples=np.inf).pvalue for j in range(4)],
    "corrected": [float(np.mean(np.abs(every).max(1) >= abs(v) * (1 - 1e-12))) for v in t(x)],
}
# the largest |t| of the data less their means, of all flips but the identity, at the 61st of 63 (0.95 of 64)
residual = x - x.mean(0)
with np.errstate(all="ignore"):
    most = np.sort([np.nanmax(np.abs(t(residual * f[:, None]))) for f in flips[1:]])
out["paired"]["simultaneous"] = float(most[int(np.ceil(.95 * 64)) - 1])
# the median of the means, and the larger share of t beyond .10 on one side, of all 64 flips in all points together
crit = stats.t.ppf(.95, 5)
med = np.array([np.median((x * f[:, None]).mean(0)) for f in flips])
share = np.array([max(np.mean(v >= crit), np.mean(v <= -crit)) for v in every])
out["paired"]["joint"] = [float(med[0]), float(np.mean(np.abs(med) >= abs(med[0]) * (1 - 1e-12))), float(share[0]),
    float(np.mean(share >= share[0] - 1e-12))]
a, b = np.round(rng.standard_normal((4, 3)) + [0, 2, 1], 6), np.round(rng.standard_normal((5, 3)), 6)
out["groups"] = {
    "first": a.tolist(), "second": b.tolist(), "t": stats.ttest_ind(a, b).statistic.tolist(),
    "p": [],
}
both = np.vstack([a, b])
for j in range(3):
    own = stats.ttest_ind(a[:, j], b[:, j]).statistic
    n = [abs(stats.ttest_ind(both[list(c), j], np.delete(both[:, j], c)).statistic) >= abs(own) * (1 - 1e-12) for c in itertools.combinations(range(9), 4)]
    out["groups"]["p"].append(float(np.mean(n)))
values = np.round(rng.gamma(2, 2, 25), 6)
draws = rng.integers(0, 25, (2000, 25))
boot = np.sort(values[draws].mean(1))
z0 = stats.norm.ppf((np.sum(boot < values.mean()) + .5 * np.sum(boot == values.mean())) / 2000)
jack = np.array([np.delete(values, i).mean() for i in range(25)])
d = jack.mean() - jack
acc = (d ** 3).sum() / (6 * (d ** 2).sum() ** 1.5)
ends = [stats.norm.cdf(z0 + (z0 + z) / (1 - acc * (z0 + z))) for z in stats.norm.ppf([.025, .975])]
out["bca"] = {"values": values.tolist(), "draws": draws.tolist(), "ends": np.quantile(boot, ends).tolist()}
res = stats.bootstrap((values,), np.mean, n_resamples=20000, random_state=1, method="BCa")
out["bca"]["scipy"] = [res.confidence_interval.low, res.confidence_interval.high]
p = [.01, .04, .03, .002, .6, .04]
m = len(p)
order = np.argsort(p, kind="stable")
adjusted = np.minimum.accumulate((np.array(p)[order] * m / np.arange(1, m + 1))[::-1])[::-1]
back = np.empty(m); back[order] = np.minimum(adjusted, 1)
out["fdr"] = {"p": p, "adjusted": back.tolist()}
# threshold-free enhancement over 3 sites in a row and 5 samples: at every height between two
# values of |t| the points above are labelled by a graph library, for all 64 arrangements
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components
sites, samples = 3, 5
z = np.round(rng.standard_normal((6, sites * samples)) + .9 * (np.arange(15) % 5 > 1), 6)
edges = [(s * samples + k, s * samples + k + 1) for s in range(sites) for k in range(samples - 1)]
edges += [(s * samples + k, (s + 1) * samples + k) for s in range(sites - 1) for k in range(samples)]
link = np.zeros((15, 15), bool)
for a, b in edges:
    link[a, b] = link[b, a] = True


def enhanced(v):
    out = np.zeros(len(v))
    for sign in (1, -1):
        h = np.clip(sign * v, 0, None)
        levels = np.concatenate([[0], np.unique(h[h > 0])])
        for low, high in zip(levels[:-1], levels[1:]):
            on = h >= high
            _, label = connected_components(csr_matrix(link & np.outer(on, on)), directed=False)
            extent = np.bincount(label[on], minlength=label.max() + 1)[label]
            out[on] += sign * np.sqrt(extent[on]) * (high ** 3 - low ** 3) / 3
    return out


own = enhanced(t(z))
most = np.array([np.abs(enhanced(t(z * f[:, None]))).max() for f in flips])
out["enhanced"] = {"data": z.tolist(), "t": t(z).tolist(), "value": own.tolist(), "corrected": [float(np.mean(most >= abs(v) * (1 - 1e-12))) for v in own]}
print(json.dumps(out))
