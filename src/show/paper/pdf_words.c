#include "show/paper/pdf_words.h"

#include <stdlib.h>
#include <string.h>

#define FIGURE  "/Type /StructElem\n   /S /Figure\n"
#define CATALOG "/Type /Catalog\n"

/** An object that is written anew, with more in it. */
struct change {
    long number;
    size_t at; /* in the file, once it is written */
};

/** The first place of `words` from `from` on; NULL: none. */
static const char *find(const GByteArray *pdf, size_t from, const char *words)
{
    const char *bytes = (const char *)pdf->data;
    return memmem(bytes + from, pdf->len - from, words, strlen(words));
}

/** The last place of `words`; NULL: none. */
static const char *find_last(const GByteArray *pdf, const char *words)
{
    const char *bytes = (const char *)pdf->data, *last = NULL;
    for (const char *at = bytes; (at = find(pdf, (size_t)(at - bytes), words)); at++)
        last = at;
    return last;
}

/** The number of the object whose dictionary begins with `words`; 0: none. *end is where
 *  its dictionary ends. */
static long object_at(const GByteArray *pdf, const char *words, size_t from,
                      const char **begin, const char **end)
{
    static const char opening[] = " 0 obj\n<< ";
    const char *bytes = (const char *)pdf->data;
    const char *found = find(pdf, from, words);
    size_t before = strlen(opening);
    if (!found || (size_t)(found - bytes) < before + 1 ||
        memcmp(found - before, opening, before) != 0)
        return 0;
    const char *digit = found - before;
    while (digit > bytes && g_ascii_isdigit(digit[-1]))
        digit--;
    *begin = found;
    *end = find(pdf, (size_t)(found - bytes), ">>\nendobj");
    return *end ? strtol(digit, NULL, 10) : 0;
}

/** <FEFF...>: a text of any language. */
static void add_text(GString *out, const char *text)
{
    glong count = 0;
    g_autofree gunichar2 *units = g_utf8_to_utf16(text, -1, NULL, &count, NULL);
    g_string_append(out, "<FEFF");
    for (glong i = 0; units && i < count; i++)
        g_string_append_printf(out, "%04X", units[i]);
    g_string_append(out, ">");
}

static void begin_object(GString *out, size_t file_size, long number, const char *begin,
                         const char *end, struct change *change)
{
    *change = (struct change){number, file_size + out->len};
    g_string_append_printf(out, "%ld 0 obj\n<< ", number);
    g_string_append_len(out, begin, end - begin);
}

/** The table of what is new, and the way to the older one. */
static bool add_table(const GByteArray *pdf, const struct change *change, int count,
                      GString *out)
{
    const char *bytes = (const char *)pdf->data;
    const char *last = find_last(pdf, "startxref\n");
    const char *trailer = find_last(pdf, "trailer\n<< ");
    const char *end =
        trailer ? find(pdf, (size_t)(trailer - bytes), ">>\nstartxref") : NULL;
    if (!last || !end)
        return false;
    size_t table = pdf->len + out->len;
    g_string_append(out, "xref\n");
    for (int i = 0; i < count; i++)
        g_string_append_printf(out, "%ld 1\n%010zu 00000 n \n", change[i].number,
                               change[i].at);
    g_string_append_len(out, trailer, end - trailer);
    g_string_append_printf(out, "   /Prev %ld\n>>\nstartxref\n%zu\n%%%%EOF\n",
                           strtol(last + strlen("startxref\n"), NULL, 10), table);
    return true;
}

bool omo_pdf_add_words(GByteArray *pdf, const char *language, const char *const *figures,
                       int count)
{
    g_autoptr(GString) out = g_string_new(NULL);
    g_autofree struct change *change = g_new(struct change, count + 1);
    const char *begin = NULL, *end = NULL;
    size_t from = 0;
    for (int i = 0; i < count; i++) {
        long number = object_at(pdf, FIGURE, from, &begin, &end);
        if (number == 0)
            return false;
        begin_object(out, pdf->len, number, begin, end, &change[i]);
        g_string_append(out, "   /Alt ");
        add_text(out, figures[i]);
        g_string_append(out, "\n>>\nendobj\n");
        from = (size_t)(end - (const char *)pdf->data);
    }
    long catalog = object_at(pdf, CATALOG, from, &begin, &end);
    if (catalog == 0)
        return false;
    begin_object(out, pdf->len, catalog, begin, end, &change[count]);
    g_string_append_printf(
        out,
        "   /Lang (%s)\n   /ViewerPreferences << /DisplayDocTitle true "
        ">>\n>>\nendobj\n",
        language);
    if (!add_table(pdf, change, count + 1, out))
        return false;
    g_byte_array_append(pdf, (const guint8 *)out->str, (guint)out->len);
    return true;
}
