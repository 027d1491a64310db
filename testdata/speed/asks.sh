#!/usr/bin/env bash
# What ten minutes of recordings take, of a stimulus that asks distortion, levels, modulation and crosstalk: seconds
# of all processors (user and system) re reading and writing them again by sox in the same run, and the peak of
# memory.
#
# usage: testdata/speed/asks.sh [ROUNDS]
set -euo pipefail
cd "$(dirname "$0")"
rounds=${1:-3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test -c -o "$work/speed.test" . >/dev/null
export EARNEST_SPEED_ASKS=${EARNEST_SPEED_ASKS:-$work}
bench() { "$work/speed.test" -test.run '^$' -test.bench 'Asks$' -test.benchtime 1x; }
metric() { awk -v unit="$1" '{for (i = 2; i < NF; i++) if ($(i+1) == unit) print $i}'; }
median() { sort -n | awk '{v[NR] = $1} END {print v[int((NR + 1) / 2)]}'; }
[ -e "$EARNEST_SPEED_ASKS/session.toml" ] || bench >/dev/null # makes the files, which is not measured
TIMEFORMAT='%U %S'
for _ in $(seq "$rounds"); do
  { time for i in 0 1 2 3 4; do sox "$EARNEST_SPEED_ASKS/$i.wav" "$work/again.wav"; done; } 2>&1 | awk '{print $1 + $2}' >"$work/sox"
  bench >"$work/ours"
  awk -v ours="$(metric cpu-s/op <"$work/ours")" -v sox="$(cat "$work/sox")" 'BEGIN {print ours / sox, ours, sox}' >>"$work/ratios"
  metric peak-MB <"$work/ours" >>"$work/peak"
done
sort -n "$work/ratios" | awk '{v[NR] = $0} END {split(v[int((NR + 1) / 2)], a); printf "ten minutes that ask everything re sox: %.1f (%.2f s re %.2f s), asked at most 20\n", a[1], a[2], a[3]}'
echo "peak of memory, MB: $(median <"$work/peak"), asked at most 600"
