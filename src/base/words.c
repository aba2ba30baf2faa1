#include "omogon/words.h"

#include <libintl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Only this domain is asked for by name: a program that uses the library keeps its own.
 */
#define DOMAIN "omogon"

/* Set once, before other threads ask. Until then gettext would look into the system's
 * folder and might find another version's words. */
static bool bound;

/* A program that was built and not installed speaks its own tree's words, not those an
 * older installation left behind. */
static bool runs_from_build_tree(void)
{
    const char build[] = OMO_BUILD_FOLDER "/";
    char program[4096];
    const ssize_t length = readlink("/proc/self/exe", program, sizeof program);

    return length > (ssize_t)(sizeof build - 1) &&
           memcmp(program, build, sizeof build - 1) == 0;
}

void omo_words_bind(void)
{
    const char *folder = getenv("OMOGON_LOCALE");

    if (folder == NULL || folder[0] == '\0')
        folder =
            runs_from_build_tree() ? OMO_BUILD_FOLDER "/locale" : OMO_LOCALE_INSTALLED;
    bound = bindtextdomain(DOMAIN, folder) != NULL &&
            bind_textdomain_codeset(DOMAIN, "UTF-8") != NULL;
}

const char *omo_word(const char *english)
{
    /* The translation of "" is the catalogue's own header. */
    if (!bound || english == NULL || english[0] == '\0')
        return english;
    return dgettext(DOMAIN, english);
}

const char *omo_word_in(const char *context, const char *english)
{
    /* How a catalogue keeps a text with its context: both, with a byte 4 between. */
    char key[1024];
    const int length = snprintf(key, sizeof key, "%s\004%s", context, english);

    if (!bound || length < 0 || (size_t)length >= sizeof key)
        return english;
    const char *found = dgettext(DOMAIN, key);
    return found == key ? english : found;
}

const char *omo_words_language(void)
{
    /* Asked of the catalogue: the locale only says what was wished for. */
    return omo_word_in("language code", "en");
}
