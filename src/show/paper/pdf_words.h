/** What a reading aid needs of a PDF and cairo cannot write. */
#ifndef OMO_SHOW_PAPER_PDF_WORDS_H
#define OMO_SHOW_PAPER_PDF_WORDS_H

#include <stdbool.h>

#include <glib.h>

/**
 * Adds the language, "show the title", and a text for each figure (as many as there are,
 * in their order, UTF-8) to a tagged PDF that cairo made, as an incremental update
 * (ISO 32000-1, 7.5.6; /Lang 14.9.2, /Alt 14.9.3). False when the bytes are not laid out
 * as cairo 1.16 does it; they are then as they were.
 */
bool omo_pdf_add_words(GByteArray *pdf, const char *language, const char *const *figures,
                       int count);

#endif
