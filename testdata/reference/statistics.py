#!/usr/bin/env python3
"""Writes statistics.json beside this file: quantiles, tests and fits by scipy.

- scipy.stats.t and norm: one-sided quantiles.
- scipy.stats.ncf and ncx2: the noncentral F distribution, and for 0 degrees of freedom in what
  divides, where it is a noncentral chi-square of n degrees over n.
- scipy.stats.ttest_ind(equal_var=True), of levels of two sides whose variance is
  pooled.
- scipy.stats.ttest_ind(equal_var=False), Welch's test, of tilts in dB per
  octave that two pairs showed in several seatings.
- scipy.optimize.least_squares: the sine of least squares, weighted by a Hann window, through a
  tone with a harmonic, an offset and a remainder that any language makes alike, the
  quadratic residues of programme.py; and the peaking filter of the Audio EQ
  Cookbook that lies nearest to a resonance of another shape, a raised cosine over
  log f, with the level free, from many starting points.

Made with python3-scipy 1.10.1 and numpy 1.24.2 of Debian 12.
"""
import json
import pathlib

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import ncf, ncx2, norm, t, ttest_ind

quantiles = [{"probability": p, "freedom": nu, "factor": float(norm.ppf(p) if nu == 0 else t.ppf(p, nu))}
             for p in (0.6, 0.8, 0.9, 0.95, 0.975, 0.995, 0.9995) for nu in (0, 1, 2, 3, 4.5, 7, 29, 150)]

noncentral = [{"x": x, "n": n, "k": k, "lambda": lam, "probability": float(ncx2.cdf(n * x, n, lam) if k == 0 else ncf.cdf(x, n, k, lam))}
              for n in (2, 5.5, 10) for k in (0, 6, 40, 200) for x, lam in ((0.05, 0.5), (1, 3), (4, 8), (4, 30), (20, 60), (60, 100))]

# Tilts of two pairs.
a, b = [-0.52, -0.41, -0.47, -0.6], [-0.75, -0.55, -0.81, -0.64, -0.7, -0.68]
test = ttest_ind(b, a, equal_var=False)
tilts = {"a": a, "b": b, "t": float(test.statistic), "p": float(test.pvalue)}

# Levels of the two sides of a pair in dB, their variance taken as one.
left, right = [-3.1, -2.6, -3.4, -2.9], [-2.2, -2.9, -2.5]
test = ttest_ind(left, right, equal_var=True)
standard = float((np.mean(left) - np.mean(right)) / test.statistic)
nu = len(left) + len(right) - 2
pooled = {"left": left, "right": right, "difference": float(np.mean(left) - np.mean(right)), "error": standard,
          "half": float(t.ppf(0.975, nu)) * standard, "p": float(test.pvalue)}

# A sine.
fs, count = 8000, 4000
i = np.arange(count, dtype=np.int64)
time = i / fs
remainder = ((7919 * i * i + 104729 * i) % 65537) / 32768 - 1
x = 0.4 * np.sin(2 * np.pi * 997.3 * time + 0.7) + 0.05 + 0.03 * np.sin(2 * np.pi * 3 * 997.3 * time) + 0.02 * remainder


weight = np.sqrt(np.hanning(count))


def error(p):
    return p[0] * np.sin(2 * np.pi * p[1] * time + p[2]) + p[3] - x


fit = least_squares(lambda p: weight * error(p), [0.4, 997.3, 0.7, 0.05], xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=[0.1, 0.1, 1, 0.1])
sine = {"sampleRate": fs, "amplitude": float(fit.x[0]), "frequency": float(fit.x[1]), "phase": float(fit.x[2]),
        "offset": float(fit.x[3]), "residual": float(np.sqrt(np.mean(error(fit.x) ** 2)))}

# One filter.
octaves = np.linspace(np.log2(20 / 1000), np.log2(20000 / 1000), 4001)
f, rate = 1000 * 2 ** octaves, 48000


def bump(centre, width, height):
    u = (octaves - np.log2(centre / 1000)) / width
    return np.where(np.abs(u) < 1, height * (1 + np.cos(np.pi * u)) / 2, 0)


def peaking(centre, gain, q):
    w = 2 * np.pi * centre / rate
    a, alpha = 10 ** (gain / 40), np.sin(w) / (2 * q)
    z = np.exp(-2j * np.pi * f / rate)
    upper = (1 + alpha * a) - 2 * np.cos(w) * z + (1 - alpha * a) * z ** 2
    lower = (1 + alpha / a) - 2 * np.cos(w) * z + (1 - alpha / a) * z ** 2
    return 20 * np.log10(np.abs(upper / lower))


nearest = []
for centre, width, height in [(1200, 1.5, 6), (300, 0.8, -5), (4000, 2.5, 4)]:
    shape, weight = bump(centre, width, height), np.ones(len(f))
    weight[[0, -1]] = 0.5
    weight = np.sqrt(weight / weight.sum())

    def left(p):
        d = shape + peaking(centre * np.exp(p[0]), p[1], np.exp(p[2]))
        return (d - np.sum(weight ** 2 * d)) * weight

    best = min((least_squares(left, [0, gain, np.log(q)], xtol=1e-14, ftol=1e-14, gtol=1e-14)
                for gain in (-3, 3, -9) for q in (0.5, 1, 3)), key=lambda r: r.cost)
    nearest.append({"centre": centre, "width": width, "height": height, "before": float(np.linalg.norm(left([0, 0, 0]))),
                    "after": float(np.linalg.norm(best.fun)), "frequency": float(centre * np.exp(best.x[0])),
                    "gain": float(best.x[1]), "q": float(np.exp(best.x[2]))})

path = pathlib.Path(__file__).with_name("statistics.json")
rows = lambda v: "[\n" + ",\n".join(json.dumps(r, separators=(",", ":")) for r in v) + "\n]"
path.write_text("{\n" + ",\n".join(f'"{k}": {v}' for k, v in {
    "quantiles": rows(quantiles), "noncentral": rows(noncentral), "tilts": json.dumps(tilts), "pooled": json.dumps(pooled), "sine": json.dumps(sine), "filters": rows(nearest)}.items()) + "\n}\n")
