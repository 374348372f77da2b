#!/usr/bin/env bash
# The long run: ten million mutated files through the eight readers, on one build and one seed. About an
# hour on one quiet core; a reader that fails leaves its input in fuzz/artifacts and ends the run.
set -euo pipefail
cd "$(dirname "$0")"
export CARGO_TARGET_DIR="${CARGO_TARGET_DIR:-$PWD/../target}"
seed="${1:-20261126}"

cargo build --release --locked --quiet -p spadework-fuzz --bin mill
# A copy, so that a build meanwhile does not change what is run.
mill=$(mktemp)
trap 'rm -f "$mill"' EXIT
cp "$CARGO_TARGET_DIR/release/mill" "$mill"
chmod +x "$mill"

feed() { "$mill" --reader "$1" --runs "$2" --seed "$seed"; }
feed text     600000
feed tables   800000
feed long     400000
feed pasted   600000
feed pdf      1200000
feed exchange 2500000
feed workbook 2500000
feed picture  1400000
echo "10,000,000 files read: each gave values or a sentence."
