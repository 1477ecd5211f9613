#!/bin/sh
# Brings the programs that some tests drive: a private D-Bus (Bluetooth tests) and a browser with its driver (pages).
# With apt and root they are installed; elsewhere one line says what to install, and the tests that need them
# skip loudly. Where tests are the gate (CI=true) it fails. The same names are in tests/support/needs.py.
set -eu
missing=""
need() { command -v "$1" >/dev/null 2>&1 || missing="$missing $2"; }
need dbus-daemon dbus
need chromium chromium
need chromedriver chromium-driver
[ -n "$missing" ] || exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "feltload: installing for the tests:$missing"
    # shellcheck disable=SC2086
    if apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null; then
        exit 0
    fi
    echo "feltload: could not install:$missing; the tests that need them are skipped" >&2
else
    echo "feltload: not installed:$missing; install them with your package manager, else the tests that need them are skipped" >&2
fi
[ "${CI:-}" != true ]
