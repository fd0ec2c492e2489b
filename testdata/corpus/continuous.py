# /usr/bin/python3 testdata/corpus/continuous.py    (Debian: python3-numpy, python3-scipy)
#
# Writes, beside itself, the samples of study/data/sub-01 as arrays, so that they must give the
# averages numbers/plain_average.tsv and plain_sem.tsv, and arrays that are no recording.
#
#   arrays/events.tsv        its events
#   arrays/whole.npy         float64, µV, site × sample
#   arrays/columns.npy       int16, nV, sample × site
#   arrays/swapped.npy       int32 with the high byte first, nV, site × sample in Fortran order
#   arrays/plain.mat         int16, nV, site × sample, beside a number, a text and a structure
#   arrays/packed.mat        float64, µV, sample × site, compressed, beside a cell array
#   arrays/big.mat           float32 with the high byte first, nV, site × sample, byte by byte
#   arrays/named.csv         µV, with names; arrays/bare.tsv, without
#   arrays/epochs.mat        the epochs of three.npy, µV, site × sample × epoch
#   arrays/cells.mat, struct.mat, complex.mat, sparse.mat, letters.mat, two.mat
#   arrays/bomb.mat          2 million zeros in 4 kB
#   arrays/square.npy        6 × 6
#   arrays/hdf5.mat          the head of a file of version 7.3

import struct
from pathlib import Path

import numpy as np
from scipy import io, sparse

from recordings import EVENTS, RATE, RECORDS, SITES, stored

HERE = Path(__file__).parent / "arrays"
v = stored(len(SITES), RECORDS * RATE, 1)  # steps of 0.1 µV
uv, nv = v / 10, v * 100
e, s, i = np.ogrid[0:3, 0:6, 0:16]
three = ((31 * e + 7 * s + 3 * i * (s + 1)) % 61 - 30) * 0.375


def save(name, packed=False, **variables):
    """As scipy does, without the date in the header."""
    io.savemat(HERE / name, variables, do_compression=packed)
    b = (HERE / name).read_bytes()
    (HERE / name).write_bytes(b"MATLAB 5.0 MAT-file, synthetic".ljust(116) + b[116:])


def big(name, values):
    """A file with the high byte first, after the description of level 5."""
    def element(kind, data):
        return struct.pack(">II", kind, len(data)) + data + bytes(-len(data) % 8)

    data = values.astype(">f4").tobytes(order="F")
    inner = element(6, struct.pack(">II", 7, 0)) + element(5, struct.pack(">ii", *values.shape)) + element(1, b"recorded")
    head = b"MATLAB 5.0 MAT-file, synthetic".ljust(116) + bytes(8) + b"\x01\x00MI"
    (HERE / name).write_bytes(head + element(14, inner + element(7, data)))


with open(HERE / "events.tsv", "w") as f:
    f.write("onset\tduration\ttrial_type\n")
    for t, text in EVENTS:
        f.write(f"{t}\tn/a\t{text}\n")
np.save(HERE / "whole.npy", uv)
np.save(HERE / "columns.npy", np.ascontiguousarray(nv.T.astype("<i2")))
np.save(HERE / "swapped.npy", np.asfortranarray(nv.astype(">i4")))
np.save(HERE / "square.npy", uv[:, :6])
save("plain.mat", data=nv.astype("<i2"), srate=float(RATE), subject="somebody", info={"rate": RATE})
save("packed.mat", True, names=np.array(SITES, dtype=object), recorded=uv.T)
big("big.mat", nv)
save("epochs.mat", data=three.transpose(1, 2, 0))
save("cells.mat", data=np.array(SITES, dtype=object))
save("struct.mat", data={"samples": uv[:, :9]})
save("complex.mat", data=uv[:, :9] + 1j)
save("sparse.mat", data=sparse.csc_matrix(uv[:, :9]))
save("letters.mat", data=np.array(["Fz", "Cz"]))
save("two.mat", one=uv[:, :9], two=uv[:, 9:18])
save("bomb.mat", True, data=np.zeros((6, 333_334), "<i2"))
(HERE / "hdf5.mat").write_bytes(b"MATLAB 7.3 MAT-file, synthetic".ljust(124) + b"\x00\x02IM" + bytes(384) + b"\x89HDF\r\n\x1a\n" + bytes(40))
for name, mark, head in (("named.csv", ",", True), ("bare.tsv", "\t", False)):
    with open(HERE / name, "w") as f:
        if head:
            f.write(mark.join(SITES) + "\n")
        for row in uv.T:
            f.write(mark.join(f"{x:.1f}" for x in row) + "\n")
