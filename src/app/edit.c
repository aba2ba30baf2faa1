#include <math.h>
#include <stdio.h>
#include <string.h>

#include <glib.h>

#include "app/commands.h"
#include "app/course_view.h"
#include "app/options.h"
#include "app/person_tables.h"
#include "app/preferences.h"
#include "omogon/edit.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define LISTED    15
#define SHORT_ID  8
#define LEAST_ID  4
#define LAST_WORD "last"

struct edit_words {
    char *data, *person, *withdraw, *restore, *replace, *with, *rename, *to, *delete,
        *yes_delete, *reason, *by;
};

/* ---- which session ------------------------------------------------------------------
 */

/** Rows that are the last with their id, newest first. */
static GPtrArray *newest_rows(const struct omo_record *record, const char *person)
{
    GPtrArray *rows = g_ptr_array_new();
    g_autoptr(GHashTable) seen = g_hash_table_new(g_str_hash, g_str_equal);
    for (size_t i = omo_record_count(record); i-- > 0;) {
        const struct omo_session_row *row = omo_record_row(record, i);
        if (g_hash_table_add(seen, (gpointer)(uintptr_t)row->id) &&
            (!person || !strcmp(person, row->person)))
            g_ptr_array_add(rows, (gpointer)(uintptr_t)row);
    }
    return rows;
}

/** The whole id of a session that is meant by its first digits, or by "last". */
static bool whole_id(const struct omo_record *record, const struct edit_words *w,
                     const char *given, char out[33])
{
    g_autoptr(GPtrArray) rows = newest_rows(record, w->person);
    int found = 0;
    size_t length = strlen(given);
    for (guint i = 0; i < rows->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(rows, i);
        if (!strcmp(given, LAST_WORD) && strcmp(row->status, "ok") != 0)
            continue; /* the last one that counts */
        if (strcmp(given, LAST_WORD) != 0 &&
            (length < LEAST_ID || strncmp(row->id, given, length) != 0))
            continue;
        omo_text_copy(out, 33, row->id);
        found++;
        if (!strcmp(given, LAST_WORD))
            break;
    }
    if (found == 1)
        return true;
    if (found > 1)
        omo_error("%d sessions begin with %s; give more of the id", found, given);
    else
        omo_error(
            "there is no session %s; \"omogon edit\" lists the newest (give at least "
            "%d digits, or \"last\")",
            given, LEAST_ID);
    return false;
}

/** "1a2b3c4d  2026-10-25  P07  arm to the front (flexion), right: 108.2 degrees" */
static void row_line(const struct omo_session_row *row, char *out, size_t size)
{
    char day[16], degrees[32], what[128];
    omo_date_of(row->started, day);
    omo_course_short(row, what, sizeof what);
    omo_number_text(isfinite(row->mean_of_maxima_deg) ? row->mean_of_maxima_deg
                                                      : row->max_deg,
                    1, degrees, sizeof degrees);
    out[0] = '\0';
    omo_text_add(out, size, "%.*s  %s  %-8s %s: %s", SHORT_ID, row->id, day, row->person,
                 what, degrees[0] ? degrees : "-");
}

static void list(const struct omo_record *record, const struct edit_words *w)
{
    g_autoptr(GPtrArray) rows = newest_rows(record, w->person);
    puts(omo_word("The newest sessions, the last one first:"));
    for (guint i = 0; i < rows->len && i < LISTED; i++) {
        const struct omo_session_row *row = g_ptr_array_index(rows, i);
        char line[300];
        row_line(row, line, sizeof line);
        printf("  %s%s\n", line,
               !strcmp(row->status, "withdrawn")  ? omo_word("  (withdrawn)")
               : !strcmp(row->status, "replaced") ? omo_word("  (replaced)")
                                                  : "");
    }
    if (rows->len == 0)
        puts(omo_word("  none"));
}

/* ---- doing it -----------------------------------------------------------------------
 */

