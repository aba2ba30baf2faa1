#include "omogon/text.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

/* From here on a double has no decimals left to round, and 32 bytes would not hold its
   digits: it is written with an exponent. */
#define FIXED_LIMIT  1e15
#define DECIMALS_MAX 9

/* "-0.000" would read as a direction where there is none. */
static void drop_sign_of_zero(char *text)
{
    if (text[0] == '-' && text[1 + strspn(text + 1, "0.")] == '\0')
        memmove(text, text + 1, strlen(text));
}

void omo_number_text(double value, int decimals, char *out, size_t size)
{
    char format[] = "%.0f";
    char text[64];

    if (size == 0)
        return;
    out[0] = '\0';
    if (!isfinite(value))
        return;
    decimals = decimals < 0 ? 0 : decimals > DECIMALS_MAX ? DECIMALS_MAX : decimals;
    format[2] = (char)('0' + decimals);
    /* printf would follow the user's locale; GLib's does not. */
    g_ascii_formatd(text, sizeof text, fabs(value) < FIXED_LIMIT ? format : "%.16e",
                    value);
    drop_sign_of_zero(text);
    omo_text_copy(out, size, text);
}

bool omo_number_parse(const char *text, double *out)
{
    char *end;
    double value;

    /* The C library would also take blanks, hexadecimal digits, "inf" and "nan". */
    if (text[0] == '\0' || text[strspn(text, "0123456789+-.eE")] != '\0')
        return false;
    value = g_ascii_strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(value))
        return false;
    *out = value;
    return true;
}

bool omo_integer_parse(const char *text, long long *out)
{
    char *end;
    long long value;

    if (text[0] == '\0' || text[strspn(text, "0123456789+-")] != '\0')
        return false;
    errno = 0;
    value = strtoll(text, &end, 10);
    if (end == text || *end != '\0' || errno != 0)
        return false;
    *out = value;
    return true;
}

/* Takes off a character that truncation has cut in two. */
static void trim_half_character(char *text, size_t length)
{
    size_t start = length;
    unsigned char lead;
    size_t need;

    while (start > 0 && ((unsigned char)text[start - 1] & 0xC0) == 0x80)
        start--;
    if (start == 0)
        return;
    lead = (unsigned char)text[start - 1];
    need = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
    if (length - (start - 1) < need)
        text[start - 1] = '\0';
}

void omo_text_copy(char *out, size_t size, const char *text)
{
    size_t length = strlen(text);
    bool cut = length >= size;

    if (size == 0)
        return;
    if (cut)
        length = size - 1;
    memmove(out, text, length);
    out[length] = '\0';
    if (cut)
        trim_half_character(out, length);
}

void omo_text_add(char *out, size_t size, const char *format, ...)
{
    size_t used = strnlen(out, size);
    va_list arguments;
    int length;

    if (used >= size)
        return;
    va_start(arguments, format);
    length = vsnprintf(out + used, size - used, format, arguments);
    va_end(arguments);
    if (length > 0 && (size_t)length >= size - used)
        trim_half_character(out, size - 1);
}
