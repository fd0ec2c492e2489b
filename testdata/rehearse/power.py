# /usr/bin/python3 testdata/rehearse/power.py > testdata/rehearse/power.json
# Power of the two-sided t test at .05 by the noncentral t of scipy: people of whom each has so many epochs a
# condition with a standard deviation of 8 uV, and effects that differ between people by so much; Wilson intervals.
import json
import numpy as np
from scipy import stats

rows = []
for people, epochs, between in [(12, 60, 0), (24, 60, 0), (24, 30, 0), (24, 60, 1)]:
    se = np.sqrt((64 * 2 / epochs + between ** 2) / people)
    crit = stats.t.ppf(.975, people - 1)
    for effect in [0, .5, 1, 2]:
        nc = effect / se
        power = stats.nct.sf(crit, people - 1, nc) + stats.nct.cdf(-crit, people - 1, nc) if effect else .05
        rows.append({"people": people, "epochs": epochs, "between": between, "effect": effect, "power": float(power)})
wilson = []
for found, n in [(0, 20), (50, 1000), (812, 1000), (7, 7)]:
    ci = stats.binomtest(found, n).proportion_ci(.95, method="wilson")
    wilson.append({"found": found, "all": n, "low": float(ci.low), "high": float(ci.high)})
print(json.dumps({"power": rows, "wilson": wilson}))
