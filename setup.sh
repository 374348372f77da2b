# Installs what building or testing needs. Sourced by ./spadework and ./check.
# shellcheck shell=bash

say() { printf '%s\n' "$*" >&2; }

# need COMMAND PACKAGE: makes sure COMMAND is there, through Debian's packages where it is not.
missing=()
need() {
  command -v "$1" >/dev/null 2>&1 || missing+=("$2")
}

# need_libclang: the solver's bindings are made with it when the program is built.
need_libclang() {
  local found folder
  # libclang-cpp is another library, which some machines have alone.
  found=$(for folder in /usr/lib* /usr/lib/*-linux-gnu /usr/lib*/llvm*/lib*; do
    compgen -G "$folder/libclang.so*" || compgen -G "$folder/libclang-[0-9]*.so*"
  done) || true
  [ -n "$found" ] || [ -n "${LIBCLANG_PATH:-}" ] || missing+=(libclang-dev)
}

install_missing() {
  [ "${#missing[@]}" -gt 0 ] || return 0
  if ! command -v apt-get >/dev/null 2>&1; then
    say "Spadework needs these programs first: ${missing[*]} (names as Debian packages). Install them with your system's package manager and run this again."
    exit 1
  fi
  say "Installing: ${missing[*]}"
  local sudo=()
  [ "$(id -u)" = 0 ] || sudo=(sudo)
  "${sudo[@]}" apt-get update -qq
  DEBIAN_FRONTEND=noninteractive "${sudo[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >&2
  missing=()
  hash -r
}

need_to_build() {
  need cmake cmake
  need c++ g++
  need make make
  need_libclang
  # Reads photos and scans of reports; the program runs without it and then says so.
  need tesseract tesseract-ocr
  [ -d assets ] && { need node nodejs; need npm npm; }
  if ! command -v cargo >/dev/null 2>&1; then
    [ -x "$HOME/.cargo/bin/cargo" ] && PATH="$HOME/.cargo/bin:$PATH"
  fi
  need cargo cargo
  install_missing
  new_enough_rust
}

# The edition and the libraries used need this compiler or a newer one.
new_enough_rust() {
  local found
  found=$(cargo --version | cut -d' ' -f2)
  if [ "$(printf '%s\n1.92.0\n' "$found" | sort -V | head -1)" != 1.92.0 ]; then
    say "Spadework needs Rust 1.92 or newer and found $found. Install it with rustup (the package 'rustup' on Debian 13 and later, then 'rustup default stable'), and run this again."
    exit 1
  fi
}

build_assets() {
  [ -f assets/package.json ] || return 0
  local mark
  mark=$(find assets/package-lock.json assets/build.mjs assets/scripts -type f | LC_ALL=C sort | xargs cat | cksum | cut -d' ' -f1)
  [ -f "assets/dist/.made-$mark" ] && return 0
  say "Bundling the fonts and scripts of the pages"
  (cd assets && npm ci --no-audit --no-fund --loglevel=error && npm run --silent build) || {
    say "The fonts and scripts of the pages could not be fetched or built; see the lines above, and run this again with a connection to npm."
    exit 1
  }
  touch "assets/dist/.made-$mark"
}
