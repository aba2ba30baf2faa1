#!/bin/sh
# Runs every fuzz target of this folder: tests/fuzz/run.sh [SECONDS [TARGET...]]
#
# Each fuzz_NAME.c is built twice. With OMO_PLANTED_FAULT it has a fault of its own and must
# find it (within OMOGON_PLANTED_SECONDS, 240 unless told); then the clean one runs for
# SECONDS (60) and must find nothing. Seeds are in corpus_NAME; the tree is not written to.
# Lines at the top of a target say what it needs:
#   // sources: files or patterns, from the project's folder
#   // pkgs: names for pkg-config        // options: options of libFuzzer
# Ends with "N passed, N failed". Without a clang that can do this: exit code 77.
set -u
seconds=${1:-60}
[ $# -gt 0 ] && shift
planted_seconds=${OMOGON_PLANTED_SECONDS:-240}
root=$(cd "$(dirname "$0")/../.." && pwd) || exit 1
cd "$root" || exit 1

work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM

fuzzes() {
    command -v "$1" >/dev/null 2>&1 || return 1
    echo 'int LLVMFuzzerTestOneInput(const char *b, unsigned long n);
        int LLVMFuzzerTestOneInput(const char *b, unsigned long n) { return !b && n; }' |
        "$1" -fsanitize=fuzzer,address -x c -o "$work/probe" - >/dev/null 2>&1
}
compiler=
for name in ${CLANG:-} clang-14 clang; do
    if fuzzes "$name"; then
        compiler=$name
        break
    fi
done
if [ -z "$compiler" ]; then
    echo "skipped: no clang with libFuzzer here (Debian: clang libclang-rt-14-dev)"
    exit 77
fi

# words KIND FILE: what the "// KIND: ..." lines of a target hold
words() {
    sed -n "s|^// $1: ||p" "$2" | tr '\n' ' '
}

# build FILE PROGRAM [FLAG]
build() {
    packages=$(words pkgs "$1")
    flags=
    [ -n "$packages" ] && flags=$(pkg-config --cflags --libs $packages)
    # Unquoted on purpose: patterns and lists of words.
    # shellcheck disable=SC2046,SC2086
    "$compiler" -std=gnu17 -g -O1 -fno-omit-frame-pointer -ffp-contract=off \
        -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all \
        -D_GNU_SOURCE -D_FILE_OFFSET_BITS=64 '-DOMO_VERSION="0"' \
        "-DOMO_MODELS_INSTALLED=\"$root/models\"" "-DOMO_MODELS_SOURCE=\"$root/models\"" \
        '-DOMO_BUILD_FOLDER="/nowhere"' '-DOMO_LOCALE_INSTALLED="/nowhere"' \
        ${3:-} -Iinclude -Isrc -o "$2" "$1" $(words sources "$1") $flags -lm -lpthread
}

# fuzz PROGRAM SECONDS SEEDS LOG START OPTION...: runs on a copy of the seeds
fuzz() {
    program=$1 limit=$2 seeds=$3 log=$4 start=$5
    shift 5
    rm -rf "$work/corpus"
    mkdir "$work/corpus"
    [ -d "$seeds" ] && cp "$seeds"/* "$work/corpus/"
    UBSAN_OPTIONS=print_stacktrace=1 "$program" -max_total_time="$limit" -timeout=20 \
        -seed="$start" -artifact_prefix="$work/found-" "$@" "$work/corpus" >"$log" 2>&1
}

passed=0
failed=0
fail() {
    echo "  FAILED: $1"
    failed=$((failed + 1))
}

# What a run found, in one line.
finding() {
    grep -m 1 -E 'does not hold|ERROR: |runtime error|SUMMARY' "$1" | cut -c 1-160
}

one_target() {
    file=$1
    name=$(basename "$file" .c)
    seeds=tests/fuzz/corpus_${name#fuzz_}
    options=$(words options "$file")
    log=$work/log
    echo "$name"
    if ! build "$file" "$work/planted" -DOMO_PLANTED_FAULT ||
        ! build "$file" "$work/clean"; then
        fail "does not build"
        return
    fi
    # Luck decides how long it takes: four starts find it sooner than one long run.
    start=1
    # shellcheck disable=SC2086
    while [ "$start" -le 4 ] &&
        fuzz "$work/planted" $((planted_seconds / 4)) "$seeds" "$log" "$start" $options; do
        start=$((start + 1))
    done
    if [ "$start" -gt 4 ]; then
        fail "the planted fault was not found in $planted_seconds s"
        return
    fi
    echo "  planted fault found: $(finding "$log")"
    # shellcheck disable=SC2086
    if ! fuzz "$work/clean" "$seconds" "$seeds" "$log" 1 $options; then
        fail "found: $(finding "$log")"
        tail -n 40 "$log"
        for input in "$work"/found-*; do
            [ -f "$input" ] && echo "  input, base64:" && base64 "$input"
        done
        return
    fi
    echo "  no finding in $seconds s: $(grep -E '^(Done|#[0-9]+.DONE)' "$log" | tail -n 1)"
    passed=$((passed + 1))
}

if [ $# -eq 0 ]; then
    set -- tests/fuzz/fuzz_*.c
fi
for target in "$@"; do
    rm -f "$work"/found-*
    one_target "$target"
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
