#!/bin/sh
# Makes sure of the two things pip cannot bring: Python's venv module and Pango with HarfBuzz-Subset.
# Installs them where it may (root and apt); otherwise prints the exact command and stops.
set -eu
python=$1
command -v "$python" >/dev/null 2>&1 || { echo "No '$python' found. Install Python 3.11 or newer, or name one: make PYTHON=python3.12 ..."; exit 1; }
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
  echo "Python 3.11 or newer is needed; '$python' is $("$python" -V 2>&1). Name another: make PYTHON=python3.12 ..."; exit 1; }

missing=""
"$python" -c 'import ensurepip, venv' 2>/dev/null || missing="$missing python3-venv"
has_library() { "$python" - "$1" <<'PY'
import ctypes, sys
names = {"pango": ["libpango-1.0.so.0", "libpango-1.0.dylib"], "pangoft2": ["libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib"],
         "harfbuzz-subset": ["libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib"]}[sys.argv[1]]
for name in names + ["/opt/homebrew/lib/" + n for n in names] + ["/usr/local/lib/" + n for n in names]:
    try:
        ctypes.CDLL(name)
        sys.exit(0)
    except OSError:
        pass
sys.exit(1)
PY
}
has_library pango || missing="$missing libpango-1.0-0"
has_library pangoft2 || missing="$missing libpangoft2-1.0-0"
has_library harfbuzz-subset || missing="$missing libharfbuzz-subset0"
[ -n "$missing" ] || exit 0

if command -v apt-get >/dev/null 2>&1; then
  if [ "$(id -u)" = 0 ]; then
    echo "Installing$missing"
    DEBIAN_FRONTEND=noninteractive apt-get update -qq
    # shellcheck disable=SC2086
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $missing >/dev/null
    exit 0
  fi
  echo "Missing:$missing. Run this, then make again:"
  echo "  sudo apt-get install$missing"
elif command -v brew >/dev/null 2>&1; then
  echo "Missing:$missing. Run this, then make again:"
  echo "  brew install pango harfbuzz"
else
  echo "Missing:$missing. Install Pango 1.44 or newer with HarfBuzz-Subset through your system's package manager, then make again."
fi
exit 1
