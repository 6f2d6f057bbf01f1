#!/bin/sh
# Makes sure of the one program that only tests need: LibreOffice Calc, which fills forms in and writes its own workbooks.
# Installs it where it may (root and apt); otherwise the tests that need it are skipped, and the last line of the run says
# so. `make demo` never comes here.
set -u
command -v soffice >/dev/null 2>&1 && exit 0
[ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1 || { echo "LibreOffice Calc (soffice) is not here: the tests that need it are skipped."; exit 0; }
export DEBIAN_FRONTEND=noninteractive
apt-get update -qq
# The package without windows is the smaller; older releases have only the other.
for package in libreoffice-calc-nogui libreoffice-calc; do
  if apt-cache show "$package" >/dev/null 2>&1; then
    echo "Installing $package (for tests)"
    apt-get install -y -qq --no-install-recommends "$package" >/dev/null && exit 0
  fi
done
echo "LibreOffice Calc could not be installed: the tests that need it are skipped."
exit 0
