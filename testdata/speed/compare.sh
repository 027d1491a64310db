#!/usr/bin/env bash
# Times the whole analysis in Go and in numpy/scipy, in one run on this machine,
# and prints the ratio. Timings on shared machines are noisy, so the two take turns
# and the median of the ratios counts.
# Needs python3 with numpy and scipy (Debian: python3-scipy).
#
# usage: testdata/speed/compare.sh [LIMIT]
# With a limit it fails when Go takes more than that share of scipy's time at
# 96 kHz, 10 s.
set -euo pipefail
cd "$(dirname "$0")"
limit=${1:-}
python=${PYTHON:-/usr/bin/python3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test -c -o "$work/speed.test" . >/dev/null
for spec in "48000 6" "96000 10"; do
  set -- $spec
  for round in 1 2 3 4 5; do
    theirs=$("$python" yardstick.py "$1" "$2" 3)
    "$work/speed.test" -test.run '^$' -test.bench "BenchmarkAnalysis/$1Hz/$2s" -test.benchtime 20x |
      awk -v theirs="$theirs" '/ns\/op/ {
        for (i = 2; i <= NF; i++) {
          if ($i == "ns/op") ours = $(i-1) / 1e9
          if ($i == "B/op") bytes = $(i-1) / 1e6
        }
        printf "%.3f %.3f %.3f %.0f\n", ours / theirs, ours, theirs, bytes
      }'
  done | sort -n | sed -n 3p >"$work/median"
  read -r ratio ours theirs bytes <"$work/median"
  echo "$1 Hz, $2 s: ratio $ratio, the median of five (in that round Go $ours s, $bytes MB allocated, scipy $theirs s)"
done
if [ -n "$limit" ]; then
  awk -v r="$ratio" -v l="$limit" 'BEGIN {if (r > l) {print "slower than " l " of scipy"; exit 1}}'
fi
