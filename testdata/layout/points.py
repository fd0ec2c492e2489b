# /usr/bin/python3 testdata/layout/points.py ../shared/data/bids-electrodes > testdata/layout/points.json
#
# Digitised points by scipy, apart from the Go package: the turn onto the landmarks
# by scipy's Rotation.align_vectors, the sphere and the ellipsoid by its
# least_squares with numerical derivatives. The cap: scattered points about a
# turned layout, its best turn by align_vectors and the turn's standard errors from
# the numerical Hessian of the sum of squares.

import csv
import json
import sys

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

LOW = np.radians(22.5)


def surface(points, axes):
    """Centre and scale of the surface of these proportions that fits best."""
    axes = np.array(axes)

    def residuals(v):
        return np.linalg.norm((points - v[:3]) / axes, axis=1) - v[3]

    start = np.append(points.mean(axis=0), 1)
    r = least_squares(residuals, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return r.x[:3], r.x[3], np.sqrt(np.mean(r.fun**2))


def published(folder):
    with open(folder + "/sub-02_electrodes.tsv") as f:
        rows = list(csv.DictReader(f, delimiter="\t"))
    points = 1000 * np.array([[float(r[k]) for k in "xyz"] for r in rows])
    with open(folder + "/sub-02_coordsystem.json") as f:
        marks = json.load(f)["AnatomicalLandmarkCoordinates"]
    measured = 1000 * np.array([marks[k] for k in ("NAS", "LPA", "RPA")])
    model = np.array([[0, np.cos(LOW), -np.sin(LOW)], [-np.cos(LOW), 0, -np.sin(LOW)], [np.cos(LOW), 0, -np.sin(LOW)]])
    turn, _ = Rotation.align_vectors(model - model.mean(axis=0), measured - measured.mean(axis=0))
    points, measured = turn.apply(points), turn.apply(measured)
    centre, radius, rms = surface(points, [1, 1, 1])
    return {
        "sites": {r["name"]: p.tolist() for r, p in list(zip(rows, points - centre))[::23]},
        "landmarks": dict(zip(("Nz", "LPA", "RPA"), (measured - centre).tolist())),
        "radius": radius,
        "rms": rms,
    }


def scattered():
    rng = np.random.default_rng(20)
    axes = [82.617843, 95.405964, 90.454024]
    v = rng.normal(size=(24, 3))
    v[:, 2] = np.abs(v[:, 2]) - 0.2
    v = v / np.linalg.norm(v, axis=1)[:, None] * axes + [12.0, -7.0, 30.0] + rng.normal(scale=3, size=(24, 3))
    centre, radius, rms = surface(v, [1, 1, 1])
    centre2, scale2, rms2 = surface(v, axes)
    return {
        "points": v.tolist(),
        "sphere": {"centre": centre.tolist(), "radius": radius, "rms": rms},
        "ellipsoid": {"axes": axes, "centre": centre2.tolist(), "scale": scale2, "rms": rms2},
    }


def cap():
    rng = np.random.default_rng(21)
    u = rng.normal(size=(32, 3))
    u[:, 2] = np.abs(u[:, 2])
    u /= np.linalg.norm(u, axis=1)[:, None]
    radius = 90.0
    ideal = radius * u
    planted = Rotation.from_rotvec(np.radians([4, -3, 6]))
    measured = planted.apply(ideal) + rng.normal(scale=3, size=ideal.shape) + [0.0, 0.0, 1.0]
    unit = measured / np.linalg.norm(measured, axis=1)[:, None]
    best, _ = Rotation.align_vectors(unit, u)

    def cost(w):
        return 0.5 * radius**2 * np.sum((unit - (Rotation.from_rotvec(w) * best).apply(u)) ** 2)

    h, hessian = 1e-3, np.zeros((3, 3))
    for i in range(3):
        for j in range(3):
            e, f = h * np.eye(3)[i], h * np.eye(3)[j]
            hessian[i, j] = (cost(e + f) - cost(e - f) - cost(f - e) + cost(-e - f)) / (4 * h * h)
    variance = 2 * cost(np.zeros(3)) / (2 * len(u) - 3)
    errors = np.degrees(np.sqrt(variance * np.diag(np.linalg.inv(hessian))))
    move, _ = Rotation.align_vectors(measured - measured.mean(axis=0), ideal - ideal.mean(axis=0))
    shift = measured.mean(axis=0) - move.apply(ideal.mean(axis=0))
    rest = measured - move.apply(ideal) - shift
    return {
        "ideal": ideal.tolist(),
        "measured": measured.tolist(),
        "turn": np.degrees(best.as_rotvec()).tolist(),
        "errors": errors.tolist(),
        "along": (radius * np.arccos(np.sum(u * unit, axis=1))).tolist(),
        "rigid": {
            "turn": np.degrees(move.as_rotvec()).tolist(),
            "shift": shift.tolist(),
            "rms": np.sqrt(np.mean(np.sum(rest**2, axis=1))),
        },
    }


json.dump({"published": published(sys.argv[1]), "scattered": scattered(), "cap": cap()}, sys.stdout, indent=1)
print()
