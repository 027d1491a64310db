#!/usr/bin/env python3
"""Writes sweep.json beside this file: samples of scipy's logarithmic chirp.

scipy.signal.chirp(t, f0, t1, f1, method='logarithmic', phi=-90) is
cos(2 pi f0 t1/ln(f1/f0) ((f1/f0)^(t/t1) - 1) - 90 degrees), the sweep without
fades. t1 is the length at which f0 t1/ln(f1/f0) is a whole number. Only a thin
set of samples is kept: the first 50, the last 50 and every 997th.

Made with python3-scipy 1.10.1 and numpy 1.24.2 of Debian 12.
"""
import json
import pathlib

import numpy as np
from scipy.signal import chirp

CASES = [
    # name, sample rate, start, stop, wanted seconds
    ("20 Hz to 20 kHz, 6 s, 48 kHz", 48000, 20.0, 20000.0, 6.0),
    ("10 Hz to 12 kHz, 10 s, 96 kHz", 96000, 10.0, 12000.0, 10.0),
    ("100 Hz to 3.6 kHz, 1.5 s, 8 kHz", 8000, 100.0, 3600.0, 1.5),
    ("20 Hz to half of 44.1 kHz, 3 s", 44100, 20.0, 22050.0, 3.0),
    ("5 Hz to 80 kHz, 6 s, 384 kHz", 384000, 5.0, 80000.0, 6.0),
]

out = []
for name, fs, f1, f2, wanted in CASES:
    span = np.log(f2 / f1)
    cycles = round(f1 * wanted / span)
    length = cycles / f1 * span
    n = round(length * fs)
    index = sorted(set(range(50)) | set(range(0, n, 997 * max(1, n // 300000))) | set(range(n - 50, n)))
    t = np.array(index) / fs
    x = chirp(t, f0=f1, t1=length, f1=f2, method="logarithmic", phi=-90)
    out.append({"name": name, "sampleRate": fs, "start": f1, "stop": f2, "wanted": wanted,
                "duration": float(length), "samples": n, "index": index, "value": [float(v) for v in x]})

path = pathlib.Path(__file__).with_name("sweep.json")
path.write_text("[\n" + ",\n".join(json.dumps(c, separators=(",", ":")) for c in out) + "\n]\n")
