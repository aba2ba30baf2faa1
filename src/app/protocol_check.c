#include "app/protocol_check.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "omogon/csv.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define GROUP "protocol"

/* What is planned, as texts of a row. */
#define TEXT(field)                                                                      \
    {                                                                                    \
#field, offsetof(struct omo_session_row, field)                                  \
    }
static const struct {
    const char *name;
    size_t offset;
} texts[] = {TEXT(movement), TEXT(side), TEXT(position), TEXT(mode),
             TEXT(view),     TEXT(arms), TEXT(placement)};
static const char *const numbers[] = {"cutoff_hz", "repetitions", "frames_per_second",
                                      "seen_ratio"};
enum { CUTOFF, REPETITIONS, RATE, SEEN, NUMBERS };

struct omo_protocol {
    char **allowed[G_N_ELEMENTS(texts)]; /* NULL: not fixed */
    double number[NUMBERS];              /* NAN: not fixed */
    char *outcome;                       /* NULL: not fixed */
};

static bool is_known(const char *key)
{
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++)
        if (!strcmp(key, texts[i].name))
            return true;
    for (int i = 0; i < NUMBERS; i++)
        if (!strcmp(key, numbers[i]))
            return true;
    return !strcmp(key, "outcome");
}

/** Whether it is a column of sessions.csv. */
static bool is_column(const char *name)
{
    struct omo_session_row row;
    struct omo_session_field field;
    omo_session_row_init(&row);
    for (int i = 0; omo_session_field(&row, i, &field); i++)
        if (!strcmp(field.name, name))
            return true;
    return false;
}

static bool fill(const char *path, GKeyFile *file, struct omo_protocol *protocol)
{
    g_auto(GStrv) keys = g_key_file_get_keys(file, GROUP, NULL, NULL);
    for (char **key = keys; key && *key; key++)
        if (!is_known(*key)) {
            omo_error(
                "%s: a protocol fixes no \"%s\"; it knows movement, side, position, "
                "mode, view, arms, placement, cutoff_hz, repetitions, "
                "frames_per_second, seen_ratio and outcome",
                path, *key);
            return false;
        }
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++)
        protocol->allowed[i] =
            g_key_file_get_string_list(file, GROUP, texts[i].name, NULL, NULL);
    for (int i = 0; i < NUMBERS; i++) {
        g_autofree char *text = g_key_file_get_string(file, GROUP, numbers[i], NULL);
        protocol->number[i] = NAN;
        if (text && !omo_number_parse(text, &protocol->number[i])) {
            omo_error("%s: %s=%s is no number", path, numbers[i], text);
            return false;
        }
    }
    protocol->outcome = g_key_file_get_string(file, GROUP, "outcome", NULL);
    if (protocol->outcome && !is_column(protocol->outcome)) {
        omo_error("%s: outcome=%s is no column of sessions.csv", path, protocol->outcome);
        return false;
    }
    return true;
}

enum omo_status omo_protocol_load(const char *path, struct omo_protocol **out)
{
    g_autoptr(GKeyFile) file = g_key_file_new();
    g_autoptr(GError) error = NULL;
    if (!g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, &error)) {
        omo_error("the protocol %s cannot be read: %s", path, error->message);
        return OMO_ERR_OPEN;
    }
    if (!g_key_file_has_group(file, GROUP)) {
        omo_error("%s has no group [" GROUP "]", path);
        return OMO_ERR_SETTINGS;
    }
    struct omo_protocol *protocol = g_new0(struct omo_protocol, 1);
    if (!fill(path, file, protocol)) {
        omo_protocol_free(protocol);
        return OMO_ERR_SETTINGS;
    }
    *out = protocol;
    return OMO_OK;
}

void omo_protocol_free(struct omo_protocol *protocol)
{
    if (!protocol)
        return;
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++)
        g_strfreev(protocol->allowed[i]);
    g_free(protocol->outcome);
    g_free(protocol);
}

/* ---- what differs --------------------------------------------------------------------
 */

static int add(struct omo_csv_text *table, int line, const struct omo_session_row *row,
               const char *what, const char *wanted, const char *found)
{
    omo_csv_add_integer(table, line);
    omo_csv_add_text(table, row->source);
    omo_csv_add_text(table, row->person);
    omo_csv_add_text(table, what);
    omo_csv_add_text(table, wanted);
    omo_csv_add_text(table, found);
    omo_csv_end_row(table);
    return 1;
}

int omo_protocol_plan(const struct omo_protocol *protocol,
                      const struct omo_session_row *planned, double cutoff_hz, int line,
                      struct omo_csv_text *table)
{
    int count = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++) {
        const char *found = (const char *)planned + texts[i].offset;
        char **allowed = protocol->allowed[i];
        if (allowed && !g_strv_contains((const char *const *)allowed, found)) {
            g_autofree char *wanted = g_strjoinv(" or ", allowed);
            count += add(table, line, planned, texts[i].name, wanted, found);
        }
    }
    double wanted_hz = protocol->number[CUTOFF];
    if (isfinite(wanted_hz) && wanted_hz != cutoff_hz) {
        char wanted[32], found[32];
        omo_number_text(wanted_hz, 3, wanted, sizeof wanted);
        omo_number_text(cutoff_hz, 3, found, sizeof found);
        count += add(table, line, planned, "cutoff_hz", wanted, found);
    }
    return count;
}

static int at_least(const struct omo_protocol *protocol, int which, double found,
                    int decimals, const struct omo_session_row *row, int line,
                    struct omo_csv_text *table)
{
    char least[32], wanted[64] = "", text[32];
    double number = protocol->number[which];
    if (!isfinite(number) || found >= number)
        return 0;
    omo_number_text(number, decimals, least, sizeof least);
    omo_number_text(found, decimals, text, sizeof text);
    omo_text_add(wanted, sizeof wanted, "at least %s", least);
    return add(table, line, row, numbers[which], wanted, text);
}

int omo_protocol_result(const struct omo_protocol *protocol,
                        const struct omo_session_row *row, int line,
                        struct omo_csv_text *table)
{
    struct omo_session_field field;
    int count = at_least(protocol, REPETITIONS, row->repetitions, 0, row, line, table);
    count += at_least(protocol, RATE, row->frames_per_second, 3, row, line, table);
    count += at_least(protocol, SEEN, row->seen_ratio, 3, row, line, table);
    for (int i = 0; protocol->outcome && omo_session_field(row, i, &field); i++)
        if (!strcmp(field.name, protocol->outcome) && !field.text[0])
            count += add(table, line, row, protocol->outcome, "a value", "");
    return count;
}
