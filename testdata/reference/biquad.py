#!/usr/bin/env python3
"""Writes biquad.json beside this file: the cookbook's filters by another method.

The Audio EQ Cookbook (W3C Group Note, 8 June 2021) gives each filter as an
analogue prototype H(s), s in units of the centre frequency, and as digital
coefficients. Here the prototype goes through scipy's bilinear transform with
the frequency warped so that the centre stays where it is, s -> s tan(w0/2);
the coefficients in closed form are not used. Then scipy's freqz, lfilter and
group_delay say what the filter does.

Made with python3-scipy 1.10.1 and numpy 1.24.2 of Debian 12.
"""
import json
import pathlib

import numpy as np
from scipy.signal import bilinear, freqz, group_delay, lfilter


def prototype(shape, q, gain):
    """Numerator and denominator of H(s), highest power first."""
    a = 10 ** (gain / 40)
    r = np.sqrt(a) / q
    return {
        "peaking": ([1, a / q, 1], [1, 1 / (a * q), 1]),
        "low shelf": ([a, a * r, a * a], [a, r, 1]),
        "high shelf": ([a * a, a * r, a], [1, r, a]),
        "low pass": ([1], [1, 1 / q, 1]),
        "high pass": ([1, 0, 0], [1, 1 / q, 1]),
    }[shape]


CASES = [
    ("peaking", 3000.0, 3.0, 6.0, 48000.0),
    ("peaking", 60.0, 0.5, -12.0, 44100.0),
    ("low shelf", 120.0, 0.7, -5.0, 48000.0),
    ("high shelf", 8000.0, 0.9, 4.0, 96000.0),
    ("low pass", 18000.0, 0.7071067811865476, 0.0, 48000.0),
    ("high pass", 20.0, 1.2, 0.0, 8000.0),
]

out = []
for shape, f0, q, gain, fs in CASES:
    b, a = prototype(shape, q, gain)
    # In units of the warped frequency: s = j at f0.
    scale = np.tan(np.pi * f0 / fs)
    b, a = bilinear(b, a, fs=0.5 / scale)
    b = np.concatenate([np.zeros(3 - len(b)), b])
    f = np.array([fs / 4800, 20, 100, 1000, 3000, 0.3 * fs, 0.49 * fs])
    _, h = freqz(b, a, worN=f, fs=fs)
    _, gd = group_delay((b, a), w=f, fs=fs)
    impulse = lfilter(b, a, np.eye(1, 12)[0])
    out.append({"shape": shape, "f": f0, "q": q, "gain": gain, "sampleRate": fs,
                "b": list(map(float, b)), "a": list(map(float, a)),
                "frequency": list(map(float, f)), "real": list(map(float, h.real)), "imag": list(map(float, h.imag)),
                "groupDelaySamples": list(map(float, gd)), "impulse": list(map(float, impulse))})

path = pathlib.Path(__file__).with_name("biquad.json")
path.write_text("[\n" + ",\n".join(json.dumps(c, separators=(",", ":")) for c in out) + "\n]\n")
