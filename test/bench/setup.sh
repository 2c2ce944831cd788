#!/bin/bash
# Installs what the references of the bench need: a C compiler, the GNU Scientific Library, numpy and scipy.
# Where it may not install, it says what is missing.
set -u

packages=(gcc libgsl-dev python3-numpy python3-scipy)
missing=()
for package in "${packages[@]}"; do
  dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package")
done

if [ ${#missing[@]} -eq 0 ]; then
  echo "all there: ${packages[*]}"
elif [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "${missing[@]}"
else
  echo "missing: ${missing[*]}" >&2
  echo "as root on Debian or a kin of it: apt-get install ${missing[*]}" >&2
  exit 1
fi
