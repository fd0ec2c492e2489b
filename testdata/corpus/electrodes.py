# /usr/bin/python3 testdata/corpus/electrodes.py    (Debian: python3-numpy)
#
# Writes, beside itself, electrodes on a sphere of 560 mm circumference in the coordinates
# and units that digitisers use, with the sidecars that say so, and where they are in the
# coordinates of the head: x to the right ear, y to the nasion, z up, mm. The places follow
# from the rules by hand: Cz is the pole, the ring lies at the equator, one step of the
# ring is 18°, one of the midline and of the arc from ear to ear 22.5°; nasion, inion and
# ears lie one step below the ring.
#
#   electrodes/ring_…        m, axes to front, left and up, CRLF, byte-order mark, columns in
#                            another order, rows without a position
#   electrodes/ears_…        cm, the origin between the ears, landmarks in the sidecar in mm
#   electrodes/bare_…        no sidecar: unit and axes are found
#   electrodes/own.tsv       amplitudes at these sites
#   numbers/electrodes.json
#   numbers/head.json        sites of such a head, and how far along the arc a tape finds them

import json
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
R = 560 / (2 * np.pi)
STEP = np.radians(22.5)


def ring(steps):
    """A site so many steps of 18° from Fpz to the right."""
    a = np.radians(18 * steps)
    return R * np.array([np.sin(a), np.cos(a), 0])


def arc(steps, front):
    """A site so many steps of 22.5° from the ring over the pole: from Fpz, or from T8."""
    a = STEP * steps
    return R * (np.array([0, np.cos(a), np.sin(a)]) if front else np.array([np.cos(a), 0, np.sin(a)]))


SITES = {
    "Fpz": ring(0), "Fp2": ring(1), "F8": ring(3), "T8": ring(5), "P8": ring(7), "O2": ring(9), "Oz": ring(10),
    "O1": ring(-9), "P7": ring(-7), "T7": ring(-5), "F7": ring(-3), "Fp1": ring(-1),
    "AFz": arc(1, True), "Fz": arc(2, True), "FCz": arc(3, True), "Cz": arc(4, True), "CPz": arc(5, True), "Pz": arc(6, True),
    "C4": arc(2, False), "C2": arc(3, False), "C1": arc(5, False), "C3": arc(6, False),
}
LANDMARKS = {"NAS": arc(-1, True), "RPA": arc(-1, False), "LPA": arc(9, False)}


def number(x):
    return repr(float(x))


def put(name, content):
    path = HERE / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content.encode())


def moved(p, shift, turn, scale):
    return scale * (turn @ (np.asarray(p) - shift))


def about(axis, degrees):
    a, (x, y, z) = np.radians(degrees), np.asarray(axis) / np.linalg.norm(axis)
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + np.sin(a) * k + (1 - np.cos(a)) * k @ k


ALS = np.array([[0, 1, 0], [-1, 0, 0], [0, 0, 1]])  # to the front, to the left, up


def files():
    turn = ALS @ about((1, 2, 3), 7)  # nobody holds the head straight
    shift = np.array([3, -11, 5])
    rows = ["z\tname\timpedance\tx\ty"]
    for n, p in {**LANDMARKS, **SITES}.items():
        x, y, z = map(number, moved(p, shift, turn, 1e-3))
        rows.append(f"{z}\t{n}\tn/a\t{x}\t{y}")
    rows[6:6] = ["n/a\tVEOG\t5\tn/a\tn/a", "0.01\tHEOG\t\tn/a\t0.1"]
    put("electrodes/ring_electrodes.tsv", "\ufeff" + "\r\n".join(rows) + "\r\n\r\n")
    put("electrodes/ring_coordsystem.json", "\ufeff" + json.dumps({"EEGCoordinateSystem": "CTF", "EEGCoordinateUnits": "m", "More": [1]}))

    shift = LANDMARKS["LPA"] / 2 + LANDMARKS["RPA"] / 2
    turn = about((0, 0, 1), 90) @ about((1, 0, 0), -22.5)
    rows = ["name\tx\ty\tz"] + ["\t".join([n, *map(number, moved(p, shift, turn, 0.1))]) for n, p in SITES.items()]
    put("electrodes/ears_electrodes.tsv", "\n".join(rows))
    marks = {n: list(map(float, moved(p, shift, turn, 1))) for n, p in LANDMARKS.items()}
    put("electrodes/ears_coordsystem.json", json.dumps({
        "EEGCoordinateSystem": "Other", "EEGCoordinateUnits": "cm", "EEGCoordinateSystemDescription": "as the pen gave them",
        "AnatomicalLandmarkCoordinates": {**marks, "INI": "n/a", "Chin": [None, 1, 2]},
        "AnatomicalLandmarkCoordinateSystem": "Other", "AnatomicalLandmarkCoordinateUnits": "mm"}))

    turn = about((0, 0, 1), 180) @ about((3, 1, 2), 5)
    rows = ["name\tx\ty\tz"] + ["\t".join([n, *map(number, moved(p, np.zeros(3), turn, 1e-3))]) for n, p in {**LANDMARKS, **SITES}.items()]
    put("electrodes/bare_electrodes.tsv", "\n".join(rows) + "\n")

    value = {n: round(10 * p[2] / R + p[0] / R, 3) for n, p in SITES.items()}
    put("electrodes/own.tsv", "\n".join(["time\t" + "\t".join(SITES), *("\t".join([t, *map(number, value.values())]) for t in ("0", "0.004"))]) + "\n")
    put("numbers/electrodes.json", json.dumps(
        [{"name": n, "x": p[0], "y": p[1], "z": p[2], "value": value[n]} for n, p in SITES.items()], indent=0) + "\n")
    tape = [(n, start, step * 0.1 * 560 * 225 / 360) for n, start, step in
            (("Fpz", "Nz", 1), ("Fz", "Nz", 3), ("Cz", "Nz", 5), ("T7", "LPA", 1), ("C3", "LPA", 3))]
    put("numbers/head.json", json.dumps(
        [{"name": n, "x": SITES[n][0], "y": SITES[n][1], "z": SITES[n][2], "from": f, "distance": d} for n, f, d in tape], indent=0) + "\n")


files()
