# /usr/bin/python3 testdata/layout/scan.py
#
# Writes testdata/layout/scan.ply, an uneven head with hollow temples, a nose and ears, and
# testdata/layout/scan.tsv: tapes over sections of it, apart from the Go package. A section is
# cut triangle by triangle with numpy, joined end to end, taken from the first of its three
# points over the second to the third, and its tape is the convex hull by scipy's ConvexHull
# without the chord. Invented shape, synthetic.
# Columns: three points, tape, length along the skin, and the tape's point at 0.3 of its length.

from pathlib import Path

import numpy as np
from scipy.spatial import ConvexHull

HERE = Path(__file__).parent
rng = np.random.default_rng(3)


def sphere(n):
    """n points spread evenly and the triangles of their hull."""
    k = np.arange(n) + 0.5
    z, turn = 1 - 2 * k / n, np.pi * (1 + 5**0.5) * k
    p = np.column_stack([np.sqrt(1 - z * z) * np.cos(turn), np.sqrt(1 - z * z) * np.sin(turn), z])
    return p, ConvexHull(p).simplices


def head(u):
    """Points of the head in the directions u: an ellipsoid with bumps and hollows."""
    r = np.ones(len(u))
    for centre, width, height in (
        ((0.85, 0.5, 0.1), 0.2, -0.16), ((-0.85, 0.5, 0.1), 0.18, -0.12),  # temples
        ((0, 1, -0.55), 0.18, 0.25), ((0, 1, -0.3), 0.15, -0.06),  # nose, its root
        ((1, -0.1, -0.25), 0.12, 0.2), ((-1, -0.1, -0.25), 0.12, 0.2),  # ears
        ((0.3, -0.5, 0.8), 0.4, 0.05), ((0.1, 0.3, 1), 0.13, -0.07),
    ):
        c = np.array(centre) / np.linalg.norm(centre)
        r += height * np.exp(-np.sum((u - c) ** 2, axis=1) / (2 * width**2))
    return np.round(u * r[:, None] * [83, 95, 90], 4)


def section(vertices, triangles, normal, height):
    """The closed curve in which the plane cuts the mesh, as points in order."""
    d = vertices @ normal - height
    ends = {}
    for t in triangles:
        cut = [tuple(sorted((a, b))) for a, b in ((t[0], t[1]), (t[1], t[2]), (t[2], t[0])) if (d[a] < 0) != (d[b] < 0)]
        if cut:
            ends.setdefault(cut[0], []).append(cut[1])
            ends.setdefault(cut[1], []).append(cut[0])
    order = [next(iter(ends))]
    while True:
        onward = [e for e in ends[order[-1]] if len(order) < 2 or e != order[-2]]
        if onward[0] == order[0]:
            break
        order.append(onward[0])
    assert len(order) == len(ends), "one closed curve"
    return np.array([vertices[a] + (vertices[b] - vertices[a]) * d[a] / (d[a] - d[b]) for a, b in order])


def nearest(curve, p):
    """Index of the piece of the closed curve nearest to p."""
    a, b = curve, np.roll(curve, -1, axis=0)
    t = np.clip(np.sum((p - a) * (b - a), axis=1) / np.sum((b - a) ** 2, axis=1), 0, 1)
    return int(np.argmin(np.linalg.norm(a + t[:, None] * (b - a) - p, axis=1)))


def tape(vertices, triangles, points):
    a, v, b = points
    normal = np.cross(v - a, b - a)
    normal /= np.linalg.norm(normal)
    curve = section(vertices, triangles, normal, normal @ a)
    for c in (curve, curve[::-1]):
        i, j, k = (nearest(c, p) for p in points)
        n = len(c)
        if (j - i) % n < (k - i) % n:
            way = np.vstack([a, [c[m % n] for m in range(i + 1, i + 1 + (k - i) % n)], b])
            break
    u = (b - a) / np.linalg.norm(b - a)
    flat = np.column_stack([(way - a) @ u, (way - a) @ np.cross(normal, u)])
    hull = list(ConvexHull(flat).vertices)
    first, last = 0, len(way) - 1
    assert first in hull and last in hull, "a tape that leaves its ends"
    touched = way[sorted(hull)]
    pieces = np.linalg.norm(np.diff(touched, axis=0), axis=1)
    at = np.concatenate([[0], np.cumsum(pieces)])
    point = [np.interp(0.3 * at[-1], at, touched[:, i]) for i in range(3)]
    return at[-1], np.linalg.norm(np.diff(way, axis=0), axis=1).sum(), point


def main():
    u, triangles = sphere(1500)
    vertices = head(u)
    with open(HERE / "scan.ply", "w") as f:
        f.write("ply\nformat ascii 1.0\ncomment synthetic head\n")
        f.write(f"element vertex {len(vertices)}\nproperty float x\nproperty float y\nproperty float z\n")
        f.write(f"element face {len(triangles)}\nproperty list uchar int vertex_indices\nend_header\n")
        f.writelines("{:.4f} {:.4f} {:.4f}\n".format(*v) for v in vertices)
        f.writelines("3 {} {} {}\n".format(*t) for t in triangles)
    # Points inside triangles, so that no plane runs through a corner.
    inside = u[triangles].mean(axis=1)
    at = lambda *d: vertices[triangles[np.argmax(inside @ (np.array(d) / np.linalg.norm(d)))]].mean(axis=0)
    with open(HERE / "scan.tsv", "w") as f:
        f.write("x1\ty1\tz1\tx2\ty2\tz2\tx3\ty3\tz3\ttape\tskin\tx\ty\tz\n")
        for points in (
            (at(0, 1, -0.35), at(0.05, 0, 1), at(0, -1, -0.4)),
            (at(-1, 0.1, -0.4), at(0, 0, 1), at(1, 0.1, -0.4)),
            (at(0, 1, 0.05), at(-1, 0, 0.05), at(0, -1, 0)),
            (at(0, 1, 0.05), at(1, 0, 0.05), at(0, -1, 0)),
            (at(-0.8, 0.6, 0.1), at(0, 0.7, 0.7), at(0.8, 0.6, 0.1)),
            (at(-0.8, -0.6, 0.1), at(0, -0.7, 0.7), at(0.8, -0.6, 0.1)),
        ):
            length, skin, point = tape(vertices, triangles, points)
            f.write("\t".join(f"{x:.9f}" for x in (*np.ravel(points), length, skin, *point)) + "\n")


if __name__ == "__main__":
    main()
