#!/usr/bin/env bash
# Plans the invented farm's 14 blocks five times and prints the seconds of each, and the median.
set -euo pipefail
cd "$(dirname "$0")/.."
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
book="$folder/farm.book"
./spadework new "$book" --name "Pipit Lane" --organic --region "New Jersey" --ground demo/ground.csv >/dev/null
./spadework import "$book" demo/soil_report.csv --match "Tunnel one=Tunnel 1" >/dev/null
for _ in 1 2 3 4 5; do
  ./spadework plan "$book" --usual --json | sed -n 's/^    "seconds": \([0-9.]*\),*$/\1/p' | tail -1
done | sort -n | tee "$folder/seconds"
echo "median $(sed -n 3p "$folder/seconds") s"
