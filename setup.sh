#!/bin/sh
# Installs what is missing on a Debian 12 machine, builds into build/, and runs.
#   sh setup.sh demo|test|build|bench|study|soak|fuzz|install
# Packages are only installed when one is missing, which needs root or sudo.
set -eu
cd "$(dirname "$0")"

# What building and running needs (check and libturbojpeg only for the tests, which meson
# sets up along with the rest).
build_packages="gcc g++ libc6-dev meson ninja-build pkg-config python3
libglib2.0-dev libgsl-dev libjpeg62-turbo-dev
libavformat-dev libavcodec-dev libavutil-dev libswscale-dev
libcairo2-dev libpango1.0-dev fonts-dejavu-core libcjson-dev libarchive-dev gettext
libsdl2-dev espeak-ng
libopencv-videoio-dev libopencv-core-dev libopencv-calib3d-dev libopencv-imgproc-dev
check libturbojpeg0-dev"
# What only the tests, the fuzz targets and the benchmarks need.
test_packages="ffmpeg python3-scipy python3-pandas valgrind poppler-utils qpdf locales time
xvfb evilwm xdotool imagemagick tesseract-ocr tesseract-ocr-eng x11-utils dbus-daemon
doxygen groff-base chromium r-base-core r-cran-psych r-cran-lme4"
fuzz_packages="clang libclang-rt-14-dev"
# These parts of OpenCV are measured against, never used.
bench_packages="libopencv-core-dev libopencv-imgproc-dev libopencv-imgcodecs-dev"

fuzz_seconds=${OMOGON_FUZZ_SECONDS:-60}
soak_seconds=${OMOGON_SOAK_SECONDS:-1800}
installed_now=no
# While tests run, every way out ends with their count.
counting=no
passed=0
failed=0

say() {
    printf '%s\n' "setup: $*"
}

fail() {
    printf '%s\n' "setup: $*" >&2
    [ "$counting" = no ] || printf '%s\n' "$passed passed, $((failed + 1)) failed"
    exit 1
}

usage() {
    cat <<'EOF'
sh setup.sh COMMAND, on Debian 12, as root or with sudo when packages are missing

  demo     install what is missing, build, and run the whole job on an invented person
  test     install, build, run every test, then all again under the sanitizers
  build    install and build into build/
  bench    print the machine and run the benchmarks
  study    measure thousands of simulated bodies, and print what the angle is worth;
           "study full" does so from pictures, with fewer
  soak     measure live in a window for half an hour (OMOGON_SOAK_SECONDS changes that)
  fuzz     run every fuzz target for a minute (OMOGON_FUZZ_SECONDS changes that)
  install  build and install the program and the library (below /usr/local)
EOF
}

as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        env DEBIAN_FRONTEND=noninteractive "$@"
    else
        sudo env DEBIAN_FRONTEND=noninteractive "$@"
    fi
}

# Installs those of the named packages that are not there yet.
need() {
    missing=
    for package in "$@"; do
        state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null) || state=
        [ "$state" = installed ] || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0

    if [ "$(id -u)" -ne 0 ] && ! command -v sudo >/dev/null; then
        fail "these packages are missing:$missing. Run this command as root to install them."
    fi
    say "installing$missing"
    log=$(mktemp)
    # A failed update may still leave usable lists, so installing decides.
    as_root apt-get update -qq >"$log" 2>&1 || true
    # Word splitting is wanted: one argument a package.
    # shellcheck disable=SC2086
    if ! as_root apt-get install -y -qq --no-install-recommends $missing >>"$log" 2>&1; then
        # Of a whole screen of messages the last errors say it.
        grep '^E:' "$log" | tail -n 2 >&2
        rm -f "$log"
        fail "could not install$missing. Check the network connection and run this again."
    fi
    rm -f "$log"
    installed_now=yes
}

# Puts the packages for building, and those named by the arguments, in place.
packages() {
    if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
        say "this is not a Debian system, so no packages are installed; needed there:" \
            "$build_packages" "$@"
        return 0
    fi
    # shellcheck disable=SC2086
    need $build_packages "$@"
}

# configure DIRECTORY OPTION...: leaves a directory alone that was set up the same way.
configure() {
    directory=$1
    shift
    stamp="$directory/setup-stamp"
    wanted="$PWD $(meson --version) $*"
    if [ -f "$stamp" ] && [ "$(cat "$stamp")" != "$wanted" ]; then
        rm -rf "$directory" # the tree moved, or the options or meson changed
    fi
    again=
    if [ -f "$directory/build.ninja" ]; then
        # ninja runs meson by itself when a build file changed; a new package it cannot see.
        [ "$installed_now" = yes ] || return 0
        again=--reconfigure
    elif [ -e "$directory" ] && [ ! -d "$directory/meson-private" ] &&
        [ -n "$(ls -A "$directory")" ]; then
        fail "$PWD/$directory is in the way: move it aside and run this again."
    fi
    say "configuring $directory"
    log=$(mktemp)
    # shellcheck disable=SC2086
    if ! meson setup $again "$directory" . "$@" >"$log" 2>&1; then
        tail -n 8 "$log" >&2
        rm -f "$log"
        fail "could not configure $directory; the lines above say why."
    fi
    rm -f "$log"
    printf '%s' "$wanted" >"$stamp"
}

