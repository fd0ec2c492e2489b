# /usr/bin/python3 testdata/erp/eyes.py > testdata/erp/eyes.json
#
# The regression on two eye channels in plain numpy, in the order of its definition:
# 16 epochs of two conditions, 3 sites and 2 eye channels, 125 samples, in steps of
# 0.01 uV, the vertical channel first, with blinks, saccades and an offset a channel.
# Blinks are found by the rule (100 uV from the median, down to 20), channels lose
# their mean outside blinks, then the average of the condition's epochs outside
# blinks; then least squares with an intercept (numpy.linalg.lstsq) within blinks and
# outside. Also one epoch corrected.
import json
import sys

import numpy as np

rng = np.random.default_rng(8)
EPOCHS, SITES, EYES, SAMPLES = 16, 3, 2, 125
t = np.arange(SAMPLES)
condition = np.arange(EPOCHS) % 3 % 2
evoked = 10 * rng.standard_normal((2, SITES + EYES, 1)) * np.sin(t / 12)
data = 8 * rng.standard_normal((EPOCHS, EYES + SITES, SAMPLES)) + evoked[condition]
lid, turn = np.array([1, 0.1, 0.5, 0.2, 0.05]), np.array([0.2, 1, 0.1, -0.3, 0.02])
for e in range(EPOCHS):
    if e % 4:
        data[e] += np.outer(lid, rng.uniform(150, 300) * np.exp(-((t - rng.uniform(10, 115)) / 12) ** 2))
    data[e] += np.outer(turn, rng.normal(0, 40) * (t > rng.uniform(10, 115)))
data += np.array([3e3, -2e3, 500, 0, -40])[:, None]
data = np.round(data, 2)


def blinks(x):
    d = x - np.median(x)
    found = np.zeros(len(x), bool)
    for side in 1, -1:
        away = np.concatenate([[False], side * d > 20, [False]]).astype(int)
        starts, ends = np.flatnonzero(np.diff(away) == 1), np.flatnonzero(np.diff(away) == -1)
        for a, b in zip(starts, ends):
            found[a:b] |= (side * d[a:b]).max() > 100
    return found


masks = np.array([blinks(e[0]) for e in data])
levelled = np.array([e - e[:, ~m].mean(axis=1, keepdims=True) for e, m in zip(data, masks)])
rest = levelled.copy()
for c in 0, 1:
    mine = condition == c
    out_of_blinks = np.ma.array(levelled[mine], mask=np.broadcast_to(masks[mine][:, None], levelled[mine].shape))
    rest[mine] -= np.where(out_of_blinks.mask.all(axis=0), levelled[mine].mean(axis=0), out_of_blinks.mean(axis=0).filled(0))
out = {}
for name, chosen in ("rest", ~masks), ("blink", masks):
    x = rest.transpose(0, 2, 1)[chosen]
    design = np.column_stack([x[:, :EYES], np.ones(len(x))])
    b = np.linalg.lstsq(design, x[:, EYES:], rcond=None)[0][:EYES].T
    out[name], out[name + "_n"] = b.tolist(), int(chosen.sum())
e = int(np.argmax(masks.sum(axis=1)))
b = np.where(masks[e], np.array(out["blink"])[..., None], np.array(out["rest"])[..., None])
out["epoch"] = e
out["corrected"] = (data[e, EYES:] - (b * levelled[e, :EYES]).sum(axis=1)).tolist()
out["condition"], out["data"] = condition.tolist(), data.tolist()
json.dump(out, sys.stdout, separators=(",", ":"))
print()
