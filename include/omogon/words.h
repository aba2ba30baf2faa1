/** Words for people, translated: gettext behind one name. */
#ifndef OMOGON_WORDS_H
#define OMOGON_WORDS_H

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Binds the translations (installed, or of the build tree; OMOGON_LOCALE names another
 *  folder). Once, after setlocale(). */
OMO_API void omo_words_bind(void);
/** The translation of an English text, or the text itself. Constant. */
OMO_API const char *omo_word(const char *english) __attribute__((format_arg(1)));
/** The same with a context where one English word means two things. */
OMO_API const char *omo_word_in(const char *context, const char *english);
/** Language in use: "en", "de". */
OMO_API const char *omo_words_language(void);

/** Marks a text for translation where it is only stored. */
#define OMO_WORD(text) text

#ifdef __cplusplus
}
#endif

#endif
