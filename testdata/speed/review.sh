#!/usr/bin/env bash
# What a whole review takes, as ratios in one run on this machine: seconds of all processors (user and system),
# so that what else runs matters little. The sides of a ratio take turns, and the median of the rounds counts.
#
# usage: testdata/speed/review.sh [ROUNDS]
#
# Needs python3 with numpy and scipy; compares with FFTW where python3-pyfftw is installed, and says so where it
# compares with scipy.fft instead.
set -euo pipefail
cd "$(dirname "$0")"
rounds=${1:-3}
python=${PYTHON:-/usr/bin/python3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go test -c -o "$work/speed.test" . >/dev/null
export EARNEST_SPEED_DEMO="$work/demo"
bench() { "$work/speed.test" -test.run '^$' -test.bench "$1" -test.benchtime "${2:-1x}"; }
metric() { awk -v unit="$1" '{for (i = 2; i < NF; i++) if ($(i+1) == unit) print $i}'; }
median() { sort -n | awk '{v[NR] = $1} END {print v[int((NR + 1) / 2)]}'; }
line() { printf '%-78s %10s   %s\n' "$1" "$2" "$3"; }

bench 'Bare$' >/dev/null # makes the demonstration, which is not measured
for _ in $(seq "$rounds"); do
  bare=$(bench 'Bare$' | metric cpu-s/op)
  bench 'Review/anew$' >"$work/anew"
  whole=$(metric cpu-s/op <"$work/anew")
  again=$(bench 'Review/kept$' | metric cpu-s/op)
  session=$(bench 'PipelineSession$' | metric cpu-s/op)
  awk -v a="$whole" -v k="$again" -v b="$bare" 'BEGIN {print a / b, k / b}' >>"$work/ratios"
  echo "$whole" >>"$work/whole"
  metric peak-MB <"$work/anew" >>"$work/peak"
  echo "$session" >>"$work/session"
  analysis=$("$work/speed.test" -test.run '^$' -test.bench 'AnalysisProcessor/48000Hz/6s$' -test.benchtime 10x | metric cpu-s/op)
  read -r used theirs <<<"$("$python" fftw.py 48000 6)"
  awk -v a="$analysis" -v b="$theirs" 'BEGIN {print a / b}' >>"$work/fftw"
  for kind in wav flac; do bench "Files/$kind\$" 10x | metric MB/s >>"$work/$kind"; done
done
printf '%-78s %10s   %s\n' "" measured asked
line "the demonstration's whole review re the bare analysis of its takes, anew" "$(cut -d' ' -f1 "$work/ratios" | median)" "at most 4"
line "the same with its rivals kept from an earlier review" "$(cut -d' ' -f2 "$work/ratios" | median)" ""
line "seconds of processor of that review, anew" "$(median <"$work/whole")" ""
line "peak of memory in it, MB" "$(median <"$work/peak")" "at most 250"
line "seconds of processor of a session in the pipeline, 1 direct and 3 seatings" "$(median <"$work/session")" "at most 0.5"
line "bare analysis re the transforms of it by $used, seconds of processor" "$(median <"$work/fftw")" "at most 3.5 (fftw)"
line "WAV of 24 bits, MB of its samples a second, by the clock" "$(median <"$work/wav")" "1000"
line "FLAC of 24 bits, the same" "$(median <"$work/flac")" "150"
./scaling.sh
