#!/usr/bin/env bash
# Compares the speed of two commits, stage by stage, in seconds of all processors and in allocations: both run the
# benchmarks of the present files in turns.
#
# usage: testdata/speed/commits.sh OLD [NEW [COUNT]]      such as main~5 HEAD 6
#        testdata/speed/commits.sh -baseline [COUNT]      the present files with what is committed for this processor
#        testdata/speed/commits.sh -write [COUNT]         commits that: writes baselines/PROCESSOR.txt
#
# The files that it leaves, and the baselines, are what benchstat reads.
set -euo pipefail
cd "$(git rev-parse --show-toplevel)"
here=testdata/speed
what='Bare$|Review|PipelineSession$|Stages|Files'
work=$(mktemp -d)
trap 'git worktree prune; rm -rf "$work"' EXIT
export EARNEST_SPEED_DEMO="$work/demo"
run() { # says why where it fails: what it printed would be deleted with the folder
  "$1" -test.run '^$' -test.bench "$what" -test.benchtime 1x >"$work/said" || { cat "$work/said" >&2; return 1; }
  cat "$work/said"
}
compare() { # by the medians of each benchmark and unit
  cp "$1" old.txt && cp "$2" new.txt
  awk 'function median(s,   v, n) {n = split(s, v, " "); asort2(v, n); return v[int((n + 1) / 2)]}
    function asort2(v, n,   i, j, t) {for (i = 2; i <= n; i++) for (j = i; j > 1 && v[j-1]+0 > v[j]+0; j--) {t = v[j]; v[j] = v[j-1]; v[j-1] = t}}
    /^Benchmark/ {for (i = 3; i < NF; i += 2) if ($(i+1) ~ /cpu-s|allocs|peak/) {k = $1 "\t" $(i+1); all[FILENAME, k] = all[FILENAME, k] " " $i; if (!(k in seen)) {seen[k] = 1; order[++m] = k}}}
    END {printf "%-40s %-10s %12s %12s %8s\n", "benchmark", "unit", "old", "new", "new/old"
      for (i = 1; i <= m; i++) {k = order[i]; a = median(all["old.txt", k]); b = median(all["new.txt", k]); split(k, p, "\t")
        if (a > 0 && b > 0) printf "%-40s %-10s %12.4g %12.4g %8.2f\n", p[1], p[2], a, b, b / a}}' old.txt new.txt
  echo "old.txt and new.txt are left for benchstat"
}
case ${1:-} in
-baseline | -write)
  go test -c -o "$work/new.test" "./$here" >/dev/null
  for _ in $(seq "${2:-3}"); do run "$work/new.test"; done >"$work/new.txt"
  mkdir -p "$here/baselines"
  file="$here/baselines/$(sed -n 's/^cpu: //p' "$work/new.txt" | head -1 | tr -cs 'A-Za-z0-9\n' '-').txt"
  if [ "$1" = -write ]; then
    cp "$work/new.txt" "$file" && echo "$file"
  elif [ -f "$file" ]; then
    compare "$file" "$work/new.txt"
  else
    echo "there is no baseline of this processor, $file; -write makes one" >&2 && exit 1
  fi
  ;;
'')
  sed -n '2,12s/^# \{0,1\}//p' "$0" >&2 && exit 2
  ;;
*)
  for side in old new; do
    commit=$1 && [ "$side" = new ] && commit=${2:-HEAD}
    git worktree add -q --detach "$work/$side" "$commit"
    cp "$here"/*_test.go "$work/$side/$here/"
    (cd "$work/$side" && go test -c -o "$work/$side.test" "./$here" >/dev/null)
  done
  for _ in $(seq "${3:-4}"); do
    for side in old new; do run "$work/$side.test" >>"$work/$side.txt"; done
  done
  compare "$work/old.txt" "$work/new.txt"
  for side in old new; do git worktree remove --force "$work/$side"; done
  ;;
esac
