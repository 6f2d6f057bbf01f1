#!/bin/sh
# Makes sure of the programs that only tests need: LibreOffice Calc, which fills forms in and writes its own workbooks, a
# C compiler, for the library that makes calls on files fail, and PostgreSQL, for stores that several offices share. Installs them where it may (root and apt); otherwise
# the tests that need one are skipped, and the last line of the run says so. `make demo` never comes here.
set -u
lacking=""
command -v soffice >/dev/null 2>&1 || lacking="$lacking calc"
command -v cc >/dev/null 2>&1 || command -v gcc >/dev/null 2>&1 || lacking="$lacking compiler"
set -- /usr/lib/postgresql/*/bin/initdb
[ -x "$1" ] || command -v initdb >/dev/null 2>&1 || lacking="$lacking server"
[ -z "$lacking" ] && exit 0
[ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1 || { echo "Not here:$lacking. The tests that need it are skipped."; exit 0; }
export DEBIAN_FRONTEND=noninteractive
apt-get update -qq

# The first of these packages that there is.
install() {
  for package in "$@"; do
    if apt-cache show "$package" >/dev/null 2>&1; then
      echo "Installing $package (for tests)"
      apt-get install -y -qq --no-install-recommends "$package" >/dev/null && return 0
    fi
  done
  echo "$1 could not be installed: the tests that need it are skipped."
}

for one in $lacking; do
  case $one in
    # The package without windows is the smaller; older releases have only the other.
    calc) install libreoffice-calc-nogui libreoffice-calc ;;
    # With the headers of the C library, which the compiler alone does not bring.
    # The server's programs; a server that Debian's package starts by itself is not used.
    server) install postgresql ;;
    compiler) install build-essential gcc ;;
  esac
done
exit 0
