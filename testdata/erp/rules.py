# /usr/bin/python3 testdata/erp/rules.py > testdata/erp/rules.json
#
# What the rules of rejection measure, in plain numpy: peak to peak (numpy.ptp); the
# largest difference between the means of two neighbouring stretches of `half`
# samples; the least peak to peak of `length` samples in a row. Rows are random
# walks, some quantised, some far from zero. Then limits: of 25 epochs x 3 sites the
# median plus 4 times 1.4826 times the unscaled median absolute deviation of scipy.
import json
import sys

import numpy as np
from scipy.stats import median_abs_deviation

rng = np.random.default_rng(31)
rows = []
for n, half, length, offset, quantum in (10, 5, 2, 0, 0), (160, 16, 8, -3e3, 1), (401, 50, 60, 0, 0), (161, 20, 30, 1e5, 0.5), (161, 1, 161, 0, 0):
    x = offset + np.cumsum(rng.standard_normal(n))
    if quantum:
        x = quantum * np.round(x / quantum)
    windows = np.lib.stride_tricks.sliding_window_view
    means = windows(x, half).mean(axis=1)
    rows.append(dict(row=x.tolist(), half=half, length=length, swing=float(np.ptp(x)),
                     step=float(np.abs(means[half:] - means[:-half]).max()),
                     still=float(np.ptp(windows(x, length), axis=1).min())))
values = rng.gamma(4, 20, (25, 3))
limits = np.median(values, axis=0) + 4 * 1.4826 * median_abs_deviation(values, axis=0)
json.dump(dict(rows=rows, values=values.tolist(), limits=limits.tolist()), sys.stdout, separators=(",", ":"))
print()
