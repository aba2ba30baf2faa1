#!/bin/sh
# An installed library is found through pkg-config and builds a small program, as C and
# as C++ against the shared and as C against the static library; models and desktop files are
# where others look for them.
#   test_install.sh ROOT BUILD_DIRECTORY PREFIX
# EXTRA_FLAGS: what the library itself was compiled with, e.g. a sanitizer.
set -eu
root=$1
build=$2
prefix=$3
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT

meson install -C "$build" --no-rebuild --destdir "$place" >"$place/log" 2>&1 || {
    cat "$place/log"
    exit 1
}
there="$place$prefix"
description=$(find "$there" -name omogon.pc)
[ -n "$description" ] || {
    echo "no omogon.pc below $prefix"
    exit 1
}

flags() {
    PKG_CONFIG_PATH=$(dirname "$description") pkg-config --define-variable=prefix="$there" \
        "$@" omogon
}

want='the arm is 90.0 degrees from the trunk'
run() {
    got=$(LD_LIBRARY_PATH="$(flags --variable=libdir)" "$1")
    [ "$got" = "$want" ] || {
        echo "$1 said \"$got\" instead of \"$want\""
        exit 1
    }
}

# Word splitting is wanted: one argument a flag.
# shellcheck disable=SC2046,SC2086
${CC:-cc} ${EXTRA_FLAGS:-} -std=c17 -Wall -Werror "$root/tests/example.c" \
    $(flags --cflags --libs) -o "$place/shared"
run "$place/shared"

# The same from C++.
# shellcheck disable=SC2046,SC2086
${CXX:-c++} ${EXTRA_FLAGS:-} -std=c++17 -Wall -Werror -x c++ "$root/tests/example.c" \
    $(flags --cflags --libs) -o "$place/plusplus"
run "$place/plusplus"

# Its own code from the archive, other libraries as the system has them: not every system
# ships everything FFmpeg would need for a wholly static program.
archive="$(flags --variable=libdir)/libomogon.a"
# shellcheck disable=SC2046,SC2086
${CC:-cc} ${EXTRA_FLAGS:-} -std=c17 -Wall -Werror "$root/tests/example.c" \
    $(flags --cflags) "$archive" \
    $(pkg-config --libs $(flags --print-requires-private)) -lm -pthread -o "$place/static"
if ldd "$place/static" | grep -q libomogon; then
    echo "the static program still asks for the shared library"
    exit 1
fi
run "$place/static"

for file in include/omogon/status.h share/applications/omogon.desktop \
    share/icons/hicolor/scalable/apps/omogon.svg share/omogon/models \
    share/locale/de/LC_MESSAGES/omogon.mo; do
    [ -e "$there/$file" ] || {
        echo "not installed: $file"
        exit 1
    }
done
echo "an installed library builds a program, shared and static"
