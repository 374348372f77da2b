#!/usr/bin/env bash
# Plans, calendar, units and molar masses against independent Python libraries.
set -euo pipefail
cd "$(dirname "$0")/../.."

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi
}

if ! command -v python3 >/dev/null 2>&1 || ! python3 -c 'import ensurepip, venv' >/dev/null 2>&1; then
  if ! command -v apt-get >/dev/null 2>&1; then
    echo "The outside checks need Python 3 with venv; install them with your system's package manager." >&2
    exit 1
  fi
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends python3 python3-venv >&2
fi

venv=target/outside-venv
mark="$venv/.made-$(cat tests/outside/requirements*.txt | cksum | cut -d' ' -f1)"
if [ ! -e "$mark" ]; then
  rm -rf "$venv"
  mkdir -p target
  python3 -m venv "$venv"
  "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/outside/requirements.txt
  "$venv/bin/pip" install --quiet --disable-pip-version-check --no-deps -r tests/outside/requirements-data.txt
  touch "$mark"
fi

# All at once and with the features of the tests: anything less builds the libraries anew.
cargo build --release --locked --quiet --workspace --all-targets
shown=$(mktemp -d)
trap 'rm -rf "$shown"' EXIT
built="${CARGO_TARGET_DIR:-target}/release/examples"
"$built/dump_farms" >"$shown/farms.json"
"$built/dump_units" >"$shown/units.json"
"$built/dump_outlines" >"$shown/outlines.csv"
"$built/dump_drawn" >"$shown/drawn.csv"
"$built/dump_statistics" >"$shown/statistics.csv"
"$built/dump_response" >"$shown/response.csv"
"$built/dump_walks" >"$shown/walks.csv"
"$built/dump_calendar" "$shown"

"$venv/bin/python" tests/outside/season_optimum.py "$shown/farms.json"
"$venv/bin/python" tests/outside/units.py "$shown/units.json"
"$venv/bin/python" tests/outside/molar.py reference/materials/molar_masses.csv
"$venv/bin/python" tests/outside/outlines.py "$shown/outlines.csv"
"$venv/bin/python" tests/outside/outlines.py "$shown/drawn.csv"
"$venv/bin/python" tests/outside/statistics.py "$shown/statistics.csv"
"$venv/bin/python" tests/outside/response.py "$shown/response.csv"
"$venv/bin/python" tests/outside/walks.py "$shown/walks.csv"
"$venv/bin/python" tests/outside/spread.py "$built/dump_spread" "$shown"
"$venv/bin/python" tests/outside/phone_calendar.py "$shown"