static enum omo_status change_session(struct omo_record *record,
                                      const struct edit_words *w,
                                      const struct omo_edit_reason *why)
{
    const char *given = w->withdraw ? w->withdraw : w->restore ? w->restore : w->replace;
    enum omo_edit_kind kind = w->withdraw  ? OMO_EDIT_WITHDRAW
                              : w->restore ? OMO_EDIT_RESTORE
                                           : OMO_EDIT_REPLACE;
    char id[33], with[33] = "", line[300];
    struct omo_session_row row;
    if (!whole_id(record, w, given, id) ||
        (kind == OMO_EDIT_REPLACE && !whole_id(record, w, w->with, with)))
        return OMO_ERR_ARG;
    enum omo_status status = omo_edit_session(record, kind, id, with, why);
    if (status != OMO_OK || !omo_record_find(record, id, &row))
        return status;
    row_line(&row, line, sizeof line);
    if (kind == OMO_EDIT_WITHDRAW)
        printf(omo_word(
                   "withdrawn: %s\n  It counts no longer, and is kept. \"omogon edit "
                   "--restore %.8s\" takes that back.\n"),
               line, id);
    else if (kind == OMO_EDIT_RESTORE)
        printf(omo_word("restored: %s\n"), line);
    else
        printf(omo_word("replaced: %s\n  %.8s counts in its place.\n"), line, with);
    return OMO_OK;
}

/** A pseudonym that is gone is not offered again by the window. */
static void forget_preference(const char *person, const char *to)
{
    struct omo_preferences preferences;
    omo_preferences_load(&preferences);
    if (strcmp(preferences.person, person) != 0)
        return;
    omo_text_copy(preferences.person, sizeof preferences.person, to);
    omo_preferences_save(&preferences);
}

static enum omo_status change_person(const char *directory, const struct edit_words *w,
                                     const struct omo_edit_reason *why)
{
    struct omo_edit_done done;
    if (w->rename) {
        enum omo_status status = omo_edit_rename(directory, w->rename, w->to, why, &done);
        if (status != OMO_OK)
            return status;
        forget_preference(w->rename, w->to);
        printf(omo_word("%s is now %s: %d rows, %d traces and stills.\n"), w->rename,
               w->to, done.rows, done.files);
    } else {
        enum omo_status status = omo_edit_delete(directory, w->delete, why, &done);
        if (status != OMO_OK)
            return status;
        forget_preference(w->delete, "");
        printf(omo_word("deleted: %d rows, %d traces and stills.\n"), done.rows,
               done.files);
    }
    puts(omo_word("Reports, charts, bundles and backups made before are not reached by "
                  "this; look for them yourself."));
    return OMO_OK;
}

/** Whether the words make one change; a sentence when they do not. */
static bool words_fit(const struct edit_words *w)
{
    const int changes =
        !!w->withdraw + !!w->restore + !!w->replace + !!w->rename + !!w->delete;
    if (changes > 1) {
        omo_error("one change at a time: give one of --withdraw, --restore, --replace, "
                  "--rename and --delete");
        return false;
    }
    if (!w->replace != !w->with) {
        omo_error(
            "--replace ID and --with ID belong together: the older session, and the "
            "one that counts in its place");
        return false;
    }
    if (!w->rename != !w->to) {
        omo_error("--rename CODE and --to CODE belong together");
        return false;
    }
    if (changes && !w->by) {
        omo_error("--by is missing; say by a code who makes the change");
        return false;
    }
    if (w->by && !omo_pseudonym_valid(w->by)) {
        omo_error("--by \"%s\" is not a code; use 1 to 16 letters and digits", w->by);
        return false;
    }
    if ((w->withdraw || w->replace) && (!w->reason || !w->reason[0])) {
        omo_error("--reason is missing; say in a sentence why, it is kept with the row");
        return false;
    }
    if (w->delete &&(!w->yes_delete || strcmp(w->delete, w->yes_delete) != 0)) {
        omo_error("--delete takes everything of %s away for good; to do so add "
                  "--yes-delete %s",
                  w->delete, w->delete);
        return false;
    }
    return true;
}

