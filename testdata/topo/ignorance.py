# /usr/bin/python3 testdata/topo/ignorance.py > testdata/topo/ignorance.tsv
#
# The error of the interpolation in plain numpy, and the restricted likelihood
# in scipy. Sites and kernels are those of spline.py. Weights come from the
# bordered system as it stands, the error from the quadratic form with k2 in
# closed form: one row for each of 200 places at least 5 mm from any of 64
# electrodes, then, for order 3 and 4 and smoothing 0 and the one that
# generalised cross-validation finds for four noisy columns, the field and noise
# parts, and the error in uV against the field and against a reading where the
# variance is 50 uV2 and the nugget .02. Then one row for each set of amplitudes
# with their number of columns, the nugget and the columns' variances: those
# that maximise the restricted likelihood with V, its inverse and determinants
# written out.
import contextlib
import io
import os

import numpy as np
from scipy.optimize import minimize_scalar

with contextlib.redirect_stdout(io.StringIO()):
    exec(open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "spline.py")).read())

RADIUS, VARIANCE, NUGGET = 560 / (2 * np.pi), 50, .02


def places(count):
    """Evenly over the upper 70 % of the sphere, 5 mm from any electrode."""
    found, k = [], 0
    while len(found) < count:
        z, turn = 1 - 1.4 * ((k * 0.7548776662466927) % 1), 2 * np.pi * ((k * 0.5698402909980532) % 1)
        p = np.array([np.sqrt(1 - z * z) * np.cos(turn), np.sqrt(1 - z * z) * np.sin(turn), z])
        if np.arccos(np.max(measured @ p)) * RADIUS >= 5:
            found.append(p)
        k += 1
    return np.array(found)


def weights(points, order, smoothing):
    A = np.ones((n + 1, n + 1))
    A[:n, :n] = kernel(measured @ measured.T, order) + smoothing * np.eye(n)
    A[n, n] = 0
    right = np.vstack([kernel(measured @ points.T, order), np.ones(len(points))])
    return np.linalg.solve(A, right)[:n].T


K = kernel(measured @ measured.T, 2)


def parts(points, order, smoothing):
    w = weights(points, order, smoothing)
    near = kernel(points @ measured.T, 2)
    field = 1 / (4 * np.pi) - 2 * np.sum(w * near, 1) + np.sum((w @ K) * w, 1)
    return field, np.sum(w * w, 1)


def restricted(y, nugget):
    """-2 log of the restricted likelihood at the best variances, and these."""
    V = K + nugget * np.eye(n)
    inverse, one = np.linalg.inv(V), np.ones(n)
    total = one @ inverse @ one
    P = inverse - np.outer(inverse @ one, one @ inverse) / total
    quadratic = np.einsum("ij,ik,kj->j", y, P, y)
    logs = np.linalg.slogdet(V)[1] + np.log(total)
    return np.sum(logs + (n - 1) * np.log(quadratic / (n - 1))), quadratic / (n - 1)


def fitted(y, order):
    """The smoothing with the least score of generalised cross-validation."""
    def score(log):
        A = np.ones((n + 1, n + 1))
        A[:n, :n] = kernel(measured @ measured.T, order) + np.exp(log) * np.eye(n)
        A[n, n] = 0
        B = np.linalg.inv(A)[:n, :n]
        return n * np.sum((B @ y) ** 2) / np.trace(B) ** 2
    return float(f"{np.exp(minimize_scalar(score, bounds=(-16, 0), method='bounded').x):.3g}")


random = np.random.default_rng(3)
root = np.linalg.cholesky(K + 1e-13 * np.eye(n))
amplitudes = {}
for name, columns, noise in (("rough", 1, .3), ("noisy", 4, 2), ("sheet", 10, .5)):
    y = 8 * root @ random.normal(size=(n, columns)) + noise * random.normal(size=(n, columns)) + 3
    amplitudes[name] = np.round(y, 6)
print("kind", "name", "values", sep="\t")
points = places(200)
for i, p in enumerate(points):
    print("place", i, *(f"{x:.15f}" for x in p), sep="\t")
for order, smoothing in ((order, s) for order in (3, 4) for s in (0, fitted(amplitudes["noisy"], order))):
    field, noise = parts(points, order, smoothing)
    truth, reading = VARIANCE * (field + NUGGET * noise), VARIANCE * (field + NUGGET * (noise + 1))
    for kind, values in (("field", field), ("noise", noise), ("truth", truth ** .5), ("reading", reading ** .5)):
        print(kind, f"{order} {smoothing:g}", *(f"{v:.12g}" for v in values), sep="\t")
# Right minus left, and one place against the mean of three.
pairs = points[:4]
for name, shares in (("difference", [1, -1, 0, 0]), ("contrast", [1, -1 / 3, -1 / 3, -1 / 3])):
    shares = np.array(shares)
    w = shares @ weights(pairs, 4, 0)
    field = shares @ kernel(pairs @ pairs.T, 2) @ shares - 2 * w @ kernel(measured @ pairs.T, 2) @ shares \
        + w @ K @ w
    print("sum", name, *shares, f"{field:.12g}", f"{w @ w:.12g}", sep="\t")
for name, y in amplitudes.items():
    best = minimize_scalar(lambda l: restricted(y, np.exp(l))[0], bounds=(-14, 4), method="bounded",
                           options={"xatol": 1e-9})
    nugget = np.exp(best.x)
    print("fit", name, y.shape[1], f"{nugget:.12g}", *(f"{v:.12g}" for v in restricted(y, nugget)[1]), sep="\t")
    for row in y:
        print("row", name, *(f"{v:.6f}" for v in row), sep="\t")
