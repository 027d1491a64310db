"""The bare transforms of one analysis by FFTW, planned (python3-pyfftw), or by scipy.fft where that is not installed.

Usage: python3 fftw.py SAMPLE_RATE SECONDS [RUNS]
Prints what it used, and the least seconds of processor for the transforms that yardstick.py makes: of the
stimulus, and of each of three recordings one to the spectrum and one back, one of 65536 samples, and four of 16384.
"""
import sys, time
import numpy as np
import scipy.fft as sf

fs, seconds = int(sys.argv[1]), float(sys.argv[2])
runs = int(sys.argv[3]) if len(sys.argv) > 3 else 7
n = sf.next_fast_len(int(2 * seconds * fs) + 2 * fs, real=True)
rng = np.random.default_rng(1)
arrays = {m: rng.standard_normal(m) for m in (n, 65536, 16384)}
spectrum = sf.rfft(arrays[n])
try:
    import pyfftw

    used, plans = "fftw", {}
    for m, x in arrays.items():
        a = pyfftw.empty_aligned(m, dtype="float64")
        plans[m] = pyfftw.FFTW(a, pyfftw.empty_aligned(m // 2 + 1, dtype="complex128"), flags=("FFTW_MEASURE",))
        a[:] = x
    c = pyfftw.empty_aligned(n // 2 + 1, dtype="complex128")
    back = pyfftw.FFTW(c, pyfftw.empty_aligned(n, dtype="float64"), direction="FFTW_BACKWARD", flags=("FFTW_MEASURE",))
    c[:] = spectrum

    def forward(m):
        plans[m].execute()

    def inverse():
        back.execute()

except ImportError:
    used = "scipy.fft"

    def forward(m):
        sf.rfft(arrays[m])

    def inverse():
        sf.irfft(spectrum, n)


def transforms():
    forward(n)
    for _ in range(3):
        forward(n)
        inverse()
        forward(65536)
        for _ in range(4):
            forward(16384)


transforms()
times = []
for _ in range(runs):
    start = time.process_time()
    transforms()
    times.append(time.process_time() - start)
print(used, "%.4f" % min(times))
