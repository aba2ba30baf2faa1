#!/bin/sh
# Every public name has its text in the library's reference; fields of a struct may speak for
# themselves. First a header with a bare function is planted and has to be found.
#   test_reference.sh ROOT WORK_FOLDER
set -eu
root=$1
work=$2
rm -rf "$work"
mkdir -p "$work"

# faults HEADERS: lines of what the reference lacks.
faults() {
    (
        cat "$root/src/doc/Doxyfile"
        echo "OUTPUT_DIRECTORY = \"$work/doc\""
        echo "INPUT = \"$1\""
    ) >"$work/Doxyfile"
    (cd "$root" && doxygen "$work/Doxyfile") >"$work/log" 2>&1 || {
        cat "$work/log"
        exit 1
    }
    grep -E '(warning|error):' "$work/log" |
        grep -vE ': Member .* of struct [a-z0-9_]+ is not documented' || true
}

cp -r "$root/include/omogon" "$work/planted"
cat >"$work/planted/bare.h" <<'EOF'
/** A header. */
void omo_bare(void);
EOF
faults "$work/planted" | grep -q omo_bare || {
    echo "a function without a text was not found"
    exit 1
}

found=$(faults "$root/include/omogon")
if [ -n "$found" ]; then
    printf '%s\n' "$found"
    exit 1
fi
[ -s "$work/doc/html/series_8h.html" ] || {
    echo "there is no page of series.h"
    exit 1
}
echo "the reference has a text for every public name"
