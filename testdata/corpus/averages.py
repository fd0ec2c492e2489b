# /usr/bin/python3 testdata/corpus/averages.py    (Debian: python3-numpy)
#
# Writes, beside itself, an average as the program keeps one, tables of the same numbers
# as people write them, and what the program must read from them.
#
#   averages/sub-01_known_…     table, standard errors, and the JSON with their SHA-256
#   averages/NAME               the same table, odd in one way or another
#   numbers/values.json         the amplitudes at 4 ms, which is a sample, and the mean from
#                               0 to 12 ms; at an electrode a spline without smoothing
#                               passes through what was measured
#   numbers/windows.json        the latter as a table of components has it: texts of eight digits

import hashlib
import json
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
SITES = ["Fz", "C3", "Cz", "C4", "Pz", "Oz"]
RATE, FIRST, LAST = 250, -5, 10
TIMES = np.arange(FIRST, LAST + 1) / RATE
i, n = np.ogrid[0 : len(SITES), 0 : len(TIMES)]
MEAN = ((n * (13 + 4 * i) + 29 * i) % 53 - 26) / 8.0 + i / 3.0
SEM = 0.25 + ((n * (5 + i)) % 7) / 16.0


def text(x):
    return repr(float(x))


def table(values, separator="\t", end="\n", head="time", times=TIMES, sites=SITES, cell=text, quote=""):
    names = [quote + s + quote for s in sites]
    lines = [separator.join([head, *names])]
    lines += [separator.join([text(t), *map(cell, row)]) for t, row in zip(times, values.T)]
    return end.join(lines) + end


def put(name, content):
    path = HERE / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return {"name": path.name, "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}


def average():
    files = [put("averages/sub-01_known_average.tsv", table(MEAN)), put("averages/sub-01_known_sem.tsv", table(SEM))]
    info = {
        "kind": "participant", "name": "sub-01", "condition": "known", "labels": ["go"],
        "epochs": {"kept": 31, "rejected": {"peak to peak": 3}}, "reference": "average of 6 sites", "baseline": "-20..0ms",
        "filters": "none", "rate_hz": RATE, "files": files,
        "provenance": {"program": "calotte", "version": "0.1.0", "work": "average", "settings": {"epoch": "-20..40ms"},
                       "arguments": ["--condition=known=go", "--epoch=-20..40ms", "sub-01_task-x_eeg.edf"],
                       "inputs": [{"name": "sub-01_task-x_eeg.edf", "sha256": "0" * 64}]},
    }
    put("averages/sub-01_known_average.json", json.dumps(info, indent=2) + "\n")


def odd():
    ms = np.round(TIMES * 1000)
    put("averages/quoted.csv", "\ufeff" + table(MEAN, ",", "\r\n", '"time"', quote='"'))
    put("averages/milliseconds.txt", table(MEAN, head="time_ms", times=ms))
    put("averages/blanks.tsv", table(MEAN, " \t ", " \n").replace("time", " TIME ", 1) + "\n  \n")
    put("averages/exponents.tsv", table(MEAN, cell=lambda x: f"{x:+.17E}").rstrip("\n"))
    rows = table(MEAN).split("\n")
    put("averages/lasttime.tsv", "\n".join("\t".join([*r.split("\t")[1:], r.split("\t")[0]]) if r else r for r in rows))
    put("averages/untimed.tsv", "\n".join(r.split("\t", 1)[1] if r else r for r in rows))
    at = lambda t: int(round(t * RATE)) - FIRST
    want = []
    for s, row in zip(SITES, MEAN):
        want += [{"name": s, "at": "4ms", "value": row[at(0.004)]},
                 {"name": s, "at": "0..12ms", "value": row[at(0) : at(0.012) + 1].mean()}]
    put("numbers/values.json", json.dumps(want, indent=0) + "\n")
    early = slice(at(0), at(0.012) + 1)
    put("numbers/windows.json", json.dumps([{"site": s, "component": "early", "mean": f"{MEAN[SITES.index(s)][early].mean():.8g}"}
                                            for s in ("Cz", "Pz")] + [{"site": "field power"}], indent=0) + "\n")


average()
odd()
