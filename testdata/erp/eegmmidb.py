# /usr/bin/python3 testdata/erp/eegmmidb.py ../shared/data/eegmmidb > testdata/erp/eegmmidb.json
#
# From recordings to averages in plain numpy: two recordings of the EEG Motor
# Movement/Imagery Dataset (64 sites, 160 Hz, 1 uV a digital step), pooled, left =
# T1, right = T2, -200 to 800 ms, baseline -200 to 0 ms, several references, with
# rejection, with a site replaced by the spherical spline of the others, and filtered
# from 0.5 to 30 Hz by windowed sincs of 3.3/transition taps, ends oddly reflected.
#
# For each row of mean, standard error, right minus left and its standard error:
# three sums over the samples t = 0, 1, ... (of x, of x cos(t^2/10), of x sin(0.37 t)),
# in which an error of any one sample shows, and every 32nd sample.
import json
import pathlib
import re
import sys

import numpy as np
from numpy.polynomial.legendre import legval
from scipy.signal import fftconvolve, firwin

RATE, FIRST, LAST, BASELINE = 160, -32, 128, 33
CONDITIONS = {"left": "T1", "right": "T2"}


def read(path):
    """Labels, samples (site x sample, uV) and events (onset, text)."""
    raw = path.read_bytes()
    count, records = int(raw[252:256]), int(raw[236:244])
    labels = [raw[256 + 16 * i:272 + 16 * i].decode().strip(" .") for i in range(count - 1)]
    at = 256 + count * (16 + 80 + 8)
    limits = np.array([[float(raw[at + 8 * (count * k + i):][:8]) for i in range(count - 1)] for k in range(4)])
    gain = (limits[1] - limits[0]) / (limits[3] - limits[2])
    at = 256 + count * (16 + 80 + 5 * 8 + 80)
    sizes = [int(raw[at + 8 * i:][:8]) for i in range(count)]
    body = np.frombuffer(raw, "<i2", offset=int(raw[184:192])).reshape(records, sum(sizes))
    data = body[:, :-sizes[-1]].reshape(records, count - 1, -1).transpose(1, 0, 2).reshape(count - 1, -1)
    data = limits[0][:, None] + gain[:, None] * (data - limits[2][:, None])
    text = b"".join(row.tobytes() for row in body[:, -sizes[-1]:])
    found = re.findall(rb"\+([0-9.]+)\x15[0-9.]+\x14([^\x14\x00]+)\x14", text)
    return labels, data, [(float(onset), name.decode()) for onset, name in found]


def sphere():
    """Positions of the 64 sites on the unit sphere by the proportional rules."""
    def on_arc(a, via, b, fraction):
        n = np.cross(via - a, b - a)
        n /= np.linalg.norm(n)
        centre = n * (n @ a)
        u = a - centre
        w = np.cross(n, u)
        turn = lambda p: np.arctan2((p - centre) @ w, (p - centre) @ u) % (2 * np.pi)
        phi = fraction * turn(b)
        return centre + np.cos(phi) * u + np.sin(phi) * w

    degrees = np.pi / 180
    place = {}
    for name, percent in dict(Nz=0, Fpz=10, AFz=20, Fz=30, FCz=40, Cz=50, CPz=60, Pz=70, POz=80, Oz=90, Iz=100).items():
        theta = (50 - percent) * 2.25 * degrees
        place[name] = np.array([0, np.sin(theta), np.cos(theta)])
    for i, name in enumerate("T9 T7 C5 C3 C1 Cz C2 C4 C6 T8 T10".split()):
        theta = (i - 5) * 22.5 * degrees
        place[name] = np.array([np.sin(theta), 0, np.cos(theta)])
    for side, names in (-1, "Fp1 AF7 F7 FT7 T7 TP7 P7 PO7 O1"), (1, "Fp2 AF8 F8 FT8 T8 TP8 P8 PO8 O2"):
        for i, name in enumerate(names.split()):
            phi = 18 * (i + 1) * degrees
            place[name] = np.array([side * np.sin(phi), np.cos(phi), 0])
    for row in "AF7 AF5 AF3 AF1 AFz AF2 AF4 AF6 AF8", "F7 F5 F3 F1 Fz F2 F4 F6 F8", "FT7 FC5 FC3 FC1 FCz FC2 FC4 FC6 FT8", \
            "TP7 CP5 CP3 CP1 CPz CP2 CP4 CP6 TP8", "P7 P5 P3 P1 Pz P2 P4 P6 P8", "PO7 PO5 PO3 PO1 POz PO2 PO4 PO6 PO8":
        names = row.split()
        ends = [place[names[k]] for k in (0, 4, 8)]
        for i, name in enumerate(names):
            if i % 4:
                place[name] = on_arc(*ends, i / 8)  # both halves are equally long
    return {name.upper(): p for name, p in place.items()}


