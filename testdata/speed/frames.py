# /usr/bin/python3 testdata/speed/frames.py CALOTTE: times frames and sheets drawn by the
# program beside a plain numpy, scipy and matplotlib script that does the same work. Whole
# processes, medians of five in turn, and how far two spinning loops get beside one.
# Needs Debian's python3-numpy, python3-scipy and python3-matplotlib.
import os, shutil, statistics, subprocess, sys, tempfile, time

SCRIPT = r'''
import sys
import numpy as np
from scipy.special import eval_legendre
import matplotlib
matplotlib.use("Agg")
import matplotlib.pyplot as plt
mode, table, sites, out = sys.argv[1:5]
with open(table) as f:
    names = f.readline().strip().split("\t")[1:]
data = np.loadtxt(table, skiprows=1)
times, data = data[:, 0], data[:, 1:].T
place = {}
with open(sites) as f:
    next(f)
    for line in f:
        c = line.split("\t")
        place[c[0]] = np.array([float(x) for x in c[1:4]])
E = np.array([place[n] / np.linalg.norm(place[n]) for n in names])
n = np.arange(1, 40)
w = (2 * n + 1) / (n * (n + 1.0)) ** 4 / (4 * np.pi)
g = lambda x: sum(w[i] * eval_legendre(n[i], x) for i in range(len(n)))
G = g(np.clip(E @ E.T, -1, 1))
A = np.block([[G, np.ones((len(E), 1))], [np.ones((1, len(E))), np.zeros((1, 1))]])
u = np.linspace(-1, 1, 97)
X, Y = np.meshgrid(u, u)
R = np.hypot(X, Y)
theta, phi = R * np.radians(112.5), np.arctan2(X, Y)
P = np.stack([np.sin(theta) * np.sin(phi), np.sin(theta) * np.cos(phi), np.cos(theta)], -1).reshape(-1, 3)
K = np.c_[g(np.clip(P @ E.T, -1, 1)), np.ones(len(P))]
def draw(ax, v, limit):
    z = np.ma.array(v.reshape(97, 97), mask=R > 1)
    ax.imshow(z, extent=[-1, 1, -1, 1], origin="lower", vmin=-limit, vmax=limit, cmap="RdBu_r", interpolation="bicubic")
    ax.contour(X, Y, z, np.linspace(-limit, limit, 9), colors="k", linewidths=.5)
    t = np.arccos(E[:, 2]) / np.radians(112.5); p = np.arctan2(E[:, 0], E[:, 1])
    ax.plot(t * np.sin(p), t * np.cos(p), "k.", ms=2)
    ax.set_axis_off(); ax.set_aspect("equal")
if mode == "frames":
    at = np.linspace(-.1, .6, 250)
    V = np.array([np.interp(at, times, row) for row in data])
    C = np.linalg.solve(A, np.vstack([V, np.zeros((1, 250))]))
    F = K @ C
    limit = np.abs(F).max()
    for k in range(250):
        fig = plt.figure(figsize=(4.8, 4.8), dpi=100)
        draw(fig.add_axes([0, 0, 1, 1]), F[:, k], limit)
        fig.savefig("%s/f%03d.png" % (out, k)); plt.close(fig)
else:
    count = int(mode)
    at = np.linspace(.05, .5, count)
    V = np.array([np.interp(at, times, row) for row in data])
    F = K @ np.linalg.solve(A, np.vstack([V, np.zeros((1, count))]))
    fig, axes = plt.subplots((count + 9) // 10, 10, figsize=(7.08, .9 * ((count + 9) // 10)), squeeze=False)
    for k in range(count):
        draw(axes[k // 10][k % 10], F[:, k], np.abs(F).max())
    fig.savefig(out + "/sheet.png", dpi=300)
'''
SPIN = "n=0\nfor i in range(12000000): n+=i"


def seconds(*commands):
    start = time.perf_counter()
    running = [subprocess.Popen(c, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) for c in commands]
    codes = [p.wait() for p in running]
    if any(codes):
        sys.exit("%s failed" % commands[0][:3])
    return time.perf_counter() - start


program = os.path.abspath(sys.argv[1])
work = tempfile.mkdtemp()
try:
    subprocess.run([program, "demo", "--quiet"], cwd=work, check=True)
    average = os.path.join(work, "calotte-demo/results/group/pilots_known_average.tsv")
    sites = os.path.join(work, "sites.tsv")
    with open(sites, "w") as f:
        subprocess.run([program, "place", "--circumference", "560mm", "--sites", "10-10"], stdout=f, stderr=subprocess.DEVNULL, check=True)
    script = os.path.join(work, "script.py")
    open(script, "w").write(SCRIPT)
    out = os.path.join(work, "out")
    spin = [sys.executable, "-c", SPIN]
    one = statistics.median(seconds(spin) for _ in range(3))
    both = statistics.median(seconds(spin, spin) for _ in range(3))
    print("two loops get %.2f times as far as one" % (2 * one / both))

    def ats(count):
        return ",".join("%.4fms" % (50 + 450 * k / (count - 1)) for k in range(count))

    jobs = [("250 frames", [program, "frames", average, "--during", "-100..600ms", "--every", "2.811ms", "-q", "--force", "-o"], "frames", "film", 5)]
    for count in (10, 60):
        for kind in ("png", "svg", "pdf"):
            jobs.append(("sheet of %d, %s" % (count, kind), [program, "map", average, "--at", ats(count), "-q", "--force", "-o"], str(count), "sheet." + kind, 5 if kind == "png" else 0))
    for name, line, mode, target, scripted in jobs:
        ours, theirs = [], []
        for _ in range(5):
            ours.append(seconds(line + [os.path.join(work, target)]))
            if scripted and (mode != "frames" or len(theirs) < 1):
                os.makedirs(out, exist_ok=True)
                theirs.append(seconds([sys.executable, script, mode, average, sites, out]))
        beside = "%.2f s" % statistics.median(theirs) if theirs else ""
        print("%-20s %.3f s   script %s" % (name, statistics.median(ours), beside))
    print("start-up of each verb:")
    for verb in "demo contents place guide capcheck average combine map values traces frames explore components asymmetry compare cohort origin methods".split():
        print("  %-10s %.1f ms" % (verb, 1000 * statistics.median(seconds([program, verb, "--help"]) for _ in range(5))))
finally:
    shutil.rmtree(work)
