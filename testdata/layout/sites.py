# /usr/bin/python3 testdata/layout/sites.py > testdata/layout/sites.tsv
#
# The 345 sites of the 10-5 system by quadrature, apart from the Go package: every section is
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


# Letters of the coronal rows from front to back, over the temples and near the midline.
TEMPORAL = "AFp AF AFF F FFT FT FTT T TTP TP TPP P PPO PO POO".split()
MEDIAL = "AFp AF AFF F FFC FC FCC C CCP CP CPP P PPO PO POO".split()
# Each ring: the numbers of its rows on either side, and its sites before and after them.
RINGS = {
    "ring": (("7", "8"), ["Fp{}h", "Fp{}"], ["O{}", "O{}h"], ("Fpz", "Oz")),
    "lower": (("9", "10"), ["N{}h", "N{}"], ["I{}", "I{}h"], ("Nz", "Iz")),
    "middle": (("9h", "10h"), ["NFp{}h", "NFp{}"], ["OI{}", "OI{}h"], ("NFpz", "OIz")),
}
EAR_TO_TOP = "{T}9 {T}9h {T}7 {T}7h {C}5 {C}5h {C}3 {C}3h {C}1 {C}1h".split()


def opposite(name):
    """The name on the right of one on the left."""
    stem = name.removesuffix("h")
    return stem[:-1] + str(int(stem[-1]) + 1) + name[len(stem) :]


def sites(semi):
    top = np.array([0, 0, semi[2]])
    found = {"Nz": landmark(semi, 1, 1), "Iz": landmark(semi, 1, -1), "Cz": top}
    ears = landmark(semi, 0, -1), landmark(semi, 0, 1)

    midline = Section(semi, found["Nz"], top, found["Iz"])
    names = ["NFpz", "Fpz"] + [m + "z" for m in MEDIAL] + ["Oz", "OIz"]
    for i, name in enumerate(names, 1):
        if name != "Cz":
            found[name] = midline.along(i / 20)

    coronal = Section(semi, ears[0], top, ears[1])
    for i, name in enumerate(n.format(T="T", C="C") for n in EAR_TO_TOP):
        found[name] = coronal.along(i / 20)
        found[opposite(name)] = coronal.along(1 - i / 20)

    for numbers, front, back, ends in RINGS.values():
        for side, number in enumerate(numbers):
            names = [n.format(1 + side) for n in front] + [t + number for t in TEMPORAL] + [n.format(1 + side) for n in back]
            section = Section(semi, found[ends[0]], found["T" + number], found[ends[1]])
            for i, name in enumerate(names, 1):
                if i < 10:
                    found[name] = section.along(i / 10, 0.0, section.via)
                elif i > 10:
                    found[name] = section.along(i / 10 - 1, section.via, section.end)

    for temporal, medial in zip(TEMPORAL, MEDIAL):
        if medial == "C":
            continue
        row = Section(semi, found[temporal + "7"], found[medial + "z"], found[temporal + "8"])
        for i, name in enumerate([temporal + "7h"] + [medial + n for n in "5 5h 3 3h 1 1h".split()], 1):
            found[name] = row.along(i / 8, 0.0, row.via)
            found[opposite(name)] = row.along(1 - i / 8, row.via, row.end)
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
