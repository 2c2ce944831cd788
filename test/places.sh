#!/usr/bin/env bash
# `npm start` in places where programs often fail: a path with spaces and letters beyond ASCII, a user who is not root, a home
# folder that cannot be written, no network once installed, an old pnpm on the PATH, NO_COLOR, TERM=dumb, no terminal, LANG=C.
#
#   bash test/places.sh          some minutes; needs git, npm, and root for the two places that other users stand for
#
# Prints one line per place, and ends with 1 when any of them failed.
set -u
repository=$(cd "$(dirname "$0")/.." && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
chmod 755 "$scratch"
clone="$scratch/Sterne & Ringe – ünïcode"
git clone --quiet "$repository" "$clone"
failed=0

# try NAME COMMAND...: the command must end with 0 and print a verdict.
try() {
  local name=$1
  shift
  if "$@" >"$scratch/out" 2>"$scratch/err" </dev/null && grep -q '^KEEP\.\|^TRIM:\|^REFOCUS\.' "$scratch/out"; then
    echo "passed  $name"
  else
    echo "FAILED  $name"
    tail -n 5 "$scratch/out" "$scratch/err"
    failed=1
  fi
}
start=(npm --silent start -- --ring 22 --aperture 120 --focal-length 840 --pixel 2.9 --magnitude 13 --trials 64)
cd "$clone" || exit 1

try 'a path with spaces and letters beyond ASCII, no terminal, fresh clone' "${start[@]}"
git -C "$clone" status --porcelain | grep . && { echo 'FAILED  leaves files that git sees'; failed=1; }
try 'NO_COLOR and TERM=dumb' env NO_COLOR=1 TERM=dumb "${start[@]}"
try 'LANG=C' env -u LC_CTYPE LC_ALL=C LANG=C "${start[@]}"
LC_ALL=C grep -q '[^ -~]' "$scratch/out" && { echo 'FAILED  LANG=C prints letters beyond ASCII'; failed=1; }

mkdir "$scratch/old"
printf '#!/bin/sh\necho "an old pnpm was run" >&2\nexit 1\n' >"$scratch/old/pnpm"
chmod 755 "$scratch/old/pnpm"
touch "$clone/pnpm-lock.yaml"
try 'an old pnpm on the PATH, installing again' env PATH="$scratch/old:$PATH" "${start[@]}"

if unshare --net true 2>/dev/null; then
  try 'no network once installed' unshare --net "${start[@]}"
else
  echo 'skipped no network (needs the right to unshare)'
fi

if [ "$(id -u)" = 0 ] && command -v setpriv >/dev/null; then
  user=(setpriv --reuid 65534 --regid 65534 --clear-groups)
  mkdir "$scratch/home" "$scratch/sealed"
  chown -R 65534:65534 "$clone" "$scratch/home"
  chmod 555 "$scratch/sealed"
  try 'a user who is not root' env HOME="$scratch/home" "${user[@]}" "${start[@]}"
  rm -rf "$clone/node_modules" "$clone"/*/node_modules "$clone"/packages/*/node_modules
  try 'a home folder that cannot be written, installing' env HOME="$scratch/sealed" "${user[@]}" "${start[@]}"
  try 'a home folder that cannot be written, installed' env HOME="$scratch/sealed" "${user[@]}" "${start[@]}"
else
  echo 'skipped other users (needs root and setpriv)'
fi
exit "$failed"
