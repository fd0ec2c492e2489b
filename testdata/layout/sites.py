# /usr/bin/python3 testdata/layout/sites.py > testdata/layout/sites.tsv
#
# The 10-10 sites by quadrature, apart from the Go package: every section is
# written out as a plane curve by polar angle about a point inside it, its length
# is integrated by scipy's quad and divided by brentq; no elliptic integrals.
# Heads: a sphere of 560 mm and the ellipsoid of 560, 365 and 340 mm.

import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, fsolve


def perimeter(p, q):
    """Perimeter of the ellipse with semi-axes p and q."""
    return 4 * quad(lambda t: np.hypot(p * np.sin(t), q * np.cos(t)), 0, np.pi / 2, epsabs=1e-13, epsrel=1e-13)[0]


def axes(circumference, nasion_inion, ear_ear):
    def missing(v):
        a, b, c = v
        return [
            perimeter(a, b) - circumference,
            perimeter(b, c) / 2 - 0.8 * nasion_inion,
            perimeter(a, c) / 2 - 0.8 * ear_ear,
        ]

    return fsolve(missing, [circumference / (2 * np.pi)] * 3, xtol=1e-14)


class Section:
    """Where the plane through three points cuts the ellipsoid, as r(angle) about
    the middle of the section, from the first point over the second to the third."""

    def __init__(self, semi, start, via, end):
        self.q = np.diag(1 / np.square(semi))
        normal = np.cross(via - start, end - start)
        normal /= np.linalg.norm(normal)
        # The middle of the section lies where the quadric's gradient is normal to the plane.
        inverse = np.diag(np.square(semi)) @ normal
        self.middle = inverse * (normal @ start) / (normal @ inverse)
        self.u = (start - self.middle) / np.linalg.norm(start - self.middle)
        self.v = np.cross(normal, self.u)
        self.rest = 1 - self.middle @ self.q @ self.middle
        self.end = self.angle(end) % (2 * np.pi)
        self.via = self.angle(via) % (2 * np.pi)
        if self.via > self.end:
            self.v = -self.v
            self.end, self.via = 2 * np.pi - self.end, 2 * np.pi - self.via
        self.length = self.distance(self.end)

    def angle(self, p):
        d = p - self.middle
        return np.arctan2(d @ self.v, d @ self.u)

    def radius(self, t):
        """Distance from the middle and its derivative by the angle."""
        w = np.cos(t) * self.u + np.sin(t) * self.v
        dw = -np.sin(t) * self.u + np.cos(t) * self.v
        s = w @ self.q @ w
        r = np.sqrt(self.rest / s)
        return r, -r * (dw @ self.q @ w) / s

    def distance(self, t, since=0.0):
        speed = lambda a: np.hypot(*self.radius(a))
        # Quarter turns at most, so that each integrand is smooth and short.
        stops = np.linspace(since, t, 2 + int(abs(t - since) / (np.pi / 2)))
        return sum(quad(speed, lo, hi, epsabs=1e-12, epsrel=1e-13)[0] for lo, hi in zip(stops, stops[1:]))

    def at(self, t):
        return self.middle + self.radius(t)[0] * (np.cos(t) * self.u + np.sin(t) * self.v)

    def along(self, fraction, since=0.0, until=None):
        """The point at a fraction of the length between two angles."""
        until = self.end if until is None else until
        want = fraction * self.distance(until, since)
        if fraction in (0, 1):
            return self.at(until if fraction else since)
        t = brentq(lambda a: self.distance(a, since) - want, since, until, xtol=1e-15, rtol=1e-15)
        return self.at(t)


def landmark(semi, axis, sign):
    """Down the ellipse of one axis and the vertical, to 5/8 of its half perimeter from the top."""
    p, c = semi[axis], semi[2]
    speed = lambda t: np.hypot(p * np.cos(t), c * np.sin(t))
    length = lambda t: sum(
        quad(speed, lo, hi, epsabs=1e-12, epsrel=1e-13)[0] for lo, hi in ((0, min(t, np.pi / 2)), (np.pi / 2, max(t, np.pi / 2)))
    )
    t = brentq(lambda t: length(t) - 5 / 16 * perimeter(p, c), 1, 3, xtol=1e-15, rtol=1e-15)
    point = np.zeros(3)
    point[axis], point[2] = sign * p * np.sin(t), c * np.cos(t)
    return point


MIDLINE = "Fpz AFz Fz FCz Cz CPz Pz POz Oz".split()
CORONAL = "T7 C5 C3 C1 Cz C2 C4 C6 T8".split()
RING = ["Fp{}", "AF{}", "F{}", "FT{}", None, "TP{}", "P{}", "PO{}", "O{}"]
RING_NUMBERS = {"L": [1, 7, 7, 7, 0, 7, 7, 7, 1], "R": [2, 8, 8, 8, 0, 8, 8, 8, 2]}
LOWER = ["N{}", "AF{}", "F{}", "FT{}", "T{}", "TP{}", "P{}", "PO{}", "I{}"]
LOWER_NUMBERS = {"L": [1, 9, 9, 9, 9, 9, 9, 9, 1], "R": [2, 10, 10, 10, 10, 10, 10, 10, 2]}
ROWS = {"AF": "AF", "F": "F", "FC": "FT", "CP": "TP", "P": "P", "PO": "PO"}


def sites(semi):
    top = np.array([0, 0, semi[2]])
    nasion, inion = landmark(semi, 1, 1), landmark(semi, 1, -1)
    ears = {"L": landmark(semi, 0, -1), "R": landmark(semi, 0, 1)}
    found = {"Nz": nasion, "Iz": inion}

    midline = Section(semi, nasion, top, inion)
    for i, name in enumerate(MIDLINE, 1):
        found[name] = midline.along(i / 10)
    coronal = Section(semi, ears["L"], top, ears["R"])
    for i, name in enumerate(CORONAL, 1):
        if name != "Cz":
            found[name] = coronal.along(i / 10)

    def quarters(section, names, numbers):
        for i, (name, number) in enumerate(zip(names, numbers), 1):
            if name is None:
                continue
            span = (0.0, section.via) if i <= 5 else (section.via, section.end)
            found[name.format(number)] = section.along((i if i <= 5 else i - 5) / 5, *span)

    for side, temple in (("L", "T7"), ("R", "T8")):
        quarters(Section(semi, found["Fpz"], found[temple], found["Oz"]), RING, RING_NUMBERS[side])
        quarters(Section(semi, nasion, ears[side], inion), LOWER, LOWER_NUMBERS[side])

    for medial, temporal in ROWS.items():
        row = Section(semi, found[temporal + "7"], found[medial + "z"], found[temporal + "8"])
        for i, number in enumerate((5, 3, 1), 1):
            found[f"{medial}{number}"] = row.along(i / 4, 0.0, row.via)
            found[f"{medial}{number + 1}"] = row.along((4 - i) / 4, row.via, row.end)
    return found


def main():
    heads = {
        "sphere": np.array([560 / (2 * np.pi)] * 3),
        "ellipsoid": axes(560, 365, 340),
    }
    print("head\tname\tx\ty\tz")
    for head, semi in heads.items():
        print(head, "axes", *(f"{v:.10f}" for v in semi), sep="\t")
        for name, p in sorted(sites(semi).items()):
            print(head, name, *(f"{v + 0:.10f}" for v in p), sep="\t")


if __name__ == "__main__":
    sys.exit(main())