# compile DIRECTORY [TARGET]
compile() {
    [ -w "$1" ] || fail "$PWD/$1 belongs to another user. Remove it (sudo rm -r $1) and run this again."
    say "building $1"
    log=$(mktemp)
    # Word splitting is wanted: no second argument is no target.
    # shellcheck disable=SC2086
    if ! ninja -C "$1" ${2:-} >"$log" 2>&1; then
        grep -A 12 -m 3 -E "FAILED|error" "$log" >&2 || tail -n 12 "$log" >&2
        rm -f "$log"
        fail "building failed; the lines above say where."
    fi
    rm -f "$log"
}

# run_suite DIRECTORY: every test once; adds to the counts that are printed at the end.
run_suite() {
    say "testing $1"
    rm -f "$1/meson-logs/testlog.json"
    ended=0
    # Many only wait for a clock, and those have the processor first (meson.build).
    meson test -C "$1" --no-rebuild --print-errorlogs \
        --num-processes $((2 * $(nproc))) || ended=$?
    counts=$(python3 tests/count_tests.py "$1/meson-logs/testlog.json" "$ended")
    say "$1: $(printf '%s\n' "$counts" | sed -n 1p)"
    printf '%s\n' "$counts" | sed -n '3,$p'
    # shellcheck disable=SC2046
    set -- $(printf '%s\n' "$counts" | sed -n 2p)
    passed=$((passed + $1))
    failed=$((failed + $2))
}

test_all() {
    counting=yes
    # shellcheck disable=SC2086
    packages $test_packages $fuzz_packages $bench_packages
    # Validators of web pages come from npm (tests/npm_tools.py). Any Node.js from 18 on and
    # any Java will do, so one that is there is not replaced by Debian's.
    command -v node >/dev/null && command -v npm >/dev/null || need nodejs npm
    command -v java >/dev/null || need default-jre-headless
    configure build
    compile build
    # Pictures come and go by the thousand; big pages spare the system most of its part in it.
    GLIBC_TUNABLES=glibc.malloc.hugetlb=1
    export GLIBC_TUNABLES
    # The scenes are rendered once for both runs of the suite (tests/rendered.py).
    OMOGON_RENDERED="$PWD/build/rendered"
    export OMOGON_RENDERED
    rm -rf "$OMOGON_RENDERED"
    run_suite build
    configure build-asan -Db_sanitize=address,undefined
    compile build-asan
    ASAN_OPTIONS="detect_leaks=1:halt_on_error=1:abort_on_error=1"
    UBSAN_OPTIONS="halt_on_error=1:abort_on_error=1:print_stacktrace=1"
    LSAN_OPTIONS="suppressions=$PWD/tests/leaks.supp:print_suppressions=0"
    export ASAN_OPTIONS UBSAN_OPTIONS LSAN_OPTIONS
    run_suite build-asan
    printf '%s\n' "$passed passed, $failed failed"
    [ "$failed" -eq 0 ]
}

machine() {
    sed -n 's/^model name[^:]*: */processor: /p' /proc/cpuinfo | sort | uniq -c |
        sed 's/^ *\([0-9]*\) processor: \(.*\)/processor: \2, \1 cores/'
    sed -n 's/^MemTotal: */memory: /p' /proc/meminfo
    printf 'system: %s, Linux %s\n' \
        "$(sed -n 's/^PRETTY_NAME="\(.*\)"/\1/p' /etc/os-release)" "$(uname -r)"
    printf 'compiler: %s\n' "$(cc --version | sed -n 1p)"
    for library in libjpeg libavcodec libavformat cairo pango gsl glib-2.0; do
        printf '%s: %s\n' "$library" \
            "$(pkg-config --modversion "$library" 2>/dev/null || echo 'not there')"
    done
    dpkg-query -W -f 'opencv: ${Version}\n' libopencv-core-dev 2>/dev/null || true
}

bench() {
    # shellcheck disable=SC2086
    packages $bench_packages $test_packages
    configure build
    compile build
    machine
    # One at a time, or they would measure each other.
    meson test -C build --no-rebuild --benchmark --verbose --num-processes 1
}

command=${1:-}
[ $# -gt 0 ] && shift
case $command in
demo)
    packages
    configure build
    compile build omogon # the tests can wait
    exec build/omogon demo "$@"
    ;;
test) test_all ;;
build)
    packages
    configure build
    compile build
    say "done: build/omogon"
    ;;
bench) bench ;;
study)
    packages
    configure build
    program=study
    if [ "${1:-}" = full ]; then
        program=study_full
        shift
    fi
    compile build "$program" # the tests can wait
    OMOGON_MODELS="$PWD/models"
    export OMOGON_MODELS
    exec "build/$program" --jobs "$(nproc)" "$@"
    ;;
soak)
    # shellcheck disable=SC2086
    packages $test_packages
    configure build
    compile build
    machine
    exec python3 tests/bench/soak.py build/omogon build/tool_scene build/libplayed_camera.so \
        "$soak_seconds"
    ;;
fuzz)
    # shellcheck disable=SC2086
    packages $fuzz_packages
    exec sh tests/fuzz/run.sh "$fuzz_seconds"
    ;;
install)
    packages
    configure build
    compile build
    as_root meson install -C build --no-rebuild --quiet
    [ -n "${DESTDIR:-}" ] || as_root ldconfig
    say "installed below /usr/local; try: omogon demo"
    ;;
-h | --help | help) usage ;;
*)
    usage >&2
    exit 2
    ;;
esac
