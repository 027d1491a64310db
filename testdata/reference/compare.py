#!/usr/bin/env python3
"""compare.py FOLDER NAME.json …: are the values in FOLDER those committed beside this script?

Each number may differ by RELATIVE of itself or SMALL of the largest in its list; what
an iteration ends with, or what cancels, by as much as LOOSER says of its file or field.
Says the first difference of each file, and fails if there is any.
"""
import json
import math
import pathlib
import sys

RELATIVE, SMALL = 1e-8, 1e-9
LOOSER = {
    "statistics.json": 1e-6,  # fits, whose least sum of squares is flat
    # Two zeros at z = 1 seen from 1.7 Hz at 8 kHz: by the processor, numpy's cosines move it by 1e-6.
    "groupDelaySamples": 1e-5,
}


def largest(value):
    """The largest magnitude in a list of numbers; 0 for anything else."""
    if isinstance(value, list):
        return max((abs(v) for v in value if isinstance(v, (int, float)) and math.isfinite(v)), default=0)
    return 0


def difference(old, new, where, relative, scale=0.0):
    """A sentence about the first difference, or None."""
    if isinstance(old, dict) and isinstance(new, dict):
        if old.keys() != new.keys():
            return f"{where}: {sorted(old.keys() ^ new.keys())} only in one"
        return next(filter(None, (difference(old[k], new[k], f"{where}.{k}", LOOSER.get(k, relative)) for k in old)), None)
    if isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            return f"{where}: {len(old)} values are committed, {len(new)} are made"
        scale = largest(old)
        return next(filter(None, (difference(a, b, f"{where}[{i}]", relative, scale) for i, (a, b) in enumerate(zip(old, new)))), None)
    number = all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in (old, new))
    if number and abs(old - new) <= max(relative * max(abs(old), abs(new)), SMALL * scale):
        return None
    if not number and old == new:
        return None
    return f"{where}: {old} is committed, {new} is made"


def main():
    here, fresh = pathlib.Path(__file__).parent, pathlib.Path(sys.argv[1])
    stale = 0
    for name in sys.argv[2:]:
        old, new = (json.loads((folder / name).read_text()) for folder in (here, fresh))
        found = difference(old, new, name, LOOSER.get(name, RELATIVE))
        print(f"{name}: {'as committed' if found is None else 'STALE'}")
        if found is not None:
            print(f"  {found}\n  run the script beside it and commit what it writes, or find out what has changed")
            stale += 1
    sys.exit(1 if stale else 0)


main()
