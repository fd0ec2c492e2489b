# /usr/bin/python3 testdata/filter/eegmmidb.py ../shared/data/eegmmidb/S001R03.edf > testdata/filter/eegmmidb.json
#
# A recording of the EEG Motor Movement/Imagery Dataset (160 Hz, 1 uV a digital
# step) from 0.5 to 40 Hz with a notch at 60 Hz, by scipy: firwin (Hamming
# window), numpy's odd reflection, fftconvolve. For the signals 0, 8 and 63: every
# 97th filtered sample. Lengths by the rule 3.3 rate/transition: 0.5 Hz 1057 taps,
# 10 Hz 53 taps, lengthened to 55, 1 Hz 529 taps.
import json
import pathlib
import sys

import numpy as np
from scipy.signal import fftconvolve, firwin

raw = pathlib.Path(sys.argv[1]).read_bytes()
count, records = int(raw[252:256]), int(raw[236:244])
sizes = [int(raw[256 + 216 * count + 8 * i:][:8]) for i in range(count)]
body = np.frombuffer(raw, "<i2", offset=int(raw[184:192])).reshape(records, sum(sizes))

high = -firwin(1057, 0.5, window="hamming", fs=160)
high[528] += 1
h = np.convolve(high, firwin(55, 40, window="hamming", fs=160))
h = np.convolve(h, firwin(529, [59, 61], window="hamming", fs=160, pass_zero=True))
filtered = {}
for signal in 0, 8, 63:
    start = sum(sizes[:signal])
    x = body[:, start:start + sizes[signal]].reshape(-1).astype(float)
    x = np.pad(x, len(h) // 2, mode="reflect", reflect_type="odd")
    filtered[signal] = fftconvolve(x, h, mode="valid")[::97].tolist()
json.dump(filtered, sys.stdout, separators=(",", ":"))
print()
