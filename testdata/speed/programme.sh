#!/usr/bin/env bash
# Times the comparison of two channels of material in Go and its spectra alone in
# numpy/scipy, in one run on this machine, and prints the ratio; and how many
# MB Go takes beyond the samples. Timings on shared machines are noisy.
# Needs python3 with numpy and scipy (Debian: python3-scipy).
#
# usage: testdata/speed/programme.sh [LIMIT]
# With a limit it fails when Go takes more than that share of scipy's time for
# ten minutes.
set -euo pipefail
cd "$(dirname "$0")"
limit=${1:-}
python=${PYTHON:-/usr/bin/python3}
binary=$(mktemp)
trap 'rm -f "$binary"' EXIT
go test -c -o "$binary" ../../response/programme >/dev/null
metric() { awk -v unit="$1" '/op/ {for (i = 2; i <= NF; i++) if ($i == unit) print $(i-1)}' <<<"$2"; }
for spec in "60 1min" "600 10min"; do
  set -- $spec
  read -r theirs worked <<<"$("$python" programme.py "$1" 3)"
  line=$("$binary" -test.run '^$' -test.bench "Stereo/$2\$" -test.benchtime 3x | grep ns/op)
  ours=$(awk -v t="$(metric ns/op "$line")" 'BEGIN {printf "%.3f", t / 1e9}')
  busy=$(metric cpu-s/op "$line")
  ratio=$(awk -v a="$ours" -v b="$theirs" 'BEGIN {printf "%.3f", a / b}')
  echo "two channels of $2: Go $ours s ($busy s of processors), scipy's spectra $theirs s ($worked s of processors), ratio $ratio"
done
"$binary" -test.run '^$' -test.bench Memory -test.benchtime 1x | awk '/MB-beyond/ {for (i = 2; i <= NF; i++) if ($i == "MB-beyond") print "ten minutes take " $(i-1) " MB beyond the samples"}'
if [ -n "$limit" ]; then
  awk -v r="$ratio" -v l="$limit" 'BEGIN {if (r > l) {print "slower than " l " of scipy"; exit 1}}'
fi
