# /usr/bin/python3 testdata/inference/factors.py > testdata/inference/factors.json
# Two factors of two levels each, of invented people: cell means, effects, intervals, and p by all arrangements, by scipy and numpy.
import itertools, json
import numpy as np
from scipy import optimize, stats

rng = np.random.default_rng(7)
# A person's cells: first level of A with both of B, then the second.
within = np.round(rng.standard_normal((7, 4)) + 2 * rng.standard_normal((7, 1)) + [-3, -1.5, -2, -1.8], 6)
# Two groups of people with two cells each: the levels of A; B is the group.
groups = [np.round(s * rng.standard_normal((n, 2)) + m, 6) for n, s, m in ((4, 1, [-3, -1]), (5, 1.7, [-2, -1.5]))]
ends, half, both = {"0": [1, 0], "1": [0, 1]}, [.5, .5], [1, -1]
effects = [("cell", ends[a], ends[b]) for a in "01" for b in "01"]
effects += [("main", both, half), ("main", half, both)]
effects += [("simple", both, ends[b]) for b in "01"] + [("simple", ends[a], both) for a in "01"]
effects += [("interaction", both, both)]


def quantile(freedom):
    """That of t at .975 by its distribution function; ppf is right to some 1e-9 only."""
    return optimize.brentq(lambda x: stats.t.cdf(x, freedom) - .975, 1, 20, xtol=1e-15, rtol=1e-15)


def numbers(value, se, freedom, p):
    h = quantile(freedom) * se
    return {"value": value, "se": se, "t": value / se, "freedom": freedom, "low": value - h, "high": value + h, "p": p}


def one(x, test):
    """The mean of one sample, and all flips of its signs."""
    r = stats.ttest_1samp(x, 0)
    own = lambda v, axis: stats.ttest_1samp(v, 0, axis=axis).statistic
    p = stats.permutation_test((x,), own, permutation_type="samples", n_resamples=np.inf).pvalue if test else None
    out = numbers(x.mean(), stats.sem(x), len(x) - 1, p)
    ci = r.confidence_interval(.95)
    assert abs(ci.low - out["low"]) < 1e-7 and abs(ci.high - out["high"]) < 1e-7
    return out


def welch(x, y):
    """The difference of two samples of variances of their own, and all exchanges."""
    r = stats.ttest_ind(x, y, equal_var=False)
    own = lambda u, v, axis: stats.ttest_ind(u, v, equal_var=False, axis=axis).statistic
    every = [abs(own(np.array(u), np.array(v), 0)) for u, v in exchanges(np.append(x, y), len(x))]
    p = float(np.mean(np.array(every) >= abs(r.statistic) * (1 - 1e-12)))
    a, b = x.var(ddof=1) / len(x), y.var(ddof=1) / len(y)
    freedom = (a + b) ** 2 / (a * a / (len(x) - 1) + b * b / (len(y) - 1))
    assert abs(2 * stats.t.sf(abs(r.statistic), freedom) - r.pvalue) < 1e-12
    out = numbers(x.mean() - y.mean(), np.sqrt(a + b), freedom, p)
    assert abs(out["t"] - r.statistic) < 1e-12
    return out


def exchanges(all, n):
    for c in itertools.combinations(range(len(all)), n):
        yield all[list(c)], np.delete(all, c)


def middle(x, y):
    """The mean of two means, and all flips of all signs."""
    def t(u, v):
        return (u.mean() + v.mean()) / 2 / np.sqrt(u.var(ddof=1) / len(u) / 4 + v.var(ddof=1) / len(v) / 4)
    n, m = len(x), len(y)
    a, b = x.var(ddof=1) / n / 4, y.var(ddof=1) / m / 4
    every = np.array([abs(t(x * f[:n], y * f[n:])) for f in np.array(list(itertools.product([1, -1], repeat=n + m)))])
    p = float(np.mean(every >= abs(t(x, y)) * (1 - 1e-12)))
    return numbers((x.mean() + y.mean()) / 2, np.sqrt(a + b), (a + b) ** 2 / (a * a / (n - 1) + b * b / (m - 1)), p)


def mixed(kind, u, v):
    x, y = (g @ u for g in groups)
    if v == both:
        return welch(x, y)
    if v == half:
        return middle(x, y)
    return one(x if v[0] else y, kind != "cell")


out = {
    "within": {"people": within.tolist(), "effects": [one(within @ np.outer(u, v).ravel(), kind != "cell") for kind, u, v in effects]},
    "groups": {"people": [g.tolist() for g in groups], "effects": [mixed(*e) for e in effects]},
}
print(json.dumps(out))
