#!/bin/sh
# Installs what the tests need beside Go: PostgreSQL, Chromium, nginx,
# systemd-analyze, a C compiler (for the race detector), zone data of release
# 2026f or later, and axe-core.
#
# As root on a Debian-like system it installs what is missing; elsewhere it
# names what is missing and stops. When everything is there it only looks and
# is done in a moment. A Debian package that starts a service is kept from
# starting it: tests start their own servers and end them.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
PATH="$PATH:/usr/sbin:/sbin"

# any NAME... succeeds if one of the commands exists.
any() {
	for name in "$@"; do
		command -v "$name" >/dev/null 2>&1 && return 0
	done
	return 1
}

# postgres succeeds if a server's own programs are there.
postgres() {
	for dir in /usr/lib/postgresql/*/bin; do
		[ -x "$dir/initdb" ] && [ -x "$dir/postgres" ] && return 0
	done
	any initdb && any postgres
}

# fresh_zones succeeds if the system knows that Winnipeg stays five hours behind
# after October 2026 (IANA zone data 2026f), or if its date can't be asked.
fresh_zones() {
	date -d '2026-12-02T01:00Z' +%H >/dev/null 2>&1 || return 0
	[ "$(TZ=America/Winnipeg date -d '2026-12-02T01:00Z' +%H)" = 20 ]
}

missing=
packages=
want() { # words for people, Debian's package
	missing="$missing
  $1 (Debian: $2)"
	packages="$packages $2"
}
postgres || want "PostgreSQL 15 or later, initdb and postgres" postgresql
any chromium chromium-browser google-chrome || want "Chromium" chromium
any nginx || want "nginx" nginx-light
any systemd-analyze || want "systemd-analyze" systemd
any gcc cc clang || want "a C compiler, for go test -race" "gcc libc6-dev"
fresh_zones || want "zone data 2026f or later" tzdata
any npm || want "npm, for the accessibility checker" npm

if [ -n "$packages" ]; then
	if [ "$(id -u)" != 0 ] || ! any apt-get; then
		echo "The tests need these, and they are not here:$missing" >&2
		echo "Install them, or run this as root on Debian." >&2
		exit 1
	fi
	echo "Installing:$packages"
	if [ ! -e /usr/sbin/policy-rc.d ]; then
		trap 'rm -f /usr/sbin/policy-rc.d' EXIT
		printf '#!/bin/sh\nexit 101\n' >/usr/sbin/policy-rc.d
		chmod 755 /usr/sbin/policy-rc.d
	fi
	export DEBIAN_FRONTEND=noninteractive
	apt-get update -q
	# shellcheck disable=SC2086 # one word a package
	apt-get install -q -y --no-install-recommends $packages
fi

# The lock file is newer than what npm noted of its last run, or npm never ran.
cd "$here/axe"
if [ ! -f node_modules/axe-core/axe.min.js ] ||
	[ package-lock.json -nt node_modules/.package-lock.json ]; then
	npm ci --no-audit --no-fund --ignore-scripts
fi
echo "Everything that the tests need is here."
