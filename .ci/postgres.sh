#!/usr/bin/env bash
# Starts a PostgreSQL of its own on loopback, in a new folder and on a free port, and prints its address. Debian: postgresql.
# `bash .ci/postgres.sh PID` stops it and removes the folder once the process PID has ended; without PID it runs until it is stopped.
set -euo pipefail
programs=$(find /usr/lib/postgresql -maxdepth 2 -name bin 2>/dev/null | sort --version-sort | tail -1)
[ -n "$programs" ] || { echo "PostgreSQL is not installed (Debian: apt-get install postgresql)" >&2; exit 1; }
folder=$(mktemp --directory --tmpdir afterpull-postgres.XXXXXX)

as_server() { # the server refuses to run as root
  if [ "$(id -u)" = 0 ]; then (cd / && runuser --user postgres -- "$@"); else "$@"; fi
}
[ "$(id -u)" != 0 ] || chown postgres "$folder"

port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
as_server "$programs/initdb" --pgdata "$folder/cluster" --username postgres --auth trust --encoding UTF8 --locale C.UTF-8 >"$folder.log" 2>&1 || { cat "$folder.log" >&2; exit 1; }
as_server "$programs/pg_ctl" start --wait --silent --pgdata "$folder/cluster" --log "$folder/log" \
  --options "-c listen_addresses=127.0.0.1 -c port=$port -c unix_socket_directories=$folder -c max_connections=60" >&2

if [ -n "${1:-}" ]; then
  (
    while kill -0 "$1" 2>/dev/null; do sleep 1; done
    as_server "$programs/pg_ctl" stop --mode immediate --silent --pgdata "$folder/cluster"
    rm -rf "$folder" "$folder.log"
  ) </dev/null >/dev/null 2>&1 &
  disown
fi
echo "postgresql://postgres@127.0.0.1:$port/postgres"
