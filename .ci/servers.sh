#!/bin/sh
# Two CalDAV servers and a second, independent client, in an environment of their own at $AFTERPULL_SERVERS: the client replaces urllib3 for the
# whole of its environment. The tests start and stop the servers on loopback.
set -eu
place=${AFTERPULL_SERVERS:?set AFTERPULL_SERVERS to a folder for the servers}
[ -x "$place/bin/python" ] || "${PYTHON:-python3}" -m venv "$place"
"$place/bin/python" -m pip install --quiet "caldav>=3.6,<4" "radicale>=3.9,<4" "xandikos>=0.4.10,<0.5"
