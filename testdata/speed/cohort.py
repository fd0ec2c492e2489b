#!/usr/bin/python3
"""Times a whole study of invented participants, 64 sites and 5 minutes each, and what of it
grows with their number.

    testdata/speed/cohort.py CALOTTE FOLDER [PEOPLE…]

writes BIDS folders of noise into FOLDER (19 MB a person), runs the recipe on each number of
people, again with nothing changed, and again with one person changed. Needs python3-numpy.
"""
import os, pathlib, resource, subprocess, sys, time
import numpy as np

RATE, SECONDS, EVENTS = 500, 300, 240
SITES = """Fp1 Fpz Fp2 AF7 AF3 AFz AF4 AF8 F7 F5 F3 F1 Fz F2 F4 F6 F8 FT7 FC5 FC3 FC1 FCz FC2
FC4 FC6 FT8 T7 C5 C3 C1 Cz C2 C4 C6 T8 TP7 CP5 CP3 CP1 CPz CP2 CP4 CP6 TP8 P7 P5 P3 P1 Pz P2 P4
P6 P8 PO7 PO3 POz PO4 PO8 O1 Oz O2 Iz P9 P10""".split()

RECIPE = """name: crowd
recordings: data
average: {condition: [known=known, novel=novel], epoch: -200..600ms, reference: average, reject: 500uV}
differences: ['known,novel']
components: {name: components.tsv, inputs: people, window: 150..190ms, of: [P7, P8]}
asymmetry: {name: asymmetry.tsv, inputs: known, at: 150..190ms, of: P7}
compare: {name: clusters.tsv, inputs: [known, novel], during: 100..250ms, arrangements: 1000}
figures: {figure: map, name: maps.svg, at: 170ms}
explore: {name: study.html}
"""


def field(text, width):
    return text.encode("ascii").ljust(width)


def write_recording(path, seed):
    n = len(SITES)
    random = np.random.default_rng(seed)
    head = b"".join([field("0", 8), field("X X X X", 80), field("Startdate 01-MAR-2026 X X X", 80), b"01.03.2609.00.00",
                     field(str(256 * (n + 1)), 8), field("", 44), field(str(SECONDS), 8), field("1", 8), field(str(n), 4)])
    for values, width in ((SITES, 16), ([""] * n, 80), (["uV"] * n, 8), (["-3276.8"] * n, 8), (["3276.7"] * n, 8),
                          (["-32768"] * n, 8), (["32767"] * n, 8), ([""] * n, 80), ([str(RATE)] * n, 8), ([""] * n, 32)):
        head += b"".join(field(v, width) for v in values)
    path.parent.mkdir(parents=True)
    samples = random.normal(0, 100, (SECONDS, n, RATE)).astype("<i2")
    path.write_bytes(head + samples.tobytes())
    onsets = 1 + np.arange(EVENTS) * (SECONDS - 3) / EVENTS + random.uniform(0, 0.5, EVENTS)
    rows = "".join(f"{t:.3f}\t0.1\t{'known' if i % 2 else 'novel'}\n" for i, t in enumerate(onsets))
    path.with_name(path.name.replace("_eeg.edf", "_events.tsv")).write_text("onset\tduration\ttrial_type\n" + rows)


def run(program, recipe):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begun = time.monotonic()
    child = subprocess.Popen([program, "cohort", "run", str(recipe)], stdout=subprocess.PIPE)
    out = child.stdout.read().decode()
    _, status, usage = os.wait4(child.pid, 0)
    took = time.monotonic() - begun
    assert status == 0, out
    return took, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, out.splitlines()[0]


def main():
    program, folder = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2])
    for people in map(int, sys.argv[3:] or ["10", "50", "200"]):
        study = folder / f"crowd-{people}"
        for i in range(people):
            path = study / "data" / f"sub-{i + 1:03}" / "eeg" / f"sub-{i + 1:03}_task-flags_eeg.edf"
            if not path.exists():
                write_recording(path, i)
        recipe = study / "recipe.yaml"
        recipe.write_text(RECIPE)
        for what in ("all", "again", "one changed"):
            if what == "one changed":
                recipe.write_text(RECIPE + "people: {sub-001: {reject: 400uV}}\n")
            took, cpu, memory, said = run(program, recipe)
            print(f"{people:4} people, {what:12} {took:7.2f} s   cpu {cpu:7.2f} s   {memory:6.0f} MiB   {said}", flush=True)


main()
