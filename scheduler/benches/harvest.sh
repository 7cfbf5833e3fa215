#!/bin/sh
# Times the forecast and a vectorised NumPy that makes the same draws, and prints how many times faster the forecast is.
# PYTHON may name an interpreter that has NumPy.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
ours=$(cd "$here/.." && cargo bench --quiet --bench harvest)
theirs=$("${PYTHON:-python3}" "$here/harvest_numpy.py")
printf '%s\n%s\n' "$ours" "$theirs"
printf '%s\n%s\n' "$ours" "$theirs" |
    awk '/^forecast_/ { ours = $2 } /^numpy_/ { theirs = $2 } END { printf "ratio %.1f\n", theirs / ours }'
