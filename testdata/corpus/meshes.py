# /usr/bin/python3 testdata/corpus/meshes.py    (Debian: python3-numpy)
#
# Writes, beside itself, one surface in every form that scanners write, its landmarks, and
# where the sites of the two arcs over the vertex are on it. The surface is a coarse
# ellipsoid of rings and meridians, with corners on 1/1024 mm, so that all forms hold the
# same numbers. It is the same to the left and right and to the front and back, so that the
# arcs lie in its planes of symmetry: a tape over them is the sum of the sides of a polygon,
# and 10-20 sites lie at tenths of it. The sections run along edges and through corners.
#
#   meshes/head.ply             text, polygons of four corners, CRLF, properties of no use
#   meshes/big.ply              binary, big endian, an element of no use, 64-bit numbers
#   meshes/head.obj             cm, negative indices, texture and normals
#   meshes/head.stl             text in capitals
#   meshes/binary.stl           binary, but beginning with solid
#   meshes/landmarks.tsv, meshes/landmarks_cm.tsv
#   numbers/mesh.json           the distance from the end of the arc, mm

import json
import struct
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
AXES = np.array([75, 92, 88])
MERIDIANS, RINGS = 16, 7  # rings 22.5° apart, poles apart


def surface():
    points = [(0, 0, -1)]
    for k in range(1, RINGS + 1):
        low = -np.pi / 2 + np.pi * k / (RINGS + 1)
        points += [(np.cos(low) * np.sin(a), np.cos(low) * np.cos(a), np.sin(low)) for a in 2 * np.pi * np.arange(MERIDIANS) / MERIDIANS]
    points.append((0, 0, 1))
    vertices = np.round(np.array(points) * AXES * 1024) / 1024 + 0.0
    at = lambda ring, m: 1 + ring * MERIDIANS + m % MERIDIANS
    faces = []
    for m in range(MERIDIANS):
        faces.append([0, at(0, m), at(0, m + 1)])
        faces += [[at(r, m), at(r + 1, m), at(r + 1, m + 1), at(r, m + 1)] for r in range(RINGS - 1)]
        faces.append([at(RINGS - 1, m), len(points) - 1, at(RINGS - 1, m + 1)])
    return vertices, faces


V, FACES = surface()
TRIANGLES = [[f[0], f[k], f[k + 1]] for f in FACES for k in range(1, len(f) - 1)]
LOW = 2  # the ring of the landmarks, 22.5° below the middle one
CORNER = lambda ring, m: 1 + ring * MERIDIANS + m
MARKS = {"NAS": CORNER(LOW, 0), "RPA": CORNER(LOW, 4), "INI": CORNER(LOW, 8), "LPA": CORNER(LOW, 12)}


def put(name, content):
    path = HERE / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())


def number(x):
    return repr(float(x))


def row(v):
    return " ".join(map(number, v))


def forms():
    lines = ["ply", "format ascii 1.0", "comment a head", f"element vertex {len(V)}", "property float x", "property uchar red",
             "property float y", "property float z", f"element face {len(FACES)}", "property list uchar int vertex_indices",
             "property list uchar float texcoord", "end_header"]
    lines += [f"{number(x)} 255 {number(y)} {number(z)}" for x, y, z in V]
    lines += [f"{len(f)} {' '.join(map(str, f))} 2 0.5 0.25" for f in FACES]
    put("meshes/head.ply", "\r\n".join(lines) + "\r\n")

    head = ("ply\nformat binary_big_endian 1.0\nobj_info none\nelement camera 2\nproperty list ushort double track\nproperty char on\n"
            f"element vertex {len(V)}\nproperty double z\nproperty double y\nproperty double x\n"
            f"element face {len(TRIANGLES)}\nproperty short group\nproperty list uint uint vertex_index\nend_header\n")
    b = head.encode() + struct.pack(">H3db", 3, 1, 2, 3, -1) + struct.pack(">Hb", 0, 1)
    b += b"".join(struct.pack(">3d", z, y, x) for x, y, z in V)
    b += b"".join(struct.pack(">hI3I", -7, 3, *t) for t in TRIANGLES)
    put("meshes/big.ply", b)

    lines = ["# a head", "mtllib none.mtl", "o head"] + [f"v {row(v / 10)} 0.5 0.5 0.5" for v in V] + ["vt 0 0", "vn 0 0 1", "s off"]
    lines += ["f " + " ".join(f"{k - len(V)}/1/1" if i % 2 else f"{k + 1}//1" for i, k in enumerate(f)) for f in FACES]
    put("meshes/head.obj", "\n".join(lines))

    lines = ["SOLID a head"]
    for t in TRIANGLES:
        lines += ["FACET NORMAL 0 0 0", "OUTER LOOP", *("  VERTEX " + row(V[k]) for k in t), "ENDLOOP", "ENDFACET"]
    put("meshes/head.stl", "\n".join(lines + ["ENDSOLID a head"]) + "\n")

    b = b"solid but binary".ljust(80) + struct.pack("<I", len(TRIANGLES))
    b += b"".join(struct.pack("<12fH", 0, 0, 0, *V[t].ravel(), 0) for t in TRIANGLES)
    put("meshes/binary.stl", b)

    for name, scale in (("landmarks", 1), ("landmarks_cm", 0.1)):
        put(f"meshes/{name}.tsv", "name\tx\ty\tz\n" + "".join(n + "\t" + "\t".join(map(number, V[k] * scale)) + "\n" for n, k in MARKS.items()))


def tape(meridian):
    """The sum of the polygon's sides from one landmark over the pole to the other."""
    way = [V[CORNER(r, meridian)] for r in range(LOW, RINGS)] + [V[-1]]
    way += [V[CORNER(r, meridian + MERIDIANS // 2)] for r in reversed(range(LOW, RINGS))]
    return float(np.linalg.norm(np.diff(way, axis=0), axis=1).sum())


def numbers():
    midline, across = tape(0), tape(4)
    want = [("Fpz", "Nz", 0.1 * midline), ("Fz", "Nz", 0.3 * midline), ("Cz", "Nz", 0.5 * midline), ("Pz", "Nz", 0.7 * midline),
            ("Oz", "Nz", 0.9 * midline), ("T7", "LPA", 0.1 * across), ("C3", "LPA", 0.3 * across), ("C4", "LPA", 0.7 * across),
            ("T8", "LPA", 0.9 * across)]
    put("numbers/mesh.json", json.dumps([{"name": n, "from": f, "distance": d} for n, f, d in want], indent=0) + "\n")


forms()
numbers()
