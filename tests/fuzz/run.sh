#!/bin/sh
# Runs every fuzz target of this folder: tests/fuzz/run.sh [SECONDS [TARGET...]]
#
# Each fuzz_NAME.c is built twice. With OMO_PLANTED_FAULT it has a fault of its own and must
# find it (within OMOGON_PLANTED_SECONDS, 240 unless told); then the clean one runs for
# SECONDS (60) and must find nothing. Seeds are in corpus_NAME; the tree is not written to.
# A target keeps one processor busy, so as many run side by side as there are processors
# (OMOGON_FUZZ_JOBS changes that); what one has to say is printed when it ends.
# Lines at the top of a target say what it needs:
#   // sources: files or patterns, from the project's folder
#   // pkgs: names for pkg-config        // options: options of libFuzzer
# Ends with "N passed, N failed". Without a clang that can do this: exit code 77.
set -u
root=$(cd "$(dirname "$0")/../.." && pwd) || exit 1
cd "$root" || exit 1
planted_seconds=${OMOGON_PLANTED_SECONDS:-240}
jobs=${OMOGON_FUZZ_JOBS:-$(getconf _NPROCESSORS_ONLN)}

fuzzes() {
    command -v "$1" >/dev/null 2>&1 || return 1
    echo 'int LLVMFuzzerTestOneInput(const char *b, unsigned long n);
        int LLVMFuzzerTestOneInput(const char *b, unsigned long n) { return !b && n; }' |
        "$1" -fsanitize=fuzzer,address -x c -o "$work/probe" - >/dev/null 2>&1
}

# words KIND FILE: what the "// KIND: ..." lines of a target hold
words() {
    sed -n "s|^// $1: ||p" "$2" | tr '\n' ' '
}

# compile FILE OUTPUT [FLAG...]: an object, or a program with its objects and libraries
compile() {
    file=$1 output=$2
    shift 2
    "$compiler" -std=gnu17 -g -O1 -fno-omit-frame-pointer -ffp-contract=off \
        -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all \
        -D_GNU_SOURCE -D_FILE_OFFSET_BITS=64 '-DOMO_VERSION="0"' \
        "-DOMO_MODELS_INSTALLED=\"$root/models\"" "-DOMO_MODELS_SOURCE=\"$root/models\"" \
        '-DOMO_BUILD_FOLDER="/nowhere"' '-DOMO_LOCALE_INSTALLED="/nowhere"' \
        -Iinclude -Isrc -o "$output" "$file" "$@"
}

# build FILE: $work/planted and $work/clean, which differ in the target alone
build() {
    target=$1
    packages=$(words pkgs "$target")
    flags= libraries=
    if [ -n "$packages" ]; then
        flags=$(pkg-config --cflags $packages) || return 1
        libraries=$(pkg-config --libs $packages) || return 1
    fi
    # Unquoted on purpose: patterns and lists of words.
    # shellcheck disable=SC2046,SC2086
    {
        objects=
        for source in $(words sources "$target"); do
            object=$work/$(echo "$source" | tr / -).o
            objects="$objects $object"
            compile "$source" "$object" -c $flags || return 1
        done
        compile "$target" "$work/clean" $objects $flags $libraries -lm -lpthread &&
            compile "$target" "$work/planted" -DOMO_PLANTED_FAULT $objects $flags \
                $libraries -lm -lpthread
    }
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

fail() {
    echo "  FAILED: $1"
}

# What a run found, in one line.
finding() {
    grep -m 1 -E 'does not hold|ERROR: |runtime error|SUMMARY' "$1" | cut -c 1-160
}

# one_target FILE: 0 when both programs did what they have to
one_target() {
    name=$(basename "$1" .c)
    seeds=tests/fuzz/corpus_${name#fuzz_}
    options=$(words options "$1")
    log=$work/log
    echo "$name"
    if ! build "$1"; then
        fail "does not build"
        return 1
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
        return 1
    fi
    echo "  planted fault found: $(finding "$log")"
    rm -f "$work"/found-*
    # shellcheck disable=SC2086
    if ! fuzz "$work/clean" "$seconds" "$seeds" "$log" 1 $options; then
        fail "found: $(finding "$log")"
        tail -n 40 "$log"
        for input in "$work"/found-*; do
            [ -f "$input" ] && echo "  input, base64:" && base64 "$input"
        done
        return 1
    fi
    echo "  no finding in $seconds s: $(grep -E '^(Done|#[0-9]+.DONE)' "$log" | tail -n 1)"
}

# Called by itself for one target: --target FILE SECONDS COMPILER FOLDER
if [ "${1:-}" = --target ]; then
    name=$(basename "$2" .c)
    seconds=$3 compiler=$4 work=$5/$name
    mkdir "$work" || exit 1
    if one_target "$2" >"$work.said" 2>&1; then
        : >"$work.passed"
    fi
    cat "$work.said"
    rm -rf "$work"
    exit 0
fi

seconds=${1:-60}
[ $# -gt 0 ] && shift
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM
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

if [ $# -eq 0 ]; then
    set -- tests/fuzz/fuzz_*.c
fi
# xargs starts the next target as soon as one ends, and Ctrl-C reaches all of them.
printf '%s\n' "$@" | xargs -P "$jobs" -I '{}' \
    sh tests/fuzz/run.sh --target '{}' "$seconds" "$compiler" "$work"
passed=$(find "$work" -name '*.passed' | wc -l)
failed=$(($# - passed))
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