static enum omo_status run(const struct edit_words *w)
{
    struct omo_option_words common = {.data = w->data};
    const struct omo_edit_reason why = {w->by, w->reason ? w->reason : ""};
    struct omo_record *record = NULL;
    char directory[4096];
    if (!words_fit(w))
        return OMO_ERR_ARG;
    enum omo_status status =
        omo_open_record(&common, &record, directory, sizeof directory);
    if (status != OMO_OK)
        return status;
    if (w->rename || w->delete)
        status = change_person(directory, w, &why);
    else if (w->withdraw || w->restore || w->replace)
        status = change_session(record, w, &why);
    else
        list(record, w);
    omo_record_close(record);
    return status;
}

int omo_command_edit(int argc, char **argv)
{
    struct edit_words w = {0};
    GOptionContext *context = g_option_context_new(NULL);
    const GOptionEntry entries[] = {
        {"withdraw", 0, 0, G_OPTION_ARG_STRING, &w.withdraw,
         OMO_WORD(
             "a session counts no longer; it is kept, marked. \"last\" is the newest "
             "one"),
         "ID"},
        {"restore", 0, 0, G_OPTION_ARG_STRING, &w.restore, OMO_WORD("it counts again"),
         "ID"},
        {"replace", 0, 0, G_OPTION_ARG_STRING, &w.replace,
         OMO_WORD("another session counts in its place: --with"), "ID"},
        {"with", 0, 0, G_OPTION_ARG_STRING, &w.with, OMO_WORD("that other session"),
         "ID"},
        {"rename", 0, 0, G_OPTION_ARG_STRING, &w.rename,
         OMO_WORD("gives a person another code, in all files: --to"), "CODE"},
        {"to", 0, 0, G_OPTION_ARG_STRING, &w.to, OMO_WORD("the new code"), "CODE"},
        {"delete", 0, 0, G_OPTION_ARG_STRING, &w.delete,
         OMO_WORD("deletes everything of a person for good"), "CODE"},
        {"yes-delete", 0, 0, G_OPTION_ARG_STRING, &w.yes_delete,
         OMO_WORD("the same code once more, to be sure"), "CODE"},
        {"reason", 0, 0, G_OPTION_ARG_STRING, &w.reason, OMO_WORD("why, in a sentence"),
         "TEXT"},
        {"by", 0, 0, G_OPTION_ARG_STRING, &w.by, OMO_WORD("who makes the change"),
         "CODE"},
        {"person", 0, 0, G_OPTION_ARG_STRING, &w.person,
         OMO_WORD("only this person's sessions are listed and meant"), "CODE"},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w.data, OMO_WORD("folder of the record"),
         "DIR"},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "Changes what was written down, and writes down that it was changed "
            "(changes.csv). Without a\nchange it lists the newest sessions. A session "
            "is never taken out of the record, only marked;\na person can be."),
        OMO_WORD(
            "ID is the beginning of a session's id, as it is listed.\n\n"
            "Examples:\n"
            "  omogon edit --person P07\n"
            "  omogon edit --withdraw last --reason \"the sticker fell off\" --by R1\n"
            "  omogon edit --replace 1a2b3c4d --with 5e6f7a8b --reason \"measured "
            "again\" --by R1\n"
            "  omogon edit --rename P07 --to K12 --by R1\n"
            "  omogon edit --delete P07 --yes-delete P07 --by R1\n"),
        false);
    if (omo_options_parse(context, &argc, &argv)) {
        enum omo_status status = OMO_ERR_ARG;
        if (argc > 1)
            omo_error("edit takes no \"%s\"; \"omogon edit --help\" shows how", argv[1]);
        else
            status = run(&w);
        code = status == OMO_OK        ? OMO_EXIT_DONE
               : status == OMO_ERR_ARG ? OMO_EXIT_USAGE
                                       : OMO_EXIT_FAILED;
    }
    g_option_context_free(context);
    char *const all[] = {w.data,   w.person, w.withdraw, w.restore,    w.replace, w.with,
                         w.rename, w.to,     w.delete,   w.yes_delete, w.reason,  w.by};
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_free(all[i]);
    return code;
}
