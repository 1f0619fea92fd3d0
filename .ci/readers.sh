#!/bin/sh
# Puts the independent readers where the tests look for them, in the folder $AFTERPULL_READERS: of calendars ical.js and a small program on libical, of
# rule files a YAML language server, of a version that runs on the Node.js 18 of Debian 12.
# Needs npm, a C compiler, pkg-config and libical's headers (Debian: npm gcc pkg-config libical-dev); khal is taken from the PATH (Debian: khal).
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
folder=${AFTERPULL_READERS:?set AFTERPULL_READERS to a folder for the readers}
mkdir -p "$folder"
[ -d "$folder/node_modules/ical.js" ] || npm install --silent --no-fund --no-audit --prefix "$folder" ical.js@2
[ -d "$folder/node_modules/yaml-language-server" ] || npm install --silent --no-fund --no-audit --ignore-scripts --prefix "$folder" yaml-language-server@1.18.0
# shellcheck disable=SC2046  # the flags are several words
cc -O1 -Wall -o "$folder/libical_reader" "$here/tests/outputs/calendar/libical_reader.c" $(pkg-config --cflags --libs libical)
