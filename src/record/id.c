#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/record.h"

#define PSEUDONYM_MAX 16
#define ID_DIGITS     32

/* The hash itself; the name exists only in the public header. */
static GChecksum *hash_of(struct omo_id *id)
{
    return (GChecksum *)id;
}

struct omo_id *omo_id_create(void)
{
    return (struct omo_id *)g_checksum_new(G_CHECKSUM_SHA256);
}

void omo_id_add(struct omo_id *id, const void *bytes, size_t size)
{
    const guchar *next = bytes;

    while (size > 0) {
        size_t piece = size < G_MAXINT ? size : G_MAXINT;

        g_checksum_update(hash_of(id), next, (gssize)piece);
        next += piece;
        size -= piece;
    }
}

void omo_id_add_text(struct omo_id *id, const char *key, const char *value)
{
    omo_id_add(id, key, strlen(key));
    omo_id_add(id, "=", 1);
    omo_id_add(id, value, strlen(value));
    omo_id_add(id, "\n", 1);
}

void omo_id_finish(struct omo_id *id, char out[33])
{
    memcpy(out, g_checksum_get_string(hash_of(id)), ID_DIGITS);
    out[ID_DIGITS] = '\0';
    g_checksum_free(hash_of(id));
}

/* ---- pseudonyms ------------------------------------------------------------------ */

static int digits_at(const char *text, int first, int count)
{
    int value = 0;

    for (int i = 0; i < count; i++)
        value = value * 10 + (text[first + i] - '0');
    return value;
}

static bool day_and_month(int a, int b)
{
    return (a >= 1 && a <= 31 && b >= 1 && b <= 12) ||
           (b >= 1 && b <= 31 && a >= 1 && a <= 12);
}

/* Any common order of day, month and year, with or without the century. */
static bool digits_are_date(const char *text, size_t count)
{
    if (count == 8) {
        int year_first = digits_at(text, 0, 4), year_last = digits_at(text, 4, 4);

        return (year_first >= 1900 && year_first < 2100 &&
                day_and_month(digits_at(text, 4, 2), digits_at(text, 6, 2))) ||
               (year_last >= 1900 && year_last < 2100 &&
                day_and_month(digits_at(text, 0, 2), digits_at(text, 2, 2)));
    }
    if (count == 6 && text[6] == '\0')
        return day_and_month(digits_at(text, 0, 2), digits_at(text, 2, 2)) ||
               day_and_month(digits_at(text, 2, 2), digits_at(text, 4, 2));
    return false;
}

/* "3may1961", "12Oct61": digits, the first three letters of a month, digits. */
static bool names_a_month(const char *text)
{
    static const char *const months[] = {"jan", "feb", "mar", "apr", "may", "jun",
                                         "jul", "aug", "sep", "oct", "nov", "dec"};
    size_t day = strspn(text, "0123456789");
    size_t letters = 0;

    while (g_ascii_isalpha(text[day + letters]))
        letters++;
    if (day < 1 || day > 2 || letters < 3 || !g_ascii_isdigit(text[day + letters]))
        return false;
    for (size_t i = 0; i < sizeof months / sizeof months[0]; i++)
        if (g_ascii_strncasecmp(text + day, months[i], 3) == 0)
            return true;
    return false;
}

bool omo_pseudonym_valid(const char *text)
{
    size_t length = strlen(text);
    size_t digits = strspn(text, "0123456789");

    if (length < 1 || length > PSEUDONYM_MAX)
        return false;
    for (size_t i = 0; i < length; i++)
        if (!g_ascii_isalnum(text[i]))
            return false;
    /* A date of birth or of a visit would name the person. */
    return !digits_are_date(text, digits) && !names_a_month(text);
}
