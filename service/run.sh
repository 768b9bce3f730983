#!/bin/sh
# Sets the service up, starts it on this machine, posts the demo case and prints the brief.
#
#   sh service/run.sh [--port N] [--once]
#
# --port N   listen on this port (default: APPROACH_PORT, else 8080)
# --once     stop after the brief
set -eu

root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
. "$root/service/environment.sh"

case_file=decision/data/cases/gear-stuck.json
port=${APPROACH_PORT:-8080}
once=no
while [ $# -gt 0 ]; do
    case $1 in
        --once) once=yes ;;
        --port) [ $# -gt 1 ] || die "--port needs a number"; port=$2; shift ;;
        --port=*) port=${1#--port=} ;;
        -h | --help) sed -n '2,7s/^# \{0,1\}//p' "$0"; exit 0 ;;
        *) die "unknown option $1; see --help" ;;
    esac
    shift
done
case $port in '' | *[!0-9]*) die "--port needs a number, not '$port'" ;; esac

make_environment
install_requirements service/requirements.txt

cd "$root"
PYTHONPATH=$root
APPROACH_HOST=127.0.0.1
APPROACH_PORT=$port
export PYTHONPATH APPROACH_HOST APPROACH_PORT
address=http://127.0.0.1:$port

"$python" -m service.demo check-port "$port" \
    || die "port $port is in use; choose another one with --port N"

mkdir -p var
log=var/service.log
"$python" -m service >"$log" 2>&1 &
server=$!
stop() {
    trap - EXIT INT TERM HUP
    kill "$server" 2>/dev/null || :
    wait "$server" 2>/dev/null || :
}
trap stop EXIT
trap 'stop; exit 130' INT
trap 'stop; exit 143' TERM HUP

if ! "$python" -m service.demo wait "$address" "$server"; then
    tail -n 20 "$log" >&2
    die "the service did not start; its log is $log"
fi
"$python" -m service.demo post "$address" "$case_file"
[ "$once" = yes ] && exit 0

cat <<EOF

The service listens on $address (log: $log).
The same again, from this folder:

  curl -s -H 'Content-Type: application/json' -H 'Accept: text/plain' --data-binary @$case_file $address/v1/decisions

Ctrl-C stops it.
EOF
wait "$server"
