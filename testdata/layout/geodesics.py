# /usr/bin/python3 testdata/layout/geodesics.py > testdata/layout/geodesics.tsv
#
# Shortest paths and meridian arcs on ellipsoids of revolution about z by GeographicLib
# (Debian's python3-geographiclib; Karney 2013, J Geodesy 87:43), and shortest paths between
# points of a triaxial ellipsoid as scipy's straightest polygon: see polygon().
# Columns: what, semi-axes (right, front, up), two points, length; all mm.

import numpy as np
from geographiclib.geodesic import Geodesic
from scipy.optimize import minimize

rng = np.random.default_rng(7)


def point(a, c, latitude, longitude):
    """Geographic latitude and longitude to a point of the ellipsoid."""
    lat, lon = np.radians([latitude, longitude])
    n = a * a / np.hypot(a * np.cos(lat), c * np.sin(lat))
    return np.array([n * np.cos(lat) * np.cos(lon), n * np.cos(lat) * np.sin(lon), n * (c / a) ** 2 * np.sin(lat)])


def polygon(semi, p, q, pieces):
    """Length of the shortest polygon with its corners on the ellipsoid."""
    u, v = p / semi, q / semi
    angle = np.arccos(u @ v)
    t = np.linspace(0, 1, pieces + 1)[1:-1, None]
    start = (np.sin((1 - t) * angle) * u + np.sin(t * angle) * v) / np.sin(angle)
    side = np.cross(u, v) / np.linalg.norm(np.cross(u, v))

    def path(off):
        w = start * np.cos(off)[:, None] + side * np.sin(off)[:, None]
        return np.vstack([p, w * semi, q])

    length = lambda off: np.linalg.norm(np.diff(path(off), axis=0), axis=1).sum()
    best = minimize(length, np.zeros(pieces - 1), method="BFGS", options={"gtol": 1e-9, "maxiter": 2000})
    return best.fun


def row(what, semi, p, q, length):
    print(what, *(f"{v + 0:.12f}" for v in (*semi, *p, *q, length)), sep="\t")


def main():
    print("what\tright\tfront\tup\tx1\ty1\tz1\tx2\ty2\tz2\tlength")
    for a, c in ((90, 90), (85, 92), (95, 84), (83, 90.5)):
        g = Geodesic(a, (a - c) / a)
        semi = (a, a, c)
        done = 0
        while done < 25:
            (lat1, lat2), (lon1, lon2) = rng.uniform(-60, 90, 2), rng.uniform(0, 110, 2)
            p, q = point(a, c, lat1, lon1), point(a, c, lat2, lon2)
            if (p / semi) @ (q / semi) > -0.45:  # not nearly opposite
                row("shortest", semi, p, q, g.Inverse(lat1, lon1, lat2, lon2)["s12"])
                done += 1
        for _ in range(10):
            lat1, lat2 = rng.uniform(-40, 80, 2)
            lon = rng.uniform(0, 180)
            over = sum(g.Inverse(lat, 0, 90, 0)["s12"] for lat in (lat1, lat2))
            row("meridian", semi, point(a, c, lat1, lon), point(a, c, lat2, lon + 180), over)
    semi = np.array([82.617843, 95.405964, 90.454024])
    done = 0
    while done < 8:
        w = rng.normal(size=(2, 3))
        w[:, 2] = np.abs(w[:, 2])
        p, q = (v / np.linalg.norm(v) * semi for v in w)
        if (p / semi) @ (q / semi) < -0.45:
            continue
        done += 1
        # The polygon is short by a share of order 1/pieces²: two sizes give the limit.
        coarse, fine = (polygon(semi, p, q, n) for n in (16, 32))
        row("polygon", semi, p, q, fine + (fine - coarse) / 3)


if __name__ == "__main__":
    main()
