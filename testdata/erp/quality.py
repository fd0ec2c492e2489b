# /usr/bin/python3 testdata/erp/quality.py > testdata/erp/quality.json
#
# Data quality in plain numpy: 13 epochs, 2 sites, 120 samples at 500 Hz in steps of
# 0.01 uV, noise around a slow wave and a sine of 50 Hz. The standardised measurement
# error of the mean over samples 40 to 59 (numpy std with n-1 over sqrt n); the
# covariance of the mean amplitudes of that window (numpy.cov over n); the plus-minus
# average of the first 12; the amplitude at 50 and 60 Hz of the average, by the
# discrete transform under numpy's Hann window without its zeros; the mean and the
# bootstrap's exact standard error (population sd over sqrt n) of the window's mean.
import json
import sys

import numpy as np

rng = np.random.default_rng(77)
N, SITES, SAMPLES, RATE = 13, 2, 120, 500
t = np.arange(SAMPLES)
data = 10 * rng.standard_normal((N, SITES, SAMPLES)).cumsum(axis=2) / 5 + 6 * np.sin(t / 30)
data += 1.5 * np.sin(2 * np.pi * 50 * t / RATE + 0.4)
data = np.round(data, 2)
scores = data[:, :, 40:60].mean(axis=2)
mean = data.mean(axis=0)
window = np.hanning(SAMPLES + 2)[1:-1]


def hum(x, f):
    x = x - (window * x).sum() / window.sum()
    return 2 * abs((window * x * np.exp(-2j * np.pi * f * t / RATE)).sum()) / window.sum()


signs = (-1.0) ** np.arange(12)
json.dump(dict(
    data=data.tolist(), sme=(scores.std(axis=0, ddof=1) / np.sqrt(N)).tolist(),
    covariance=(np.cov(scores.T) / N).tolist(), bootstrap=(scores.std(axis=0) / np.sqrt(N)).tolist(),
    plusminus=np.einsum("k,kst->st", signs, data[:12] / 12).tolist(),
    hum={str(f): [hum(row, f) for row in mean] for f in (50, 60)}), sys.stdout, separators=(",", ":"))
print()
