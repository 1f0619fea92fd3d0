#!/bin/sh
# Puts the independent calendar readers where the tests look for them: ical.js and a small program on libical, in the folder $AFTERPULL_READERS.
# Needs npm, a C compiler, pkg-config and libical's headers (Debian: npm gcc pkg-config libical-dev); khal is taken from the PATH (Debian: khal).
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
folder=${AFTERPULL_READERS:?set AFTERPULL_READERS to a folder for the readers}
mkdir -p "$folder"
[ -d "$folder/node_modules/ical.js" ] || npm install --silent --no-fund --no-audit --prefix "$folder" ical.js@2
# shellcheck disable=SC2046  # the flags are several words
cc -O1 -Wall -o "$folder/libical_reader" "$here/tests/outputs/calendar/libical_reader.c" $(pkg-config --cflags --libs libical)