def kernel(x, order=4):
    n = np.arange(1, 400)
    return legval(x, np.concatenate([[0], (2 * n + 1) / (n * (n + 1.0)) ** order])) / (4 * np.pi)


def repair(data, labels, bad):
    place = sphere()
    good = [i for i, name in enumerate(labels) if name.upper() != bad.upper()]
    e = np.array([place[labels[i].upper()] for i in good])
    a = np.ones((len(good) + 1, len(good) + 1))
    a[:-1, :-1], a[-1, -1] = kernel(np.clip(e @ e.T, -1, 1)), 0
    c = np.linalg.solve(a, np.vstack([data[good], np.zeros(data.shape[1])]))
    out = data.copy()
    out[[n.upper() for n in labels].index(bad.upper())] = np.append(kernel(e @ place[bad.upper()]), 1) @ c
    return out


def filtered(data, highpass=(0.5, 1057), lowpass=(30, 71)):
    """Zero phase: an impulse minus a low-pass, then a low-pass, in one convolution."""
    high = -firwin(highpass[1], highpass[0], window="hamming", fs=RATE)
    high[highpass[1] // 2] += 1
    h = np.convolve(high, firwin(lowpass[1], lowpass[0], window="hamming", fs=RATE))
    n = len(h) // 2
    before = 2 * data[:, :1] - data[:, n:0:-1]
    after = 2 * data[:, -1:] - data[:, -2:-n - 2:-1]
    return fftconvolve(np.hstack([before, data, after]), h[None], mode="valid", axes=1)


def mirror(name):
    number = re.search(r"\d+$", name)
    if number and int(number[0]) % 2:
        return name[:number.start()] + str(int(number[0]) + 1)
    return None


def digest(rows):
    t = np.arange(rows.shape[1])
    sums = rows @ np.stack([np.ones(len(t)), np.cos(t ** 2 / 10), np.sin(0.37 * t)], axis=1)
    return np.round(np.hstack([sums, rows[:, ::32]]), 10).tolist()


def clean(labels, data, reference=None, bad=None, smooth=False):
    if smooth:
        data = filtered(data)
    if bad:
        data = repair(data, labels, bad)
    if reference == "average":
        data = data - data.mean(axis=0)
    elif reference:
        data = data - data[[labels.index(r) for r in reference]].mean(axis=0)
    return data


def sample(onset):
    return int(np.floor(onset * RATE + 0.5))


def summary(epochs, labels, lost):
    x = np.array(epochs)
    upper = [name.upper() for name in labels]
    left = [i for i, name in enumerate(upper) if mirror(name) in upper]
    right = [upper.index(mirror(upper[i])) for i in left]
    d = x[:, right] - x[:, left]
    root = np.sqrt(len(x))
    return {
        "kept": len(x), "rejected": lost,
        "mean": digest(x.mean(axis=0)), "sem": digest(x.std(axis=0, ddof=1) / root),
        "pairs": digest(d.mean(axis=0)), "pair_sem": digest(d.std(axis=0, ddof=1) / root),
    }


def averages(files, reject=None, **cleaning):
    out = {}
    for condition, event in CONDITIONS.items():
        epochs, lost = [], 0
        for labels, data, events in files:
            data = clean(labels, data, **cleaning)
            for onset, text in events:
                if text != event:
                    continue
                epoch = data[:, sample(onset) + FIRST:sample(onset) + LAST + 1]
                epoch = epoch - epoch[:, :BASELINE].mean(axis=1, keepdims=True)
                if reject and np.ptp(epoch, axis=1).max() > reject:
                    lost += 1
                    continue
                epochs.append(epoch)
        out[condition] = summary(epochs, labels, lost)
    return out


if __name__ == "__main__":
    files = [read(path) for path in sorted(pathlib.Path(sys.argv[1]).glob("*.edf"))]
    json.dump({
        "average": averages(files, reference="average"),
        "T9,T10": averages(files, reference=["T9", "T10"]),
        "recorded": averages(files),
        "rejected": averages(files, reference="average", reject=250),
        "repaired": averages(files, reference="average", bad="C3"),
        "filtered": averages(files, reference="average", smooth=True),
    }, sys.stdout, separators=(",", ":"))
    print()
