# /usr/bin/python3 testdata/corpus/recordings.py    (Debian: python3-numpy)
#
# Writes, beside itself, recordings that are odd but right, byte by byte after the EDF and
# EDF+ standards (Kemp et al. 1992; Kemp & Olivan 2003), and the averages that they must
# give, by numpy: for each sample of the epoch the mean over the events and the standard
# error, after the mean of the samples up to the event, itself included, is taken off.
#
#   study/data/sub-0N/eeg/…     the plain one, of two people; what is hostile is made from it
#   recordings/NAME             odd ones
#   numbers/NAME_average.tsv    µV, with time in s
#   numbers/NAME_sem.tsv
#   numbers/group_average.tsv   the mean of the two people

from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
RATE = 100
RECORDS = 8
SITES = ["Fz", "C3", "Cz", "C4", "Pz", "Oz"]
EVENTS = [(0.5, "go"), (1.25, "stop"), (2.5, "go"), (3.25, "stop"), (4.5, "go"), (5.37, "stop"), (6.5, "go")]
PATIENT = "X F 01-JAN-1900 Hemlich_Verborgen"
FIRST, LAST = -10, 20  # samples of an epoch


def stored(signals, samples, person=0):
    """Whole numbers from -200 to 200 that repeat nowhere near: signal × sample."""
    i, n = np.ogrid[0:signals, 0:samples]
    return (n * (37 + 2 * i) + i * 1009 + (n // 7) * (11 + person)) % 401 - 200


def cell(text, width):
    b = text if isinstance(text, bytes) else str(text).encode("ascii")
    assert len(b) <= width, text
    return b.ljust(width)


def signal(label, samples=RATE, unit="uV", low=-3276.8, high=3276.7, least=-32768, most=32767, prefilter=""):
    return dict(label=label, samples=samples, unit=unit, low=low, high=high, least=least, most=most, prefilter=prefilter)


def annotations(bytes_, width=2, label="EDF Annotations"):
    least, most = -(1 << 8 * width - 1), (1 << 8 * width - 1) - 1
    return signal(label, bytes_ // width, "", -1, 1, least, most)


def header(signals, records, duration, reserved, version="0", patient=PATIENT):
    b = cell(version, 8) + cell(patient, 80) + cell("Startdate 02-MAR-2026 X X X", 80) + b"02.03.2609.00.00"
    b += cell(256 * (len(signals) + 1), 8) + cell(reserved, 44) + cell(records, 8) + cell(duration, 8) + cell(len(signals), 4)
    for key, width in (("label", 16), (None, 80), ("unit", 8), ("low", 8), ("high", 8), ("least", 8), ("most", 8),
                       ("prefilter", 80), ("samples", 8), (None, 32)):
        b += b"".join(cell(s[key] if key else "", width) for s in signals)
    return b


def little(values, width):
    v = np.asarray(values).astype("<i4").reshape(-1, 1).view(np.uint8)
    return v[:, :width].tobytes()


def tal(onset, text="", duration=None):
    """One list of annotations: onset, duration where there is one, text."""
    lasts = b"" if duration is None else b"\x15" + duration.encode()
    text = text if isinstance(text, bytes) else text.encode()
    return f"{onset:+g}".encode() + lasts + b"\x14" + text + b"\x14\x00"


def recording(path, signals, records, lists=None, duration="1", reserved="EDF+C", width=2, **more):
    """records: one list of rows of whole numbers for each; lists: bytes for each, of each annotation signal."""
    b = header(signals, len(records), duration, reserved, **more)
    for k, rows in enumerate(records):
        rows, texts = list(rows), list(lists[k]) if lists else []
        for s in signals:
            if s["label"].endswith("Annotations"):
                b += texts.pop(0).ljust(s["samples"] * width, b"\x00")
                continue
            row = rows.pop(0)
            assert len(row) == s["samples"], s["label"]
            b += little(row, width)
    target = HERE / path
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(b)


def cut(values, records, samples=RATE):
    return [values[:, k * samples : (k + 1) * samples] for k in range(records)]


def timed(records, events, starts=None, length=1.0):
    """The first list of each record: its time, then the events that begin in it."""
    starts = starts if starts is not None else [length * k for k in range(records)]
    out = []
    for k, start in enumerate(starts):
        b = tal(start)
        for event in events:
            if start <= event[0] < start + length:
                b += tal(*event)
        out.append([b])
    return out


def physical(s, values):
    return (values - s["least"]) * ((s["high"] - s["low"]) / (s["most"] - s["least"])) + s["low"]


def average(name, microvolts, at, sites):
    """microvolts: site × sample; at: the events' samples."""
    epochs = based(microvolts, at)
    table(f"{name}_average", epochs.mean(axis=0), sites)
    table(f"{name}_sem", epochs.std(axis=0, ddof=1) / np.sqrt(len(at)), sites)


def based(microvolts, at):
    """Epochs at samples, less their means up to the event: epoch × site × sample."""
    epochs = np.array([microvolts[:, n + FIRST : n + LAST + 1] for n in at])
    return epochs - epochs[:, :, : 1 - FIRST].mean(axis=2, keepdims=True)


def table(name, values, sites):
    with open(HERE / "numbers" / f"{name}.tsv", "w") as f:
        f.write("\t".join(["time", *sites]) + "\n")
        for t, row in zip(np.arange(FIRST, LAST + 1) / RATE, values.T):
            f.write("\t".join(repr(float(x)) for x in (t, *row)) + "\n")


def samples_of(label, rate=RATE, events=EVENTS):
    return [round(t * rate) for t, text, *_ in events if text == label]


def plain():
    signals = [signal(s) for s in SITES] + [annotations(120)]
    means = []
    for person in (1, 2):
        v = stored(len(SITES), RECORDS * RATE, person)
        recording(f"study/data/sub-0{person}/eeg/sub-0{person}_task-x_eeg.edf", signals, cut(v, RECORDS), timed(RECORDS, EVENTS))
        uv = physical(signals[0], v)
        means.append(based(uv, samples_of("go")).mean(axis=0))
        if person == 1:
            average("plain", uv, samples_of("go"), SITES)
            kept = [0, 2, 3, 5]  # of a table of channels that calls C3 bad and Pz no electrode
            average("channels", uv[kept], samples_of("go"), [SITES[i] for i in kept])
    table("group_average", (means[0] + means[1]) / 2, SITES)


def limits():
    """Inverted polarity, digital limits that are not those of the width, zero that is not zero."""
    signals = [signal("Fz", low=3276.7, high=-3276.8), signal("C3", low=-100, high=300, least=-200, most=200),
               signal("Cz", low="-1.5E3", high="1.5E+3", least=-2048, most=2047), signal("C4", low="-.5", high="+.5", least=-300, most=300),
               signal("Pz", low=0, high=1e3, least=-32768, most=32767), signal("Oz", low=-1, high=32766, least=-32768, most=-1)]
    v = stored(len(signals), RECORDS * RATE)
    v[5] -= 201  # below zero, as its limits ask
    recording("recordings/limits.edf", [*signals, annotations(120)], cut(v, RECORDS), timed(RECORDS, EVENTS))
    numeric = [dict(s, low=float(s["low"]), high=float(s["high"])) for s in signals]
    average("limits", np.array([physical(s, row) for s, row in zip(numeric, v)]), samples_of("go"), SITES)


def units():
    factor = {"uV": 1, "mV": 1e3, "nV": 1e-3, "V": 1e6, b"\xb5V": 1, "\u03bcV".encode(): 1}
    signals = [signal(s, unit=u, low=-3276.8 / f, high=3276.7 / f) for s, (u, f) in zip(SITES, factor.items())]
    signals[3].update(low="-.003277", high=".003277")
    signals[1].update(low=-3.2768, high=3.2767)
    signals[2].update(low=-3276800, high=3276700)
    v = stored(len(signals), RECORDS * RATE)
    recording("recordings/units.edf", [*signals, annotations(120)], cut(v, RECORDS), timed(RECORDS, EVENTS))
    uv = np.array([physical(dict(s, low=float(s["low"]), high=float(s["high"])), row) * f
                   for s, row, f in zip(signals, v, factor.values())])
    average("units", uv, samples_of("go"), SITES)


def wide():
    """24 bits, with the marks of that variant."""
    signals = [signal(s, least=-8388608, most=8388607, low=-262144, high=262143) for s in SITES]
    v = stored(len(SITES), RECORDS * RATE) * 20011
    recording("recordings/wide.bdf", [*signals, annotations(180, 3, "BDF Annotations")], cut(v, RECORDS),
              timed(RECORDS, EVENTS), reserved="BDF+C", width=3, version=b"\xffBIOSEMI")
    average("wide", physical(signals[0], v), samples_of("go"), SITES)


def gaps():
    """Records that begin when they like; an epoch across a gap is none."""
    starts = [0, 1, 2.5, 3.5, 10.25, 11.25, 12.25, 100]
    events = [(0.5, "go"), (1.95, "go"), (2.55, "go"), (3.1, "go"), (10.6, "go"), (12.9, "go"), (50, "go"), (100.5, "go")]
    # 1.95 s reaches past the end at 2 s, 2.55 s before the start at 2.5 s, 50 s lies in a gap.
    used = [(0.5, 0), (3.1, 2.5), (10.6, 10.25), (12.9, 10.25), (100.5, 100)]
    v = stored(len(SITES), RECORDS * RATE)
    signals = [signal(s) for s in SITES]
    first = {0: 0, 2.5: 200, 10.25: 400, 100: 700}  # the sample at which a stretch begins
    at = [first[start] + round((t - start) * RATE) for t, start in used]
    lists = timed(RECORDS, events, starts)
    lists[3][0] += tal(50, "go")  # written before it happens, as the standard allows
    recording("recordings/gaps.edf", [*signals, annotations(120)], cut(v, RECORDS), lists, reserved="EDF+D")
    average("gaps", physical(signals[0], v), at, SITES)


def early():
    """The first record begins a quarter of a second after the header's start."""
    events = [(t + 0.25, text) for t, text in EVENTS]
    v = stored(len(SITES), RECORDS * RATE)
    signals = [signal(s) for s in SITES]
    recording("recordings/early.edf", [*signals, annotations(120)], cut(v, RECORDS),
              timed(RECORDS, events, [k + 0.25 for k in range(RECORDS)]))
    average("early", physical(signals[0], v), samples_of("go"), SITES)


def lists():
    """Two signals of annotations before and amid the others, durations, several texts of one onset,
    lists in no order, texts in Latin-1, and a slow signal that is none of an electrode."""
    signals = [annotations(60), *[signal(s) for s in SITES[:3]], signal("Resp nasal", 5, "mV", -200, 200, -2000, 2000),
               annotations(80), *[signal(s) for s in SITES[3:]]]
    v = stored(len(SITES), RECORDS * RATE)
    slow = stored(1, RECORDS * 5)
    records = [[*v[:3, k * RATE : (k + 1) * RATE], slow[0, 5 * k : 5 * k + 5], *v[3:, k * RATE : (k + 1) * RATE]] for k in range(RECORDS)]
    texts = [[tal(k), b""] for k in range(RECORDS)]
    texts[7][1] = tal(6.5, "go\x14nap", "1.5") + tal(0.5, "go", "0")  # late, and two texts of one onset
    texts[1][1] = tal(2.5, "go", "3") + tal(3.25, "stop") + tal(2.5, "Z\u00e4hler".encode("latin-1"), "3")
    texts[2][0] += tal(4.5, "go", "0.1")
    recording("recordings/lists.edf", signals, records, texts)
    average("lists", physical(signals[1], v), samples_of("go"), SITES)


def names():
    """Labels as the world writes them."""
    labels = ["EEG Fz", "C3..", "cz", "EEG C4", "Pz", "EEG T3"]
    sites = ["Fz", "C3", "Cz", "C4", "Pz", "T3"]
    v = stored(len(labels), RECORDS * RATE)
    signals = [signal(s) for s in labels]
    recording("recordings/names.edf", [*signals, annotations(120)], cut(v, RECORDS), timed(RECORDS, EVENTS))
    average("names", physical(signals[0], v), samples_of("go"), sites)


def tenths():
    """Records of 0.3 s with 30 samples."""
    v = stored(len(SITES), 27 * 30)
    signals = [signal(s, 30) for s in SITES]
    recording("recordings/tenths.edf", [*signals, annotations(120)], cut(v, 27, 30), timed(27, EVENTS, length=0.3), duration="0.3")
    average("tenths", physical(signals[0], v), samples_of("go"), SITES)


def main():
    (HERE / "numbers").mkdir(exist_ok=True)
    for make in (plain, limits, units, wide, gaps, early, lists, names, tenths):
        make()


if __name__ == "__main__":
    main()
