#!/bin/sh
# Bring the system's packages that `make hardware` needs; say which, if it may not.
set -eu
missing=""
command -v ngspice >/dev/null || missing="$missing ngspice"
command -v openscad >/dev/null || missing="$missing openscad"
command -v xvfb-run >/dev/null || missing="$missing xvfb xauth"
[ -z "$missing" ] && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  apt-get update -qq
  # shellcheck disable=SC2086 (a list of words)
  apt-get install -y -qq --no-install-recommends $missing >/dev/null
else
  echo "make hardware needs:$missing. Install it, for example: sudo apt-get install$missing" >&2
  exit 1
fi
