#!/usr/bin/env python3
"""Writes change.json beside this file: comparisons of conditions by scipy, and certified variances.

- scipy.stats.ttest_rel and ttest_ind(equal_var=True), with the 95 % interval of the difference; and Welch's
  (equal_var=False), whose degrees of freedom are by hand and give the same p.
- Equivalence by two one-sided tests, by hand: the largest change that both leave possible at 95 %, |d| + t(0.95) u.
- scipy.stats.permutation_test of |t|, independent and paired: how large it is in all relabellings.
- scipy.stats.tukey_hsd of four conditions seated unequally often.
- Dunnett's test from its definition: the largest of the differences from one condition, drawn 5 million times where
  none differs, which tells a probability to 0.0007.
- A line in the order of the seatings beside two conditions, by numpy.linalg.lstsq.
- NIST/ITL StRD, analysis of variance: SiRstv and SmLs01 to SmLs09, from the files in SciPy's own tests
  (scipy/stats/tests/data/nist_anova). A cell of SmLs has one value, and then two others in turn.

Made with python3-scipy 1.10.1 and numpy 1.24.2 of Debian 12.
"""
import json
import pathlib
import re

import numpy as np
import scipy.stats
from scipy import stats

before, after = [-3.1, -2.6, -3.4, -2.9, -3.3], [-2.2, -2.9, -2.5, -2.4, -2.0]


def interval(d, u, nu):
    half = stats.t.ppf(0.975, nu) * u
    return {"value": d, "low": d - half, "high": d + half, "possible": abs(d) + stats.t.ppf(0.95, nu) * u}


def independent(a, b):
    test = stats.ttest_ind(b, a)
    d = np.mean(b) - np.mean(a)
    return {"a": a, "b": b, "p": test.pvalue, **interval(d, abs(d / test.statistic), len(a) + len(b) - 2)}


def unlike(a, b):
    test = stats.ttest_ind(b, a, equal_var=False)
    d = np.mean(b) - np.mean(a)
    va, vb = np.var(a, ddof=1) / len(a), np.var(b, ddof=1) / len(b)
    nu = (va + vb) ** 2 / (va ** 2 / (len(a) - 1) + vb ** 2 / (len(b) - 1))
    u = np.sqrt(va + vb)
    assert abs(2 * stats.t.sf(abs(d) / u, nu) - test.pvalue) < 1e-12
    return {"a": a, "b": b, "p": test.pvalue, **interval(d, u, nu)}


def paired(a, b):
    test = stats.ttest_rel(b, a)
    d = np.mean(b) - np.mean(a)
    return {"a": a, "b": b, "p": test.pvalue, **interval(d, abs(d / test.statistic), len(a) - 1)}


def drift(a, b):
    # a[0], b[0], a[1], b[1] and so on, as they were measured.
    y = np.array([v for pair in zip(a, b) for v in pair])
    x = np.column_stack([np.arange(len(y)) % 2 == 0, np.arange(len(y)) % 2 == 1, np.arange(len(y))]).astype(float)
    fit, square, _, _ = np.linalg.lstsq(x, y, rcond=None)
    nu = len(y) - 3
    c = np.array([-1.0, 1.0, 0.0])
    u = np.sqrt(square[0] / nu * (c @ np.linalg.inv(x.T @ x) @ c))
    return {"a": a, "b": b, "p": 2 * stats.t.sf(abs(c @ fit) / u, nu), **interval(c @ fit, u, nu)}


relabelled = stats.permutation_test((after, before), lambda x, y: abs(stats.ttest_ind(x, y).statistic), vectorized=False,
                                    n_resamples=np.inf, alternative="greater")
difference = [b - a for a, b in zip(before + [-2.7, -3.0], after + [-2.6, -2.4])]
signs = stats.permutation_test((difference,), lambda x: abs(stats.ttest_1samp(x, 0).statistic), vectorized=False,
                               permutation_type="samples", n_resamples=np.inf, alternative="greater")

groups = [[0.1, -0.2, 0.3, 0.0], [0.5, 0.9, 0.4], [-0.3, 0.2, 0.1, 0.2, -0.1], [1.0, 0.6, 1.2, 0.5]]
tukey = stats.tukey_hsd(*groups)
n = np.array([len(g) for g in groups])
nu = int(n.sum()) - len(groups)
s = np.sqrt(sum(np.var(g) * len(g) for g in groups) / nu)
random = np.random.default_rng(1)
draws = 5_000_000
means = random.standard_normal((draws, len(n))) / np.sqrt(n)
scale = np.sqrt(random.chisquare(nu, draws) / nu)
widest = np.max(np.abs(means[:, 1:] - means[:, :1]) / np.sqrt(1 / n[1:] + 1 / n[0]), axis=1) / scale
against = [float(np.mean(widest >= abs(np.mean(groups[k]) - np.mean(groups[0])) / (s * np.sqrt(1 / n[k] + 1 / n[0]))))
           for k in range(1, len(groups))]

folder = pathlib.Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"


def variance(name):
    text = (folder / (name + ".dat")).read_text()
    cells = {}
    for line in text.splitlines()[60:]:
        cell, value = line.split()
        cells.setdefault(cell, []).append(float(value))
    cells = list(cells.values())
    count = len(cells[0])
    if name.startswith("SmLs"):
        for c in cells:
            assert c == [c[0]] + c[1:3] * ((count - 1) // 2)
        cells = [c[:3] for c in cells]
    between = re.search(r"Between \w+\s+(\d+)\s+(\S+)\s+(\S+)", text)
    within = re.search(r"Within \w+\s+(\d+)\s+(\S+)\s+(\S+)", text)
    return {"name": name, "count": count, "cells": cells, "between": float(between.group(3)),
            "within": float(within.group(3)), "freedom": int(within.group(1))}


values = {
    "independent": independent(before, after[:4]), "unlike": unlike(before, [-2.2, -3.9, -1.5, -0.4]), "paired": paired(before, after), "drift": drift(before, after),
    "relabelled": {"first": after, "second": before, "t": sorted(float(v) for v in relabelled.null_distribution)},
    "signs": {"differences": difference, "t": sorted(float(v) for v in signs.null_distribution)},
    "several": {"groups": groups, "tukey": [[float(v) for v in row] for row in tukey.pvalue], "against": against},
    "variance": [variance(n) for n in ["SiRstv"] + ["SmLs%02d" % k for k in range(1, 10)]],
}
pathlib.Path(__file__).with_name("change.json").write_text(
    "{\n" + ",\n".join(f'"{k}": {json.dumps(v, separators=(",", ":"))}' for k, v in values.items()) + "\n}\n")
