#!/usr/bin/env bash
# The page is tested in Debian's Chromium: install it where it is missing and may be installed, else say how.
set -eu
command -v chromium >/dev/null 2>&1 && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo 'Installing Chromium for the test of the page (apt-get install chromium) ...'
  apt-get update -qq >/dev/null && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null
else
  echo 'The test of the page needs Chromium: install it with  sudo apt-get install chromium' >&2
  exit 1
fi
