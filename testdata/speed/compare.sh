#!/usr/bin/env bash
# Times the whole analysis in Go and in numpy/scipy, in one run on this machine,
# and prints the ratio. Timings on shared machines are noisy; the ratio is less so.
# Needs python3 with numpy and scipy (Debian: python3-scipy).
#
# usage: testdata/speed/compare.sh [LIMIT]
# With a limit it fails when Go takes more than that share of scipy's time at
# 96 kHz, 10 s.
set -euo pipefail
cd "$(dirname "$0")"
limit=${1:-}
python=${PYTHON:-/usr/bin/python3}
go test -c -o /tmp/earnest-speed.test . >/dev/null
trap 'rm -f /tmp/earnest-speed.test' EXIT
for spec in "48000 6" "96000 10"; do
  set -- $spec
  theirs=$("$python" yardstick.py "$1" "$2" 5)
  line=$(/tmp/earnest-speed.test -test.run '^$' -test.bench "BenchmarkAnalysis/$1Hz/$2s" -test.benchtime 8x | grep ns/op)
  ours=$(awk '{for (i = 2; i <= NF; i++) if ($i == "ns/op") printf "%.4f", $(i-1) / 1e9}' <<<"$line")
  bytes=$(awk '{for (i = 2; i <= NF; i++) if ($i == "B/op") printf "%.0f", $(i-1) / 1e6}' <<<"$line")
  ratio=$(awk -v a="$ours" -v b="$theirs" 'BEGIN {printf "%.3f", a / b}')
  echo "$1 Hz, $2 s: Go $ours s ($bytes MB allocated), scipy $theirs s, ratio $ratio"
done
if [ -n "$limit" ]; then
  awk -v r="$ratio" -v l="$limit" 'BEGIN {if (r > l) {print "slower than " l " of scipy"; exit 1}}'
fi
