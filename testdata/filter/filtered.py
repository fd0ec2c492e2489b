# /usr/bin/python3 testdata/filter/filtered.py > testdata/filter/filtered.json
#
# Filters by scipy.signal.firwin (Hamming window), a high-pass as an impulse minus
# a low-pass, several convolved, applied by scipy.signal.fftconvolve to data
# continued by numpy's odd reflection. Lengths and band edges are worked out by
# hand from the rule taps = 3.3 rate/transition (lengthened: 45 to 47, 413 to 421).
# The data are made of whole numbers, so that a test can make the same: noise from
# a congruential generator, an offset of 10 mV, a drift and a jump. For each case:
# every 31st tap from the middle on, the gain at some frequencies by
# scipy.signal.freqz, and every 37th filtered sample.
import json
import sys

import numpy as np
from scipy.signal import fftconvolve, firwin, freqz


def lowpass(taps, cutoff, rate):
    return firwin(taps, cutoff, window="hamming", fs=rate)


def highpass(taps, cutoff, rate):
    h = -lowpass(taps, cutoff, rate)
    h[taps // 2] += 1
    return h


def notch(taps, edges, rate):
    return firwin(taps, edges, window="hamming", fs=rate, pass_zero=True)


def data(n, channel):
    x, s = np.empty(n), 12345 + channel
    for i in range(n):
        s = (1103515245 * s + 12345) % 2**31
        x[i] = (s >> 16) / 256 - 64 + 0.03125 * i
        x[i] += 10000 if channel % 2 == 0 else -10000
        if i > n // 3:
            x[i] += 200
    return x


# highpass, lowpass, notch in Hz (0: none), rate, samples, the kernels
CASES = [
    (0.1, 30, 0, 100, 5000, [highpass(3301, 0.1, 100), lowpass(47, 30, 100)]),
    (0.1, 30, 0, 500, 9000, [highpass(16501, 0.1, 500), lowpass(221, 30, 500)]),
    (0, 30, 0, 500, 700, [lowpass(221, 30, 500)]),
    (0, 4, 0, 128, 600, [lowpass(213, 4, 128)]),
    (5, 0, 0, 250, 1000, [highpass(421, 5, 250)]),
    (0, 0, 50, 256, 900, [notch(845, [49, 51, 99, 101], 256)]),
    (1, 45, 60, 240, 1500, [highpass(793, 1, 240), lowpass(71, 45, 240), notch(793, [59, 61], 240)]),
    (0, 0, 50, 202, 900, [notch(667, [49, 51, 99], 202)]),
    (8, 9, 0, 200, 1400, [highpass(661, 8, 200), lowpass(661, 9, 200)]),
]
out = []
for hp, lp, mains, rate, n, kernels in CASES:
    h = kernels[0]
    for k in kernels[1:]:
        h = np.convolve(h, k)
    reach = len(h) // 2
    freqs = np.concatenate([np.array([0, hp, lp, mains, hp / 2, rate / 4, rate / 2]), np.linspace(0, rate / 2, 9)])
    gains = (freqz(h, worN=freqs, fs=rate)[1] * np.exp(2j * np.pi * freqs / rate * reach)).real
    filtered = []
    for channel in range(3):
        x = np.pad(data(n, channel), reach, mode="reflect", reflect_type="odd")
        filtered.append(fftconvolve(x, h, mode="valid")[::37].tolist())
    out.append(dict(highpass=hp, lowpass=lp, notch=mains, rate=rate, samples=n, taps=len(h),
                    half=h[reach::31].tolist(), frequencies=freqs.tolist(), gains=gains.tolist(), filtered=filtered))
json.dump(out, sys.stdout, separators=(",", ":"))
print()
