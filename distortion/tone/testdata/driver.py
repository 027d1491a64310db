# A moving-coil driver whose force factor falls off with displacement, integrated by SciPy:
#   m x'' + r x' + k x = Bl(x) i,  i = (u - Bl(x) x') / R,  Bl(x) = b (1 - p x - q x^2)
# Lengths are in units in which q = 1. Prints, for each tone, its harmonics relative to the fundamental in
# dB by Fourier sums over whole periods; and writes the displacement, tones and sweep, as 64-bit floats.
import json
import sys

import numpy as np
from scipy.integrate import odeint

rate, level, start, stop, constant = json.loads(sys.argv[1])
resonance, quality, b, p, q = 2 * np.pi * 90.0, 0.9, 1.0, 0.15, 1.0
drive = 10 ** (level / 20)


def displacement(u, seconds):
    def slope(y, t):
        x, v = y
        force = b * (1 - p * x - q * x * x)
        return v, 0.9 * resonance**2 * force * (u(t) - 0.3 / resonance * force * v) - resonance / quality * v - resonance**2 * x

    t = np.arange(int(round(seconds * rate))) / rate
    return odeint(slope, [0, 0], t, rtol=1e-10, atol=1e-12, mxstep=10000, hmax=1 / (8 * stop))[:, 0]


out, found = [], []
for f in [25.0, 40.0, 60.0, 90.0, 150.0, 300.0]:
    x = displacement(lambda t: drive * np.sin(2 * np.pi * f * t), 1.4)
    x = x[int(0.4 * rate):]  # settled: e^-100; one second, whole periods of each
    t = np.arange(len(x)) / rate
    h = [abs(np.sum(x * np.exp(-2j * np.pi * n * f * t))) for n in range(1, 6)]
    found.append([f] + [20 * np.log10(v / h[0]) for v in h[1:]])
    out.append(x)
ends = constant * np.log(stop / start)
fade = lambda t: np.clip(t * start, 0, 1)
swept = displacement(
    lambda t: drive * (0.5 - 0.5 * np.cos(np.pi * fade(t))) * np.sin(2 * np.pi * start * constant * np.expm1(min(t, ends) / constant)) * (t < ends), ends + 1)
np.concatenate(out + [swept]).tofile(sys.argv[2])
print(json.dumps(found))
