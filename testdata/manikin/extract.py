"""Reads what mysofa2json writes from standard input; writes responses.raw and positions.csv into the folder given.

responses.raw holds 16-bit little-endian samples, left ear and right ear in turn, one position after the other.
"""

import array
import json
import sys

folder = sys.argv[1]
file = json.load(sys.stdin)
positions, ears, taps = (file["Dimensions"][k] for k in "MRN")
variables = file["Variables"]
response = variables["Data.IR"]["Values"]
source = variables["SourcePosition"]["Values"]
assert ears == 2 and variables["Data.SamplingRate"]["Values"] == [44100]
assert variables["SourcePosition"]["Attributes"]["Units"] == "degree, degree, metre"
assert variables["Data.Delay"]["Values"] == [0, 0]

samples = array.array("h")
for m in range(positions):
    for n in range(taps):
        for r in range(ears):
            value = 32768 * response[(ears * m + r) * taps + n]
            assert abs(value - round(value)) < 0.01, "the responses are whole steps of 16 bits, printed with seven digits"
            samples.append(round(value))
if sys.byteorder == "big":
    samples.byteswap()
with open(folder + "/responses.raw", "wb") as f:
    samples.tofile(f)
with open(folder + "/positions.csv", "w") as f:
    f.write("azimuth,elevation\n")
    for m in range(positions):
        f.write("%g,%g\n" % tuple(source[3 * m : 3 * m + 2]))
