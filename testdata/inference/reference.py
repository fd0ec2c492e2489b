# /usr/bin/python3 testdata/inference/reference.py > testdata/inference/reference.json
# t, p of sign flips and exchanges, the BCa interval and adjusted p by scipy and numpy.
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
print(json.dumps(out))
