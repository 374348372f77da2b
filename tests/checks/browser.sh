#!/usr/bin/env bash
# A grower's journeys through the pages in a real browser.
set -euo pipefail
cd "$(dirname "$0")/../.."
. ./setup.sh

need_to_build
need node nodejs
need npm npm
need pdftotext poppler-utils
need certutil libnss3-tools
[ -n "${CHROMIUM:-}" ] || need chromium chromium
install_missing
build_assets
# With the features of the tests: anything less builds the libraries anew.
cargo build --release --locked --quiet --workspace --all-targets

cd tests/browser
mark="node_modules/.made-$(cat package.json package-lock.json | cksum | cut -d' ' -f1)"
if [ ! -e "$mark" ]; then
  npm ci --no-audit --no-fund --silent
  touch "$mark"
fi

said=$(mktemp)
trap 'rm -f "$said"' EXIT
failed=0
node --test --test-reporter=tap journeys/*.test.mjs >"$said" || failed=$?
count() { sed -n "s/^# $1 \([0-9]*\)$/\1/p" "$said"; }
if [ "$failed" != 0 ] || [ "$(count fail)" != 0 ] || [ "$(count cancelled)" != 0 ]; then
  cat "$said"
  echo "Browser journeys: $(count fail) of $(count tests) failed." >&2
  exit 1
fi
# Journeys that were not found or not run are no success.
[ "$(count pass)" -ge 30 ] || { cat "$said"; echo "Only $(count pass) browser journeys ran." >&2; exit 1; }
echo "Browser journeys: $(count pass) passed."
