# /usr/bin/python3 testdata/topo/spline.py > testdata/topo/spline.tsv
#
# The spherical spline in plain numpy: sites of the 10-10 system on a sphere of
# 560 mm from the proportional rules, kernels as Legendre sums, and the bordered
# system as it stands, solved by LU. Amplitudes at 64 of the sites are white noise
# of 10 uV. One row a site; potential in uV and current density in uV/cm2 for
# orders 3 to 6, smoothing 0, and for order 4, smoothing 1e-4 ("4s").
import numpy as np
from numpy.polynomial.legendre import legval

MEASURED = """FC5 FC3 FC1 FCz FC2 FC4 FC6 C5 C3 C1 Cz C2 C4 C6 CP5 CP3 CP1 CPz CP2 CP4 CP6 Fp1 Fpz Fp2
AF7 AF3 AFz AF4 AF8 F7 F5 F3 F1 Fz F2 F4 F6 F8 FT7 FT8 T7 T8 T9 T10 TP7 TP8 P7 P5 P3 P1 Pz P2 P4 P6 P8
PO7 PO3 POz PO4 PO8 O1 Oz O2 Iz""".split()


def section(a, via, b, fractions):
    """Points at fractions of the circle arc a-via-b on the unit sphere."""
    normal = np.cross(via - a, b - a)
    normal /= np.linalg.norm(normal)
    centre = normal * (normal @ a)
    u = (a - centre) / np.linalg.norm(a - centre)
    w = np.cross(normal, u)

    def angle(p):
        return np.arctan2((p - centre) @ w, (p - centre) @ u) % (2 * np.pi)

    if angle(via) > angle(b):
        w = -w
    radius, whole = np.linalg.norm(a - centre), angle(b)
    return [centre + radius * (np.cos(f * whole) * u + np.sin(f * whole) * w) for f in fractions]


def sites():
    low = np.radians(22.5)
    at = {"Nz": np.array([0, np.cos(low), -np.sin(low)]), "Iz": np.array([0, -np.cos(low), -np.sin(low)])}
    at["LPA"], at["RPA"] = np.array([-np.cos(low), 0, -np.sin(low)]), np.array([np.cos(low), 0, -np.sin(low)])
    top = np.array([0, 0, 1.0])

    def place(names, a, via, b, fractions):
        at.update(zip(names.split(), section(a, via, b, fractions)))

    place("Fpz AFz Fz FCz Cz CPz Pz POz Oz", at["Nz"], top, at["Iz"], np.arange(1, 10) / 10)
    place("T7 C5 C3 C1", at["LPA"], top, at["RPA"], [0.1, 0.2, 0.3, 0.4])
    place("C2 C4 C6 T8", at["LPA"], top, at["RPA"], [0.6, 0.7, 0.8, 0.9])
    fifths = np.arange(1, 5) / 5
    for side, numbers, ear in (("T7", "1 7 7 7", "LPA"), ("T8", "2 8 8 8", "RPA")):
        n = numbers.split()
        for start, end, rows in (("Fpz", side, ("Fp", "AF", "F", "FT")), ("Oz", side, ("O", "PO", "P", "TP"))):
            arc = section(at[start], at[side], at["Oz" if start == "Fpz" else "Fpz"], fifths / 2)
            at.update({row + k: p for row, k, p in zip(rows, n, arc)})
        outer = str(int(n[1]) + 2)
        for start, rows in (("Nz", ("N", "AF", "F", "FT")), ("Iz", ("I", "PO", "P", "TP"))):
            arc = section(at[start], at[ear], at["Iz" if start == "Nz" else "Nz"], fifths / 2)
            at.update({row + (n[0] if i == 0 else outer): p for i, (row, p) in enumerate(zip(rows, arc))})
    at["T9"], at["T10"] = at["LPA"], at["RPA"]
    quarters = np.array([1, 2, 3]) / 4
    for row, ring in (("AF", "AF"), ("F", "F"), ("FC", "FT"), ("CP", "TP"), ("P", "P"), ("PO", "PO")):
        for outer, inner, other in (("7", "5 3 1", "8"), ("8", "6 4 2", "7")):
            arc = section(at[ring + outer], at[row + "z"], at[ring + other], quarters / 2)
            at.update({row + k: p for k, p in zip(inner.split(), arc)})
    del at["LPA"], at["RPA"]
    return at


def kernel(x, q):
    """Terms until the rest is below 1e-14, and the closed form for q = 2."""
    if q == 2:
        from scipy.special import spence  # spence(z) = Li2(1-z)
        return (spence((1 - np.clip(x, -1, 1)) / 2) + 1 - np.pi ** 2 / 6) / (4 * np.pi)
    n = np.arange(1, {3: 5000, 4: 400, 5: 120, 6: 80}[q], dtype=float)
    weights = np.concatenate([[0], (2 * n + 1) / (n * (n + 1)) ** q])
    return legval(np.clip(x, -1, 1), weights) / (4 * np.pi)


at = sites()
everywhere = np.array(list(at.values()))
measured = np.array([at[n] for n in MEASURED])
amplitudes = np.round(np.random.default_rng(1).normal(scale=10, size=len(MEASURED)), 4)
R = 56 / (2 * np.pi)
n = len(measured)
columns = []
for order, smoothing in ((3, 0), (4, 0), (5, 0), (6, 0), (4, 1e-4)):
    A = np.ones((n + 1, n + 1))
    A[:n, :n] = kernel(measured @ measured.T, order) + smoothing * np.eye(n)
    A[n, n] = 0
    c = np.linalg.solve(A, np.append(amplitudes, 0))
    columns.append(kernel(everywhere @ measured.T, order) @ c[:n] + c[n])
    columns.append(kernel(everywhere @ measured.T, order - 1) @ c[:n] / R ** 2)

head = [f"{q}{o}" for o in ("3", "4", "5", "6", "4s") for q in ("potential", "csd")]
print("name", "x", "y", "z", "amplitude", *head, sep="\t")
for i, (name, p) in enumerate(at.items()):
    v = amplitudes[MEASURED.index(name)] if name in MEASURED else "n/a"
    print(name, *(f"{x:.12f}" for x in p), v, *(f"{c[i]:.9g}" for c in columns), sep="\t")
