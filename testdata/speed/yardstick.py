"""The main job's arithmetic in numpy/scipy, as a practised user would write it: the yardstick for speed.

Usage: python3 yardstick.py SAMPLE_RATE SECONDS [RUNS]
Prints one line: the median seconds of one analysis (stimulus to smoothed curves) after a warm-up.

One analysis = three recordings (left, right, direct) of an exponential sweep with 2 s of tail, each
deconvolved by regularised division, the linear part windowed to 65536 samples and transformed, harmonics 2 to 5
windowed to 16384 and transformed, and 480 points of 1/12-octave power smoothing. The stimulus
spectrum is computed inside the timing, once.
"""
import sys, time
import numpy as np
import scipy.fft as sf
import scipy.signal as ss

fs, seconds = int(sys.argv[1]), float(sys.argv[2])
runs = int(sys.argv[3]) if len(sys.argv) > 3 else 7
f1, f2 = 10.0, min(40000.0, 0.42 * fs)
rate = np.round(f1 * seconds / np.log(f2 / f1)) / f1
count = int(rate * np.log(f2 / f1) * fs)
t = np.arange(count) / fs
stimulus = np.sin(2 * np.pi * f1 * rate * (np.exp(t / rate) - 1))
tail, lead = 2 * fs, fs // 2
rng = np.random.default_rng(1)


def record(through):
    y = ss.lfilter([0.2, 0.1], [1, -0.7], stimulus) if through else stimulus
    return np.concatenate([np.zeros(lead), y, np.zeros(tail - lead)]) + 1e-5 * rng.standard_normal(count + tail)


recordings = [record(True), record(True), record(False)]
grid = 20 * 2 ** (np.arange(480) / 48.0)
linear, harmonic = 65536, 16384
taper, taper_h = ss.windows.tukey(linear, 0.1), ss.windows.tukey(harmonic, 0.2)


def analyse():
    n = sf.next_fast_len(2 * count + tail, real=True)
    spectrum = sf.rfft(stimulus, n)
    power = np.abs(spectrum) ** 2
    inverse = np.conj(spectrum) / (power + 1e-8 * power.max())
    curves = []
    for recording in recordings:
        h = sf.irfft(sf.rfft(recording, n) * inverse, n)
        peak = int(np.argmax(np.abs(h)))
        p = np.abs(sf.rfft(np.take(h, np.arange(peak - linear // 4, peak + 3 * linear // 4), mode="wrap") * taper)) ** 2
        for k in range(2, 6):
            start = int(peak - rate * np.log(k) * fs) - harmonic // 4
            np.abs(sf.rfft(np.take(h, np.arange(start, start + harmonic), mode="wrap") * taper_h))
        sums = np.concatenate([[0.0], np.cumsum(p)])
        low = np.clip((grid * 2 ** (-1 / 24) * linear / fs).astype(int), 0, len(p) - 1)
        high = np.clip((grid * 2 ** (1 / 24) * linear / fs).astype(int) + 1, 1, len(p))
        curves.append(10 * np.log10((sums[high] - sums[low]) / (high - low)))
    return curves


analyse()
times = []
for _ in range(runs):
    start = time.perf_counter()
    analyse()
    times.append(time.perf_counter() - start)
print("%.4f" % np.median(times))
