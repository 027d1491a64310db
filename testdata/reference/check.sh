#!/usr/bin/env bash
# Computes every reference value again and compares it with the committed one: all
# scripts of this folder run in another one, and each number may differ by 1e-8 of
# itself or 1e-9 of the largest in its list, whichever is more, since versions of numpy,
# scipy and octave round differently. Names select scripts.
#
#	testdata/reference/check.sh [NAME.py NAME.m …]
#
# Debian: apt-get install --no-install-recommends python3-scipy octave octave-signal
set -euo pipefail
cd "$(dirname "$0")"
fresh=$(mktemp -d)
trap 'rm -rf "$fresh"' EXIT
cp ./*.py ./*.m "$fresh"
if [ $# -eq 0 ]; then set -- *.py *.m; fi
made=()
for script; do
  case $script in
    compare.py) continue ;;
    *.py) run=(/usr/bin/python3) ;;
    *.m) run=(octave-cli --quiet --no-gui --no-history --norc) ;;
    *) echo "$script: neither Python nor Octave; give the name of a script in this folder" >&2; exit 2 ;;
  esac
  if ! "${run[@]}" "$fresh/$script" >"$fresh/log" 2>&1; then
    cat "$fresh/log" >&2
    echo "$script fails" >&2
    exit 1
  fi
  made+=("${script%.*}.json")
done
/usr/bin/python3 compare.py "$fresh" "${made[@]}"
