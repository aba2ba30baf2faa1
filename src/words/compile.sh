#!/bin/sh
# Compiles translations into a folder as gettext looks for it.
#   compile.sh FOLDER TRANSLATION...   e.g. locale .../de.po
set -eu
folder=$1
shift
# Anew, so that the folder is never older than what it was made from.
rm -rf "$folder"
for translation in "$@"; do
    language=$(basename "$translation" .po)
    mkdir -p "$folder/$language/LC_MESSAGES"
    msgfmt --check --output-file="$folder/$language/LC_MESSAGES/omogon.mo" "$translation"
done
