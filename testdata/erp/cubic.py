# /usr/bin/python3 testdata/erp/cubic.py > testdata/erp/cubic.json
#
# scipy's not-a-knot cubic splines over even and slightly uneven knots: knots,
# a row of values, times between the knots, and the spline there.
import json
import sys

import numpy as np
from scipy.interpolate import CubicSpline

rng = np.random.default_rng(4)
cases = []
for n, rate, first in (4, 100, -0.02), (5, 250, 0), (6, 160, -0.2), (161, 160, -0.2), (401, 500, -0.2), (40, 1000 / 3, 0.1):
    for jitter in 0, 0.02:
        knots = first + (np.arange(n) + jitter * rng.uniform(-1, 1, n)) / rate
        values = 20 * rng.standard_normal(n) + 100 * rng.standard_normal()
        times = np.sort(rng.uniform(knots[0], knots[-1], 12))
        times[:3] = knots[0] + (knots[1] - knots[0]) * np.array([1e-3, 0.5, 0.999])
        times[-3:] = knots[-2] + (knots[-1] - knots[-2]) * np.array([1e-3, 0.5, 0.999])
        want = CubicSpline(knots, values, bc_type="not-a-knot")(times)
        cases.append({k: v.tolist() for k, v in dict(knots=knots, values=values, times=times, want=want).items()})
json.dump(cases, sys.stdout, separators=(",", ":"))
print()
