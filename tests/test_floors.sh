#!/bin/sh
# What a compiler does not see: floors include downward only, folders on one floor do not
# see each other, the simulated camera and the measuring side share nothing, OpenCV and
# SDL stay where they belong, no path of one machine is in the tree, and every public
# header stands alone.
#   test_floors.sh ROOT
# First it plants each fault in a small tree and looks for it, then it checks ROOT.
set -eu
root=$1
here=$(mktemp -d)
trap 'rm -rf "$here"' EXIT

# Folder and floor.
floors='base 0
numeric 1
picture 1
layout 1
bridge 1
vision 2
source 2
motion 2
record 3
draw 3
programme 4
show 5
app 6'

# Folder and the public headers it implements.
headers='base status log models text csv files clock words
numeric geometry filter circle most_probable lens budget segmented trend change agreement components smoothness
picture picture
layout layout body
vision vision
motion motion live rise sides pendulum stay notation desk analysis
source source simulated clip_writer
record record tables progress series edit overview reference extract
programme programme care session
draw draw placement breath_line month_line chart arm_figure'

# check_includes TREE: one line a fault.
check_includes() {
    (
        cd "$1"
        find src include tests -type f \( -name '*.[ch]' -o -name '*.cpp' \) \
            -exec grep -nHE '^[[:space:]]*#[[:space:]]*include' {} + || true
    ) |
        awk -v floors="$floors" -v headers="$headers" -v tree="$1" '
        BEGIN {
            n = split(floors, line, "\n")
            for (i = 1; i <= n; i++) { split(line[i], w, " "); floor[w[1]] = w[2] }
            n = split(headers, line, "\n")
            for (i = 1; i <= n; i++) {
                m = split(line[i], w, " ")
                for (j = 2; j <= m; j++) home[w[j]] = w[1]
            }
            n = split("assert complex ctype errno float inttypes limits math stdarg " \
                      "stdbool stddef stdint stdio stdlib string time", w, " ")
            for (i = 1; i <= n; i++) standard[w[i] ".h"] = 1
        }
        function bad(text) { print file ":" number ": " text }
        {
            file = $0; sub(/:.*/, "", file)
            rest = substr($0, length(file) + 2)
            number = rest; sub(/:.*/, "", number)
            quoted = match(rest, /"[^"]*"/)
            if (!quoted && !match(rest, /<[^>]*>/)) next
            target = substr(rest, RSTART + 1, RLENGTH - 2)

            if (target ~ /^(opencv|SDL)/ &&
                file !~ /^(tests\/bench|src\/bridge|src\/show|src\/app)\//)
                bad(target " belongs to the bridge, the window and the benchmarks alone")

            split(file, part, "/")
            public = (part[1] == "include")
            if (part[1] == "tests") next
            if (public) {
                name = part[3]; sub(/\.h$/, "", name)
                own = home[name]
                if (own == "") { bad("no folder is known for this header"); next }
            } else {
                own = part[2]
                if (!(own in floor)) { bad("no floor is known for this folder"); next }
            }

            if (target ~ /^omogon\//) {
                name = target; sub(/^omogon\//, "", name); sub(/\.h$/, "", name)
                theirs = home[name]
                if (theirs == "") { bad("no folder is known for " target); next }
            } else if (public) {
                if (!(target in standard))
                    bad("a public header includes standard headers and ours, not " target)
                next
            } else if (!quoted) {
                next
            } else if (target ~ /\//) {
                theirs = target; sub(/\/.*/, "", theirs)
                if (theirs == "..") { bad("no way up by " target); next }
                if (!(theirs in floor)) {
                    # A folder within the own one, e.g. show/screen.
                    theirs = own
                }
            } else {
                theirs = own
            }
            if (theirs != own && floor[theirs] >= floor[own])
                bad(own " (floor " floor[own] ") includes " target " of " theirs \
                    " (floor " floor[theirs] ")")
            if (file ~ /^src\/source\/simulated/ && (theirs == "motion" || theirs == "vision"))
                bad("the simulated camera knows nothing of the measuring side")
            if ((own == "vision" || own == "motion") && target ~ /simulated/)
                bad("the measuring side never sees the simulated camera")
        }'
}

# check_paths TREE: text that names a place on one machine. (Spelt so that this file
# passes.)
check_paths() {
    (
        cd "$1"
        find . \( -name .git -o -path './build*' -o -name __pycache__ \) -prune -o \
            -type f -exec grep -nIHE "(^|[^A-Za-z0-9._-])/(wor[k]|far[m]|tm[p])/" {} + || true
    )
}

# check_alone TREE: every public header by itself, twice, in C17 and C++17, where its
# functions have to stay C functions.
check_alone() {
    for header in "$1"/include/omogon/*.h; do
        name=omogon/$(basename "$header")
        grep -q '^extern "C" {' "$header" || echo "$name is not extern \"C\" for C++"
        printf '#include "%s"\n#include "%s"\n' "$name" "$name" >"$here/alone.c"
        cp "$here/alone.c" "$here/alone.cpp"
        ${CC:-cc} -std=c17 -Wall -Wextra -Wpedantic -Werror -fsyntax-only \
            -I"$1/include" "$here/alone.c" >"$here/said" 2>&1 ||
            echo "$name does not compile alone in C17: $(grep -m1 error "$here/said")"
        ${CXX:-c++} -std=c++17 -Wall -Wextra -Wpedantic -Werror -fsyntax-only \
            -I"$1/include" "$here/alone.cpp" >"$here/said" 2>&1 ||
            echo "$name does not compile alone in C++17: $(grep -m1 error "$here/said")"
    done
}

check_tree() {
    check_includes "$1"
    check_paths "$1"
    check_alone "$1"
}

# clean: a tree without a fault.
clean() {
    tree="$here/planted"
    rm -rf "$tree"
    mkdir -p "$tree/src/base" "$tree/include/omogon" "$tree/tests"
    cat >"$tree/include/omogon/status.h" <<'EOF'
#ifndef OMOGON_STATUS_H
#define OMOGON_STATUS_H
#ifdef __cplusplus
extern "C" {
#endif
enum omo_status { OMO_OK };
#ifdef __cplusplus
}
#endif
#endif
EOF
    printf '#include "omogon/status.h"\n' >"$tree/src/base/status.c"
}

# plant CHECK NAME FILE LINE: that check finds the fault of this one line in a clean tree.
plant() {
    clean
    mkdir -p "$(dirname "$tree/$3")"
    printf '%s\n' "$4" >"$tree/$3"
    if [ -z "$("$1" "$tree")" ]; then
        echo "$1 does not find: $2"
        exit 1
    fi
}

clean
if [ -n "$(check_tree "$tree")" ]; then
    check_tree "$tree"
    echo "the checker finds the above in a clean tree"
    exit 1
fi
plant check_includes 'an include upward' src/base/a.c '#include "omogon/record.h"'
plant check_includes 'a private header of a higher floor' src/picture/a.c '#include "vision/a.h"'
plant check_includes 'an include across a floor' src/record/a.c '#  include "omogon/draw.h"'
plant check_includes 'a way round by dots' src/record/a.c '#include "../draw/a.h"'
plant check_includes 'a public header that includes upward' include/omogon/picture.h \
    '#include "omogon/vision.h"'
plant check_includes 'a public header without a folder' include/omogon/stray.h '#include <stdint.h>'
plant check_includes 'a library in a public header' include/omogon/csv.h '#include <glib.h>'
plant check_includes 'a folder without a floor' src/attic/a.c '#include <stdio.h>'
plant check_includes 'a simulated camera that measures' src/source/simulated_body.c \
    '#include "omogon/motion.h"'
plant check_includes 'a tracker that asks for the truth' src/vision/a.c '#include <omogon/simulated.h>'
plant check_includes 'OpenCV in the library' src/vision/a.cpp '#include <opencv2/core.hpp>'
plant check_includes 'SDL in a test' tests/test_a.c '#include <SDL2/SDL.h>'
plant check_paths 'a path of one machine' src/base/a.c "const char *p = \"/wor""k/clip.avi\";"
plant check_alone 'a header C++ would mangle' include/omogon/text.h \
    'extern int omo_text_length;'
# The same guards as a sound header, so that only what stands between them is wrong.
open_c='#ifdef __cplusplus
extern "C" {
#endif'
close_c='#ifdef __cplusplus
}
#endif'
plant check_alone 'a header that needs another' include/omogon/text.h \
    "$open_c
extern size_t omo_text_length;
$close_c"
plant check_alone 'a header that is not C++' include/omogon/text.h \
    "$open_c
struct a { int class; };
$close_c"

check_tree "$root" >"$here/faults"
if [ -s "$here/faults" ]; then
    cat "$here/faults"
    exit 1
fi
echo "floors and headers are in order"
