#!/usr/bin/env bash
# Every dependency's licence must be one that may ship with this program.
set -euo pipefail
cd "$(dirname "$0")/../.."
cargo metadata --format-version 1 --locked | python3 tests/checks/licences.py tests/checks/licences-allowed.txt
