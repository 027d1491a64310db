#!/usr/bin/env python3
"""Writes nist.json beside this file: certified statistics of NIST's Statistical Reference Datasets.

Data and certified values are read from the files of NIST/ITL StRD in SciPy's own tests (scipy/stats/tests/data):
the analysis of variance sets SiRstv, AtmWtAg, SmLs01, SmLs04 and SmLs07, which have up to 13 constant leading
digits, and the linear regression Norris. NumAcc1 to NumAcc4 are made from their definition, from memory: a middle
value once, and the values one step below and above it in turn.

Made with the files of python3-scipy 1.10.1 of Debian 12.
"""
import json
import pathlib
import re

import scipy.stats

folder = pathlib.Path(scipy.stats.__file__).parent / "tests" / "data"


def number(text, pattern):
    return float(re.search(pattern, text).group(1))


def variance(name):
    text = (folder / "nist_anova" / (name + ".dat")).read_text()
    cells = {}
    for line in text.splitlines()[60:]:
        cell, value = line.split()
        cells.setdefault(cell, []).append(float(value))
    between = re.search(r"Between \w+\s+(\d+)\s+(\S+)", text)
    return {"name": name, "cells": list(cells.values()), "between": float(between.group(2)),
            "deviation": number(text, r"Residual\s+Standard Deviation\s+(\S+)"),
            "freedom": int(number(text, r"Within \w+\s+(\d+)"))}


def norris():
    text = (folder / "nist_linregress" / "Norris.dat").read_text()
    rows = [[float(v) for v in line.split()] for line in text[text.rindex("Data:"):].splitlines()[1:] if line.strip()]
    return {"x": [x for _, x in rows], "y": [y for y, _ in rows], "intercept": number(text, r"B0\s+(-?\d\S+)"),
            "slope": number(text, r"B1\s+(\d\S+)"), "slopeDeviation": number(text, r"B1\s+\d\S+\s+(\S+)"),
            "deviation": number(text, r"Residual\s+Standard Deviation\s+(\S+)")}


def accuracy(name, middle, step, pairs):
    digits = 1 if step < 1 else 0
    low, high = round(middle - step, digits), round(middle + step, digits)
    return {"name": name, "values": [middle] + [low, high] * pairs, "mean": middle, "deviation": step}


univariate = [accuracy("NumAcc1", 10000002.0, 1.0, 1), accuracy("NumAcc2", 1.2, 0.1, 500),
              accuracy("NumAcc3", 1000000.2, 0.1, 500), accuracy("NumAcc4", 10000000.2, 0.1, 500)]

rows = lambda v: "[\n" + ",\n".join(json.dumps(r, separators=(",", ":")) for r in v) + "\n]"
pathlib.Path(__file__).with_name("nist.json").write_text("{\n" + ",\n".join(f'"{k}": {v}' for k, v in {
    "variance": rows([variance(n) for n in ("SiRstv", "AtmWtAg", "SmLs01", "SmLs04", "SmLs07")]),
    "univariate": rows(univariate), "norris": json.dumps(norris(), separators=(",", ":"))}.items()) + "\n}\n")
