#!/usr/bin/env bash
# Writes responses.flac and positions.csv from the file of responses that Debian's libmysofa1 installs, or, as
# "make.sh check", reports whether they agree with that file.
# Needs mysofa2json (Debian: libmysofa-utils), python3 and sox.
set -euo pipefail
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

source=$(dpkg -L libmysofa1 | grep '/default\.sofa$')
mysofa2json "$source" | python3 extract.py "$work"

raw=(-t raw -e signed-integer -b 16 -L -c 2 -r 44100)
case "${1:-}" in
check)
  sox -D responses.flac "${raw[@]}" - | cmp - "$work/responses.raw"
  cmp positions.csv "$work/positions.csv"
  echo "testdata/manikin holds what $source holds"
  ;;
"")
  sox -D "${raw[@]}" "$work/responses.raw" -C 8 responses.flac
  mv "$work/positions.csv" positions.csv
  ;;
*)
  echo "usage: make.sh [check]" >&2
  exit 2
  ;;
esac
