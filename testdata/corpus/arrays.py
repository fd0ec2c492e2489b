# /usr/bin/python3 testdata/corpus/arrays.py    (Debian: python3-numpy)
#
# Writes, beside itself, arrays of 3 epochs × 6 sites × 16 samples as NumPy saves them, and
# the means over the epochs and the standard errors.
#
#   arrays/three.npy         float32
#   arrays/double.npy        float64 with a header of version 2.0
#   arrays/fortran.npy       float64 in Fortran order
#   arrays/object.npy        pickled objects
#   arrays/structured.npy    records of named fields
#   numbers/array_average.tsv, numbers/array_sem.tsv

from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
SITES = ["Fz", "C3", "Cz", "C4", "Pz", "Oz"]
e, s, i = np.ogrid[0:3, 0:6, 0:16]
x = ((31 * e + 7 * s + 3 * i * (s + 1)) % 61 - 30) * 0.375  # exact in float32
(HERE / "arrays").mkdir(exist_ok=True)
np.save(HERE / "arrays/three.npy", x.astype("<f4"))
with open(HERE / "arrays/double.npy", "wb") as f:
    np.lib.format.write_array(f, x, version=(2, 0))
np.save(HERE / "arrays/fortran.npy", np.asfortranarray(x))
np.save(HERE / "arrays/object.npy", x.astype(object)[:1, :1, :2], allow_pickle=True)
np.save(HERE / "arrays/structured.npy", np.zeros((3, 6, 16), dtype=[("left", "<f4"), ("right", "<f4")])[:1, :1])
times = np.arange(-5, 11) / 250
for kind, values in (("average", x.mean(axis=0)), ("sem", x.std(axis=0, ddof=1) / np.sqrt(3))):
    with open(HERE / f"numbers/array_{kind}.tsv", "w") as f:
        f.write("\t".join(["time", *SITES]) + "\n")
        for t, row in zip(times, values.T):
            f.write("\t".join(repr(float(v)) for v in (t, *row)) + "\n")
