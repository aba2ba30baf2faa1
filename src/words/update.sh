#!/bin/sh
# Renews the template from the sources and brings it into every translation; what is new
# there has no translation yet and has to be written.
#   sh src/words/update.sh
#   sh src/words/update.sh --template FILE   writes the template alone, to FILE
set -eu
cd "$(dirname "$0")/../.."
words=src/words

# No dates and no line numbers: a template only changes when a text does.
template() {
    find src \( -name '*.c' -o -name '*.h' -o -name '*.cpp' \) | LC_ALL=C sort |
        xgettext --files-from=- --language=C++ --from-code=UTF-8 --foreign-user \
            --package-name=omogon --add-location=file --sort-by-file \
            --add-comments=TRANSLATORS \
            --keyword --keyword=omo_word --keyword=omo_word_in:1c,2 --keyword=OMO_WORD \
            --output=- |
        sed -e '1s/.*/# Texts of omogon, taken from the sources./' -e '2,4{/^# /d}' \
            -e '/^"POT-Creation-Date:/d' -e 's/charset=CHARSET/charset=UTF-8/' >"$1"
}

if [ "${1:-}" = --template ]; then
    template "$2"
    exit 0
fi
template "$words/omogon.pot.new"
mv "$words/omogon.pot.new" "$words/omogon.pot"
for translation in "$words"/*.po; do
    # A guessed translation is worse than none, so nothing is matched loosely.
    msgmerge --quiet --no-fuzzy-matching --add-location=file --sort-by-file \
        --output-file="$translation.new" "$translation" "$words/omogon.pot"
    msgattrib --no-obsolete --add-location=file --output-file="$translation" \
        "$translation.new"
    rm -f "$translation.new"
    printf '%s: ' "$translation"
    msgfmt --check --statistics --output-file=/dev/null "$translation" 2>&1
done
