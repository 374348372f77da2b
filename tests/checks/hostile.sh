#!/usr/bin/env bash
# Every reader fed with mutated files for a few seconds each; the long run is in fuzz/README.md.
set -euo pipefail
cd "$(dirname "$0")/../.."

export CARGO_TARGET_DIR="${CARGO_TARGET_DIR:-$PWD/target}"
# With the features of the tests: anything less builds the libraries anew.
cargo build --release --locked --quiet --workspace --all-targets
said=$(cd fuzz && "$CARGO_TARGET_DIR/release/mill" --seconds 3)
echo "$said"
# A reader that was not fed, or hardly, is no success.
echo "$said" | awk '$3 == "runs," { n++; if ($2 < 50) slow = 1 } END { exit !(n >= 8 && !slow) }' || {
  echo "Not every reader was fed with at least 50 files." >&2
  exit 1
}
