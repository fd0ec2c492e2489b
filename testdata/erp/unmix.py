# /usr/bin/python3 testdata/erp/unmix.py > testdata/erp/unmix.json
#
# Mixtures of eight known sources, 20,000 samples, out of counted hashes that any
# program can make: laplace, uniform, sine, saw-tooth, two-valued with noise, a sum of
# twelve uniforms cubed, bursts, logistic. The likelihood and its gradient of the raw
# mixtures at a point near the truth, in plain numpy; then the point of the largest
# likelihood by scipy's general-purpose BFGS from the true inverse, its Amari distance
# from it (0 to 1), and the rows of its weights at unit length.
import json
import sys

import numpy as np
from scipy.optimize import minimize

N, SAMPLES = 8, 20000


def uniform(stream, n):
    """Numbers in (0, 1) by splitmix64 of a counter."""
    with np.errstate(over="ignore"):
        z = (np.arange(1, n + 1, dtype=np.uint64) + np.uint64(stream << 32)) * np.uint64(0x9E3779B97F4A7C15)
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        z = z ^ (z >> np.uint64(31))
    return ((z >> np.uint64(11)).astype(float) + 0.5) / 2**53


def laplace(u):
    return -np.sign(u - 0.5) * np.log(1 - 2 * np.abs(u - 0.5))


t = np.arange(SAMPLES)
twelve = sum(uniform(20 + k, SAMPLES) for k in range(12)) - 6
sources = np.array([
    laplace(uniform(1, SAMPLES)),
    uniform(2, SAMPLES) - 0.5,
    np.sin(0.0731 * t),
    (t * 0.01379) % 1 - 0.5,
    np.where(uniform(3, SAMPLES) < 0.5, -1, 1) + 0.6 * (uniform(4, SAMPLES) - 0.5),
    twelve**3,
    laplace(uniform(5, SAMPLES)) * (1 + np.sin(0.002 * t)) ** 2,
    np.log(uniform(6, SAMPLES) / (1 - uniform(6, SAMPLES))),
])
sources -= sources.mean(axis=1, keepdims=True)
sources /= sources.std(axis=1, keepdims=True)
mixing = 2 * uniform(7, N * N).reshape(N, N) - 1 + np.eye(N)
data = mixing @ sources
data -= data.mean(axis=1, keepdims=True)


def signs_of(y):
    return np.sign((1 - np.tanh(y) ** 2).mean(axis=1) * (y**2).mean(axis=1) - (y * np.tanh(y)).mean(axis=1))


def likelihood(w, signs):
    y = w @ data
    cosh = np.logaddexp(y, -y) - np.log(2)
    loss = -np.linalg.slogdet(w)[1] + (y**2 / 2 + signs[:, None] * cosh).mean(axis=1).sum()
    return loss, (y + signs[:, None] * np.tanh(y)) @ y.T / SAMPLES - np.eye(N)


def amari(p):
    p = np.abs(p)
    rows = (p.sum(axis=1) / p.max(axis=1) - 1).sum()
    return (rows + (p.sum(axis=0) / p.max(axis=0) - 1).sum()) / (2 * N * (N - 1))


truth = np.linalg.inv(mixing)
near = truth + 0.05 * np.sin(np.arange(N * N)).reshape(N, N)
signs = signs_of(sources)
loss, gradient = likelihood(near, signs)


def target(flat):
    w = flat.reshape(N, N)
    value, relative = likelihood(w, signs)
    return value, (relative @ np.linalg.inv(w).T).ravel()


best = minimize(target, truth.ravel(), jac=True, method="BFGS", options={"gtol": 1e-8, "maxiter": 5000})
w = best.x.reshape(N, N)
assert np.abs(likelihood(w, signs)[1]).max() < 1e-5, best
rows = w / np.linalg.norm(w, axis=1, keepdims=True)
json.dump({"signs": signs.tolist(), "mixing": mixing.tolist(), "near": near.tolist(), "loss": loss,
           "gradient": gradient.tolist(), "first": sources[:, :3].tolist(), "least": best.fun,
           "amari": amari(w @ mixing), "rows": rows.tolist()}, sys.stdout, indent=1)
print()
