#!/usr/bin/env python3
"""Writes programme.json beside this file: Welch spectra of two signals by scipy.

The signals are integers that any language makes alike, quadratic residues:
x[i] = ((7919 i i + 104729 i) mod 65537)/32768 - 1, z[i] the same with 6101 and
15487, and y[i] = 0.5 x[i-3] - 0.2 x[i-4] + 0.3 z[i], x before its beginning being 0.

scipy.signal.welch, csd and coherence, with a Hann window and without
detrending, say what their spectra are. H1, H2 and the total-least-squares
estimate follow from them; the last as the eigenvector that belongs to the
smallest eigenvalue of the spectral matrix, noise being r times as powerful in
y as in x.

Made with python3-scipy 1.10.1 and numpy 1.24.2 of Debian 12.
"""
import json
import pathlib

import numpy as np
from scipy.signal import coherence, csd, welch

COUNT = 3000


def residues(a, b):
    i = np.arange(COUNT, dtype=np.int64)
    return ((a * i * i + b * i) % 65537) / 32768 - 1


x, z = residues(7919, 104729), residues(6101, 15487)
shifted = np.concatenate([np.zeros(4), x])
y = 0.5 * shifted[1:COUNT + 1] - 0.2 * shifted[:COUNT] + 0.3 * z


def total_least_squares(pxx, pyy, pxy, r):
    """The H with the least noise to be subtracted from x and y."""
    out = []
    for a, b, c in zip(pxx, pyy, pxy):
        # Scale y so that both have equal noise; E[conj(X) Y] = c.
        matrix = np.array([[a, np.conj(c) / np.sqrt(r)], [c / np.sqrt(r), b / r]])
        values, vectors = np.linalg.eigh(matrix)
        signal = vectors[:, -1]
        out.append(signal[1] / signal[0] * np.sqrt(r))
    return np.array(out)


out = []
for fs, n, hop in [(48000.0, 64, 32), (44100.0, 128, 32), (8000.0, 96, 96), (16000.0, 100, 37)]:
    kwargs = dict(fs=fs, window="hann", nperseg=n, noverlap=n - hop, detrend=False)
    f, pxx = welch(x, **kwargs)
    _, pyy = welch(y, **kwargs)
    _, pxy = csd(x, y, **kwargs)
    _, g = coherence(x, y, **kwargs)
    h1, h2 = pxy / pxx, pyy / np.conj(pxy)
    tls = total_least_squares(pxx, pyy, pxy, 0.25)
    row = {"sampleRate": fs, "len": n, "hop": hop}
    for name, v in [("frequency", f), ("direct", pxx), ("through", pyy), ("coherence", g)]:
        row[name] = list(map(float, v))
    for name, v in [("cross", pxy), ("h1", h1), ("h2", h2), ("tls", tls)]:
        row[name + "Real"], row[name + "Imag"] = list(map(float, v.real)), list(map(float, v.imag))
    out.append(row)

path = pathlib.Path(__file__).with_name("programme.json")
path.write_text("[\n" + ",\n".join(json.dumps(c, separators=(",", ":")) for c in out) + "\n]\n")
