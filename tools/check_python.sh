#!/bin/sh
# Says in one line what is missing before a virtual environment can be made.
set -eu
python="${1:-python3}"
command -v "$python" >/dev/null 2>&1 || {
    echo "feltload: $python not found; install Python 3.11 or newer, or run: make PYTHON=/path/to/python" >&2
    exit 2
}
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
    echo "feltload: $("$python" --version) is too old; install Python 3.11 or newer, or run: make PYTHON=/path/to/python" >&2
    exit 2
}
if ! "$python" -c 'import ensurepip, venv' >/dev/null 2>&1; then
    # Debian and its kin split these modules off into a package of their own.
    version=$("$python" -c 'import sys; print("python%d.%d-venv" % sys.version_info[:2])')
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$version" >/dev/null
    else
        echo "feltload: $python cannot make virtual environments; install the package $version (or your system's equivalent)" >&2
        exit 2
    fi
fi
