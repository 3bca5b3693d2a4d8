#!/usr/bin/env bash
# Installs the system's packages that some tests need, where it may; quick when they are there.
# Tests that miss theirs are skipped with a sentence.
set -euo pipefail

need() {
  local program=$1
  shift
  command -v "$program" >/dev/null && return
  missing+=("$@")
}

missing=()
need chromium chromium   # reports, looked at in a real browser
need java default-jre-headless   # the checker of the reports' HTML
need ngspice ngspice     # the gauge's lines, simulated
need openscad openscad   # a printed part
# an index that shops share, on a real server; Debian keeps the server's programs off the PATH
command -v postgres >/dev/null || compgen -G '/usr/lib/postgresql/*/bin/postgres' >/dev/null \
  || missing+=(postgresql)

# The W3C's HTML checker, from the npm registry; its test is skipped where npm is missing.
VNU=vnu-jar@26.9.27
checker=$(dirname "$0")/../.venv/checker
if command -v npm >/dev/null && ! [ -e "$checker/node_modules/vnu-jar/package.json" ]; then
  npm install --silent --no-audit --no-fund --ignore-scripts --prefix "$checker" "$VNU" >/dev/null \
    || echo "The HTML checker could not be installed. Its test will be skipped."
fi

[ ${#missing[@]} -gt 0 ] || exit 0
if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null; then
  echo "Not installed: ${missing[*]}. Their tests will be skipped."
  exit 0
fi
export DEBIAN_FRONTEND=noninteractive
apt-get update -qq
apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
