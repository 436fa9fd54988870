#!/bin/sh
# Prints how cgo is to be used on this machine, as settings of the environment: not at all without a
# C++ compiler or ALSA's headers, and with JACK where its headers are.
has() { echo "#include <$1>" | c++ -E -x c++ - >/dev/null 2>&1; }

if ! command -v cc >/dev/null || ! command -v c++ >/dev/null; then
	echo CGO_ENABLED=0
elif [ "$(uname -s)" = Linux ] && ! has alsa/asoundlib.h; then
	echo CGO_ENABLED=0
elif has jack/jack.h; then
	echo CGO_ENABLED=1 CGO_CXXFLAGS=-D__UNIX_JACK__ CGO_LDFLAGS=-ljack
else
	echo CGO_ENABLED=1
fi
