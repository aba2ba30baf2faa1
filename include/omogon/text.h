/** Text for files and people: numbers with a dot under any locale, safe copies. */
#ifndef OMOGON_TEXT_H
#define OMOGON_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** "116.800" with `decimals` places, "" for NAN or infinity, never "-0.000". size >= 32.
 */
OMO_API void omo_number_text(double value, int decimals, char *out, size_t size);
/** Whole text as a finite number with a dot; false when anything is left over. */
OMO_API bool omo_number_parse(const char *text, double *out);
/** The same for a whole number. */
OMO_API bool omo_integer_parse(const char *text, long long *out);
/** Copies with truncation at a UTF-8 boundary, always terminated. */
OMO_API void omo_text_copy(char *out, size_t size, const char *text);
/** Appends a formatted piece, truncating at the end of the buffer. */
OMO_API void omo_text_add(char *out, size_t size, const char *format, ...)
    OMO_PRINTF(3, 4);

#ifdef __cplusplus
}
#endif

#endif
