"""What package programme's spectra take in numpy/scipy, as a practised user would write it: the yardstick for speed.

Usage: python3 programme.py SECONDS [RUNS]
Prints one line for two channels of so much material at 48 kHz: the median seconds, and the median seconds that the
processors worked.

For each channel: the delay by one cross-correlation of ten seconds, the through recording read at the drift's
rate, then scipy.signal.welch of both and scipy.signal.csd for five lengths of segment (4096 at 48 kHz, and at each
half of the rate by a half-band filter), H1 and coherence. Uncertainties, bands and levels, which package
programme has besides, are left out.
"""
import sys, time
import numpy as np
import scipy.fft as sf
import scipy.signal as ss

fs, seconds = 48000, int(sys.argv[1])
runs = int(sys.argv[2]) if len(sys.argv) > 2 else 3
rng = np.random.default_rng(1)
count = seconds * fs
half = ss.firwin(31, 0.5, window=("kaiser", 10))


def material():
    x = 0.1 * rng.standard_normal(count) * (0.2 + (np.arange(count) // 12000) % 4)
    y = ss.lfilter([0.3], [1, -0.6], np.concatenate([np.zeros(700), x[:-700]]))
    return x, y + 1e-4 * rng.standard_normal(count)


channels = [material(), material()]


def analyse(x, y):
    n = sf.next_fast_len(20 * fs, real=True)
    cross = np.conj(sf.rfft(x[:10 * fs], n)) * sf.rfft(y[:10 * fs], n)
    lags = sf.irfft(cross / (np.abs(cross) + 1e-30), n)
    delay = int(np.argmax(np.abs(lags)))
    # The drift: cubic interpolation between four samples, which is less than is needed at 20 kHz.
    at = np.arange(count - delay - 4) * (1 + 1e-7) + delay + 1
    k = at.astype(np.int64)
    u = at - k
    k = np.minimum(k, count - 3)
    a, b, c, d = y[k - 1], y[k], y[k + 1], y[k + 2]
    y = b + u / 2 * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)))
    x = x[1:1 + len(y)]
    curves, rate = [], fs
    for tier in range(5):
        overlap = 0 if len(x) // 4096 >= 400 else 2048
        kw = dict(fs=rate, window="hann", nperseg=4096, noverlap=overlap, detrend=False)
        _, pxx = ss.welch(x, **kw)
        _, pyy = ss.welch(y, **kw)
        _, pxy = ss.csd(x, y, **kw)
        curves.append((pxy / pxx, np.abs(pxy) ** 2 / (pxx * pyy)))
        if tier < 4:
            x, y, rate = ss.upfirdn(half, x, down=2), ss.upfirdn(half, y, down=2), rate / 2
    return curves


times, worked = [], []
for _ in range(runs):
    start, busy = time.perf_counter(), time.process_time()
    for x, y in channels:
        analyse(x, y)
    times.append(time.perf_counter() - start)
    worked.append(time.process_time() - busy)
print("%.3f %.3f" % (np.median(times), np.median(worked)))
