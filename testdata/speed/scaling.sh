#!/usr/bin/env bash
# How the time of an analysis grows with the length of the sweep, against
# n log n, and how much faster 32 analyses are on two processors than on one.
#
# usage: testdata/speed/scaling.sh [GROWTH [GAIN]]
# With limits it fails when the time from 2 s to 60 s grows by more than GROWTH
# times n log n, or when two processors gain less than GAIN: 1.8 on a machine that
# has nothing else to do.
set -euo pipefail
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test -c -o "$work/speed.test" . >/dev/null
nanoseconds='{for (i = 2; i <= NF; i++) if ($i == "ns/op") print $1, $(i-1)}'

"$work/speed.test" -test.run '^$' -test.bench BenchmarkLength -test.benchtime 8x | awk "/ns\/op/ $nanoseconds" |
  sed 's/.*\/\([0-9]*\)s[-0-9]* /\1 /' >"$work/lengths"
awk '{n = ($1 + 2) * 48000; cost = $2 / (n * log(n)); if (NR == 1) first = cost
      printf "sweep of %2d s: %.3f s, %.2f of n log n from 2 s\n", $1, $2 / 1e9, cost / first
      growth = cost / first} END {print growth > "/dev/stderr"}' "$work/lengths" 2>"$work/growth"

for processors in 1 2; do
  "$work/speed.test" -test.run '^$' -test.bench BenchmarkSessions -test.benchtime 2x -test.cpu "$processors" | awk "/ns\/op/ $nanoseconds"
done >"$work/sessions"
awk '{t[NR] = $2} END {printf "32 analyses: %.2f s on one processor, %.2f s on two: %.2f times as fast\n", t[1]/1e9, t[2]/1e9, t[1]/t[2]
      print t[1]/t[2] > "/dev/stderr"}' "$work/sessions" 2>"$work/gain"

if [ $# -ge 1 ]; then
  awk -v g="$(cat "$work/growth")" -v l="$1" 'BEGIN {if (g > l) {print "the time grows by more than " l " times n log n"; exit 1}}'
fi
if [ $# -ge 2 ]; then
  awk -v g="$(cat "$work/gain")" -v l="$2" 'BEGIN {if (g < l) {print "two processors gain less than " l; exit 1}}'
fi
