# /usr/bin/python3 testdata/layout/halves.py > testdata/layout/halves.tsv
#
# A head whose halves were measured apart (nasion-inion 365, half rings 287 and 275, half ear
# arcs 176 and 171 mm) by quadrature and scipy's fsolve, apart from the Go package: its
# semi-axes and tilt, and sites of both sides.

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, fsolve

from sites import Section, perimeter

NASION_INION, RINGS, EARS = 365, (287, 275), (176, 171)


def down(side, up, until):
    """Length of the ellipse (side, up) from the top to an angle from it."""
    return quad(lambda t: np.hypot(side * np.cos(t), up * np.sin(t)), 0, until, epsabs=1e-12, epsrel=1e-13)[0]


def temple(side, up, elevation):
    """The point of the ellipse seen at an elevation from its middle: side, up, angle from the top."""
    t = np.pi / 2 - np.arctan2(np.sin(elevation) * side, np.cos(elevation) * up)
    return np.array([side * np.sin(t), up * np.cos(t)]), t


def missing(v):
    left, right, front, up, tilt = v
    out = [perimeter(front, up) / 2 - 0.8 * NASION_INION]
    for side, ring, ear, elevation in zip((left, right), RINGS, EARS, (tilt, -tilt)):
        point, t = temple(side, up, elevation)
        out += [perimeter(front, np.hypot(*point)) / 2 - ring, down(side, up, t) - 0.8 * ear]
    return out


def main():
    axes = fsolve(missing, [83, 83, 95, 90, 0.0], xtol=1e-13)
    left, right, front, up, tilt = axes
    print("name\tx\ty\tz")
    print("axes", *(f"{v:.10f}" for v in (left, right, front)), sep="\t")
    print("up and tilt", f"{up:.10f}", f"{tilt:.12f}", 0, sep="\t")
    sides = (-1, np.array([left, front, up])), (1, np.array([right, front, up]))
    top = np.array([0, 0, up])
    midline = Section(sides[0][1], np.array([0, front, 0]), top, np.array([0, -front, 0]))
    fz = midline.along(0.25)
    found = {"Fz": fz}
    for (sign, semi), ear, elevation, (t7, c3, f7, p7, pre) in zip(
        sides, EARS, (tilt, -tilt), (("T7", "C3", "F7", "P7", "LPA"), ("T8", "C4", "F8", "P8", "RPA"))
    ):
        at = lambda t: np.array([sign * semi[0] * np.sin(t), 0, up * np.cos(t)])
        ahead = lambda share: brentq(lambda t: down(semi[0], up, t) - share * ear, 0, 3, xtol=1e-15, rtol=1e-15)
        found[t7], found[c3], found[pre] = at(ahead(0.8)), at(ahead(0.4)), at(ahead(1))
        ring = Section(semi, np.array([0, front, 0]), found[t7], np.array([0, -front, 0]))
        found[f7], found[p7] = ring.along(0.6, 0.0, ring.via), ring.along(0.4, ring.via, ring.end)
    for (sign, semi), name, here, there in zip(sides, ("F3", "F4"), ("F7", "F8"), ("F8", "F7")):
        row = Section(semi, found[here], fz, found[there])
        found[name] = row.along(0.5, 0.0, row.via)
    for name, p in sorted(found.items()):
        print(name, *(f"{v + 0:.10f}" for v in p), sep="\t")


if __name__ == "__main__":
    main()
