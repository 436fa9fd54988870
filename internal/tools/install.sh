#!/bin/bash
# Installs by apt what is missing to build ("build"), to build with engraved music in the pages ("pages"), or
# to build and test ("test"). It does nothing where nothing is missing. Where apt is absent or fails it says
# what is lacking; the build then does without MIDI ports, and tests that lack a tool are skipped and say so.
set -euo pipefail

if ! command -v go >/dev/null; then
	echo "Go is not installed: install Go 1.26 or later first, see README.md" >&2
	exit 1
fi

missing=()
command_or() { command -v "$1" >/dev/null || missing+=("${@:2}"); }
header_or() { echo "#include <$1>" | c++ -E -x c++ - >/dev/null 2>&1 || missing+=("$2"); }

if [ "$(uname -s)" = Linux ]; then
	command_or cc gcc libc6-dev
	[ -e /etc/ssl/certs/ca-certificates.crt ] || missing+=(ca-certificates) # to fetch modules
	command_or c++ g++
	header_or alsa/asoundlib.h libasound2-dev
	header_or jack/jack.h libjack-jackd2-dev
	[ "$1" = build ] || command_or npm npm nodejs # for the engraver of the pages
	if [ "$1" = test ]; then
		command_or jackd jackd2
		command_or tmux tmux
		command_or midicsv midicsv
		[ -n "$(command -v postgres; ls /usr/lib/postgresql/*/bin/postgres 2>/dev/null)" ] || missing+=(postgresql)
		command_or xmllint libxml2-utils
		command_or node nodejs
		[ -n "$(command -v chromium chromium-browser google-chrome)" ] || missing+=(chromium)
		command_or python3 python3
		/usr/bin/python3 -c 'import mido' 2>/dev/null || missing+=(python3-mido)
	fi
else
	command_or c++ "a C++ compiler"
	[ "$1" = build ] || command_or node "Node.js and npm"
fi
[ ${#missing[@]} -gt 0 ] || exit 0

lacking() {
	echo "not installed: ${missing[*]} ($1)" >&2
	if [ "${CI:-}" = true ]; then exit 1; fi
	exit 0
}
command -v apt-get >/dev/null || lacking "there is no apt-get here: install them by hand"
root=()
if [ "$(id -u)" != 0 ]; then
	command -v sudo >/dev/null || lacking "run as root: apt-get install ${missing[*]}"
	root=(sudo)
fi
echo "installing ${missing[*]}"
apt() { "${root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq -o Dpkg::Use-Pty=0 "$@" </dev/null >/dev/null; }
apt update || echo "apt-get update failed: trying with the lists there are" >&2
apt install --no-install-recommends "${missing[@]}" -y || lacking "apt-get could not install them"
