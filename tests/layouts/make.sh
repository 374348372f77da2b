#!/usr/bin/env bash
# The longer run: makes every report of tests/layouts/made anew and says which changed. Not part of
# `check`, since it needs a browser and an office suite. It writes nothing into `made` unless told:
#   tests/layouts/make.sh          compare
#   tests/layouts/make.sh --keep   compare, then keep the new files
set -euo pipefail
cd "$(dirname "$0")/../.."
export PYTHONDONTWRITEBYTECODE=1

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi
}

missing=()
command -v soffice >/dev/null 2>&1 || missing+=(libreoffice-calc libreoffice-writer)
BROWSER=${BROWSER:-$(command -v chromium || command -v chromium-browser || command -v google-chrome || true)}
[ -n "$BROWSER" ] || missing+=(chromium)
command -v python3 >/dev/null 2>&1 && python3 -c 'import ensurepip, venv' >/dev/null 2>&1 || missing+=(python3 python3-venv)
if [ ${#missing[@]} -gt 0 ]; then
  if ! command -v apt-get >/dev/null 2>&1; then
    echo "Making the reports needs: ${missing[*]}; install them with your system's package manager." >&2
    exit 1
  fi
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2
fi
export BROWSER=${BROWSER:-chromium}

venv=target/layouts-venv
mark="$venv/.made-$(cksum <tests/layouts/requirements.txt | cut -d' ' -f1)"
if [ ! -e "$mark" ]; then
  rm -rf "$venv"
  mkdir -p target
  python3 -m venv "$venv"
  "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/layouts/requirements.txt
  touch "$mark"
fi

fresh=$(mktemp -d)
trap 'rm -rf "$fresh"' EXIT
"$venv/bin/python" tests/layouts/make.py "$fresh"
"$venv/bin/python" tests/layouts/changed.py tests/layouts/made "$fresh" "${1:-}"
