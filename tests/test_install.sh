#!/bin/sh
# An installed library is found through pkg-config and builds a small program, as C and
# as C++ against the shared and as C against the static library; models, desktop files, manual
# and completion are where others look for them, and the two know every command.
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
program="$there/bin/omogon"
# Where the system would find the library and the data of an installed program.
LD_LIBRARY_PATH="$(flags --variable=libdir)"
OMOGON_MODELS="$there/share/omogon/models"
LC_ALL=C
export LD_LIBRARY_PATH OMOGON_MODELS LC_ALL
commands=$("$program" --help | sed -nE 's/^  ([a-z]+)  +.*/\1/p')
[ -n "$commands" ]

# A page for every command, which a formatter has nothing to say about and which shows every
# option that the command knows.
for command in $commands; do
    page="$there/share/man/man1/omogon-$command.1"
    groff -man -ww -Tascii -P-cbou "$page" >"$place/text" 2>"$place/faults"
    "$program" "$command" --help | sed -nE 's/^  (-[a-z], )?(--[a-z-]+).*/\2/p' |
        while read -r option; do
            grep -q -e "$option" "$place/text" || echo "$page lacks $option"
        done >>"$place/faults"
    if [ -s "$place/faults" ]; then
        cat "$place/faults"
        exit 1
    fi
done
groff -man -ww -Tascii "$there/share/man/man1/omogon.1" 2>&1 >/dev/null | grep . && exit 1

# offered WORDS...: what is offered for the last one.
offered() {
    bash -c '. "$0"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _omogon
        printf "%s\n" "${COMPREPLY[@]}"' \
        "$there/share/bash-completion/completions/omogon" "$program" "$@"
}
offers() {
    want=$1
    shift
    offered "$@" | grep -qxe "$want" || {
        echo "\"$want\" is not offered for \"$*\""
        exit 1
    }
}
for command in $commands; do
    offers "$command" "${command%?}"
done
offers --movement trace --mo
offers supine trace --position s
offers left measure -s l
offers right trace --side = r
offers behind measure --from b
[ -z "$(offered trace --side x)" ]
echo "an installed library builds a program, shared and static"
