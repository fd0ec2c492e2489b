# /usr/bin/python3 eegmmidb.py ../../../shared/data/eegmmidb > eegmmidb.json
#
# Reads two recordings of the EEG Motor Movement/Imagery Dataset with numpy: their
# records have 64 signals of 160 two-byte samples and an annotation signal. Gives
# per file and signal the sum, the sum of squares and every 2,003rd digital sample.
import json
import pathlib
import re
import sys

import numpy

files = {}
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.edf")):
    raw = path.read_bytes()
    signals = int(raw[252:256])
    records = int(raw[236:244])
    widths = [16, 80, 8, 8, 8, 8, 8, 80]
    at = 256 + signals * sum(widths)
    counts = [int(raw[at + 8 * i:at + 8 * i + 8]) for i in range(signals)]
    body = numpy.frombuffer(raw, "<i2", offset=int(raw[184:192])).reshape(records, sum(counts))
    data = body[:, :64 * 160].reshape(records, 64, 160).transpose(1, 0, 2).reshape(64, -1).astype(int)
    text = body[:, 64 * 160:].tobytes()
    lists = re.findall(rb"([+-][0-9.]+)\x15([0-9.]+)\x14([^\x14\x00]+)\x14\x00", text)
    files[path.name] = {
        "sum": data.sum(axis=1).tolist(),
        "squares": (data ** 2).sum(axis=1).tolist(),
        "every2003": data[:, ::2003].tolist(),
        "last80": int(abs(data[:, -80:]).max()),
        "before": int(abs(data[:, -81]).max()),
        "events": [[float(o), float(d), t.decode()] for o, d, t in lists],
    }
json.dump(files, sys.stdout, separators=(",", ":"))
print()
