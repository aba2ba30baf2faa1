/* Prints the language in use and what becomes of texts, for test_words.py.
 *   words_program [--unbound] TEXT... ("context|text" for a text with a context) */
#include <locale.h>
#include <stdio.h>
#include <string.h>

#include "omogon/words.h"

int main(int argc, char **argv)
{
    int first = 1;

    setlocale(LC_ALL, "");
    if (argc > 1 && strcmp(argv[1], "--unbound") == 0)
        first = 2;
    else
        omo_words_bind();

    puts(omo_words_language());
    for (int i = first; i < argc; i++) {
        char *bar = strchr(argv[i], '|');

        if (bar == NULL) {
            puts(omo_word(argv[i]));
            continue;
        }
        *bar = '\0';
        puts(omo_word_in(argv[i], bar + 1));
    }
    return 0;
}
