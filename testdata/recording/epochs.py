# /usr/bin/python3 epochs.py    (Debian: python3-numpy)
#
# Writes, into the current folder, arrays of 3 epochs × 2 sites × 5 samples of which
# the value of sample i of site s of epoch e is ((31 e + 7 s + i) mod 17 − 8) · 0.37:
#
#   epochs_f4.npy, epochs_f8.npy   float32 and float64 as numpy.save writes them
#   epochs_v2.npy                  float64 with a header of version 2.0
#   epochs_fortran.npy             float64 in Fortran order, to be refused
#   epochs_big.npy                 float32, big endian, to be refused
#   epochs_2d.npy                  the first epoch alone, without its axis, to be refused
#   epochs_nan.npy                 float32 with a NaN in epoch 1, site 1, sample 3, counted
#                                  from 0, to be refused
import numpy as np

e, s, i = np.ogrid[0:3, 0:2, 0:5]
x = ((31 * e + 7 * s + i) % 17 - 8) * 0.37
np.save("epochs_f4.npy", x.astype("<f4"))
np.save("epochs_f8.npy", x)
with open("epochs_v2.npy", "wb") as f:
    np.lib.format.write_array(f, x, version=(2, 0))
np.save("epochs_fortran.npy", np.asfortranarray(x))
np.save("epochs_big.npy", x.astype(">f4"))
np.save("epochs_2d.npy", x[0])
x[1, 1, 3] = np.nan
np.save("epochs_nan.npy", x.astype("<f4"))
