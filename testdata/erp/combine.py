# /usr/bin/python3 testdata/erp/combine.py > testdata/erp/combine.json
#
# Grand averages in numpy: 5 participants, 4 sites (P7 P8 Cz Oz), 3 samples, in two
# conditions, each with a mean, a standard error (sites and P8-P7) and a number of
# epochs. Equal weights: mean and scipy.stats.sem. Weighted by epochs: with weights
# w that sum to one, mean = sum w x, error = sqrt(N/(N-1) sum (w (x - mean))^2).
# Difference over participants: of the paired differences; within one:
# sqrt(SE1^2 + SE2^2).
import json
import sys

import numpy as np
from scipy.stats import sem

rng = np.random.default_rng(9)
N, SITES, SAMPLES = 5, 4, 3
mean = 5 * rng.standard_normal((2, N, SITES, SAMPLES))
error = rng.uniform(0.5, 2, (2, N, SITES, SAMPLES))
pair_error = rng.uniform(0.5, 2, (2, N, 1, SAMPLES))
epochs = rng.integers(20, 90, (2, N))


def pairs(x):
    return x[..., 1:2, :] - x[..., 0:1, :]


def weighted(x, w):
    w = w.reshape(-1, 1, 1) / w.sum()
    centre = (w * x).sum(axis=0)
    return centre, np.sqrt(len(x) / (len(x) - 1) * (w ** 2 * (x - centre) ** 2).sum(axis=0))


def grand(x, w):
    plain = {"mean": x.mean(axis=0), "sem": sem(x, axis=0), "pairs": pairs(x).mean(axis=0), "pair_sem": sem(pairs(x), axis=0)}
    m, s = weighted(x, w)
    pm, ps = weighted(pairs(x), w)
    return {"plain": plain, "weighted": {"mean": m, "sem": s, "pairs": pm, "pair_sem": ps}}


d = mean[0] - mean[1]
json.dump({
    "mean": mean, "sem": error, "pair_sem": pair_error, "epochs": epochs,
    "grand": grand(mean[0], epochs[0].astype(float)),
    "difference": {"mean": d.mean(axis=0), "sem": sem(d, axis=0), "pairs": pairs(d).mean(axis=0), "pair_sem": sem(pairs(d), axis=0)},
    "within": {"mean": d, "sem": np.sqrt(error[0] ** 2 + error[1] ** 2), "pairs": pairs(d),
               "pair_sem": np.sqrt(pair_error[0] ** 2 + pair_error[1] ** 2)},
}, sys.stdout, separators=(",", ":"), default=lambda a: a.tolist())
print()
