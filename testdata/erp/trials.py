# /usr/bin/python3 testdata/erp/trials.py ../shared/data/eegmmidb > testdata/erp/trials.json
#
# What becomes of trials, in plain numpy, on the recordings of eegmmidb.py beside this
# script: limits from the data, steps, events that happen after their marks, a restored
# reference, and epochs about responses (the rest, T0, that follows each movement) with
# the baseline before the stimulus and a limit on the response time.
import json
import pathlib
import sys

import numpy as np

from eegmmidb import BASELINE, CONDITIONS, FIRST, LAST, RATE, clean, read, sample, summary


def trials(files, zero=lambda onset, events: onset, base=lambda onset, zero: zero, restored=False):
    """Condition, epoch (None: no response) of every trial, by file and time."""
    for labels, data, events in files:
        if restored:  # a signal that is zero against itself, last of the sites
            data = np.vstack([data, np.zeros(data.shape[1])])
        data = clean(labels, data, reference="average")
        for onset, text in events:
            condition = {v: k for k, v in CONDITIONS.items()}.get(text)
            if condition is None:
                continue
            at = zero(onset, events)
            if at is None:
                yield condition, None
                continue
            epoch = data[:, sample(at) + FIRST:sample(at) + LAST + 1]
            before = sample(base(onset, at))
            yield condition, epoch - data[:, before + FIRST:before + FIRST + BASELINE].mean(axis=1, keepdims=True)


def averages(files, keep=lambda epoch: True, restored=False, **how):
    found = list(trials(files, restored=restored, **how))
    if keep == "robust":
        swings = np.array([np.ptp(epoch, axis=1) for _, epoch in found])
        centre = np.median(swings, axis=0)
        limit = centre + 4 * 1.4826 * np.median(np.abs(swings - centre), axis=0)
        keep = lambda epoch: (np.ptp(epoch, axis=1) <= limit).all()
    labels = files[0][0] + (["TP9"] if restored else [])
    out = {}
    for condition in CONDITIONS:
        own = [epoch for name, epoch in found if name == condition]
        kept = [epoch for epoch in own if epoch is not None and keep(epoch)]
        out[condition] = summary(kept, labels, len(own) - len(kept))
    return out


def step(epoch, half):
    sums = np.cumsum(np.pad(epoch, ((0, 0), (1, 0))), axis=1)
    means = (sums[:, half:] - sums[:, :-half]) / half
    return np.abs(means[:, half:] - means[:, :-half]).max()


def response(shortest, longest):
    def zero(onset, events):
        following = [e for e, text in events if text in CONDITIONS.values() and e > onset] + [np.inf]
        answers = [e for e, text in events if text == "T0" and onset <= e < following[0]]
        if answers and shortest <= answers[0] - onset <= longest:
            return answers[0]
    return zero


files = [read(path) for path in sorted(pathlib.Path(sys.argv[1]).glob("*.edf"))]
json.dump({
    "robust": averages(files, keep="robust"),
    "step": averages(files, keep=lambda epoch: step(epoch, 16) <= 90),
    "shift": averages(files, zero=lambda onset, events: onset + 0.012),
    "restored": averages(files, restored=True),
    "response": averages(files, zero=response(0, 4.15), base=lambda onset, zero: onset),
}, sys.stdout, separators=(",", ":"))
print()
