# /usr/bin/python3 testdata/erp/centre.py > testdata/erp/centre.json
#
# Centres of samples of several sizes, steps of 0.01, with values far off: scipy's
# trim_mean by a fifth at each end; its standard error from scipy's winsorised values,
# their sd with n-1 over (1 - 2 * 0.2) sqrt n; numpy's median; the standard error of the
# median by all samples that can be drawn, where these are at most 60,000, else by
# 400,000 drawn ones, which know it to about 0.2 %.
import itertools
import json
import sys

import numpy as np
from scipy import stats
from scipy.stats.mstats import winsorize

rng = np.random.default_rng(19)
out = []
for n in [2, 3, 4, 5, 6, 10, 11, 24, 25, 90]:
    x = np.round(5 * rng.standard_t(3, n), 2)
    sd = np.asarray(winsorize(np.sort(x), limits=(0.2, 0.2))).std(ddof=1)
    cut = int(0.2 * n)
    if n**n <= 60000:
        draws = np.array(list(itertools.product(x, repeat=n)))
    else:
        draws = x[rng.integers(0, n, (400000, n))]
    out.append(
        {
            "values": x.tolist(),
            "mean": x.mean(),
            "sem": x.std(ddof=1) / np.sqrt(n),
            "trimmed": stats.trim_mean(x, 0.2),
            "trimmed_se": sd / ((1 - 2 * 0.2 if cut else 1) * np.sqrt(n)),
            "median": float(np.median(x)),
            "median_se": np.median(draws, axis=1).std(),
            "all_draws": n**n <= 60000,
        }
    )
json.dump(out, sys.stdout, indent=1)
print()
