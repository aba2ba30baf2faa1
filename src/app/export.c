#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/export.h"
#include "app/options.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

static const struct {
    const char *name, *help;
    enum omo_status (*write)(const struct omo_export *export, const char *target);
    bool shifts; /* always leaves the dates out */
} formats[] = {
    {"motion-bids",
     OMO_WORD(
         "a folder after Motion-BIDS 1.11.1: positions, angles and repetitions of every "
         "session"),
     omo_export_bids, true},
    {"table",
     OMO_WORD("a folder of CSV tables with a Table Schema (datapackage.json): sessions, "
              "people, repetitions, frames"),
     omo_export_table, false},
    {"fhir",
     OMO_WORD("a file, an HL7 FHIR R4 Bundle: a session's highest angle with its "
              "uncertainty, pain and trace"),
     omo_export_fhir, false},
};

struct export_words {
    struct omo_option_words common;
    char *as, *to, *from, *until;
    gboolean share;
};

/* ---- which rows ----------------------------------------------------------------------
 */

/** By the person's code in this copy: the order of the pseudonyms would lead to them. */
static gint by_person_and_time(gconstpointer a, gconstpointer b, gpointer user)
{
    const struct omo_session_row *one = *(const struct omo_session_row *const *)a;
    const struct omo_session_row *other = *(const struct omo_session_row *const *)b;
    char whose[24], others[24];
    omo_export_person(user, one->person, whose);
    omo_export_person(user, other->person, others);
    int order = strcmp(whose, others);
    if (order == 0)
        order = strcmp(one->started, other->started);
    return order ? order : strcmp(one->id, other->id);
}

static bool has_time(const struct omo_session_row *row)
{
    g_autoptr(GDateTime) start = g_date_time_new_from_iso8601(row->started, NULL);
    return start != NULL;
}

static bool wanted(const struct omo_session_row *row, const struct export_words *w)
{
    const struct {
        const char *asked, *there;
    } same[] = {{w->common.person, row->person},
                {w->common.movement, row->movement},
                {w->common.side, row->side},
                {w->common.visit, row->visit}};
    for (size_t i = 0; i < G_N_ELEMENTS(same); i++)
        if (same[i].asked && strcmp(same[i].asked, same[i].there) != 0)
            return false;
    return (!w->from || strncmp(row->started, w->from, 10) >= 0) &&
           (!w->until || strncmp(row->started, w->until, 10) <= 0);
}

/** Fills export->rows; the last row with an id is the one that counts. */
static void choose(const struct export_words *w, struct omo_export *export)
{
    const struct omo_record *record = export->tables->record;
    g_autoptr(GHashTable) seen = g_hash_table_new(g_str_hash, g_str_equal);
    int withdrawn = 0, nobody = 0;
    export->rows = g_ptr_array_new();
    for (size_t i = omo_record_count(record); i-- > 0;) {
        const struct omo_session_row *row = omo_record_row(record, i);
        if (!g_hash_table_add(seen, (gpointer)(uintptr_t)row->id) || !wanted(row, w))
            continue;
        if (strcmp(row->status, "ok") != 0)
            withdrawn++;
        else if (!omo_pseudonym_valid(row->person) || !has_time(row))
            nobody++;
        else
            g_ptr_array_add(export->rows, (gpointer)(uintptr_t)row);
    }
    g_ptr_array_sort_with_data(export->rows, by_person_and_time, export);
    if (withdrawn)
        omo_warning("%d sessions that were withdrawn or replaced are left out",
                    withdrawn);
    if (nobody)
        omo_warning("%d sessions without a pseudonym or a time are left out", nobody);
}

/* ---- the command ---------------------------------------------------------------------
 */

/** Index of the format asked for, once all that was said of it makes sense; -1: one
 *  sentence is said. */
static int format_of(const struct export_words *w)
{
    size_t format = 0;
    while (w->as && format < G_N_ELEMENTS(formats) && strcmp(w->as, formats[format].name))
        format++;
    if (!w->as || format == G_N_ELEMENTS(formats)) {
        omo_error(
            "--as %s: say motion-bids, table or fhir; \"omogon export --help\" tells "
            "what they are",
            w->as ? w->as : "is missing");
        return -1;
    }
    if (!w->to || !w->to[0]) {
        omo_error("--to is missing; name the %s that is to be written",
                  formats[format].write == omo_export_fhir ? "file" : "folder");
        return -1;
    }
    if (!omo_day_valid("since", w->from) || !omo_day_valid("until", w->until))
        return -1;
    return (int)format;
}

static void say_what_is_there(const struct export_words *w, int format, guint sessions)
{
    printf(omo_word("saved: %s, %u sessions\n"), w->to, sessions);
    puts(formats[format].shifts || w->share
             ? omo_word("Dates are shifted: each person begins on 1925-01-05, and all "
                        "distances are kept. These\nare still data of people.")
             : omo_word("With the real dates; --share shifts them. These are data of "
                        "people: hand them on only\nas they agreed to."));
    if (w->share)
        puts(omo_word("Codes of people, sessions and cameras are new ones that only "
                      "this copy has."));
}

/** Chooses the rows of an open record and writes them. */
static enum omo_status write_chosen(const struct export_words *w, int format,
                                    struct omo_export *export)
{
    enum omo_status status = omo_export_salt(export);
    if (status != OMO_OK)
        return status;
    choose(w, export);
    if (export->rows->len == 0) {
        omo_error("no session fits, so nothing is written; look at --person, --movement, "
                  "--side, --visit, --since and --until");
        status = OMO_ERR_EMPTY;
    } else {
        /* The record's first row tells one record from another, and nothing else. */
        omo_export_uuid(export, "record", omo_record_row(export->tables->record, 0)->id,
                        export->installation);
        status = formats[format].write(export, w->to);
    }
    if (status == OMO_OK)
        say_what_is_there(w, format, export->rows->len);
    g_ptr_array_unref(export->rows);
    return status;
}

static enum omo_status run(const struct export_words *w)
{
    struct omo_person_tables tables;
    struct omo_export export = {.tables = &tables, .share = w->share};
    int format = format_of(w);
    if (format < 0)
        return OMO_ERR_ARG;
    g_autofree char *own = w->common.data
                               ? g_strdup(w->common.data)
                               : g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    if (!g_file_test(own, G_FILE_TEST_IS_DIR)) {
        omo_error("there is no record at %s; measure first, or name one with --data",
                  own);
        return OMO_ERR_OPEN;
    }
    omo_text_copy(export.directory, sizeof export.directory, own);
    enum omo_status status = omo_person_tables_open(own, &tables);
    if (status != OMO_OK)
        return status;
    status = write_chosen(w, format, &export);
    omo_person_tables_close(&tables);
    return status;
}

int omo_command_export(int argc, char **argv)
{
    struct export_words w = {0};
    GOptionContext *context = g_option_context_new(NULL);
    const GOptionEntry entries[] = {
        {"as", 0, 0, G_OPTION_ARG_STRING, &w.as,
         OMO_WORD("motion-bids, table or fhir, see below"), "FORMAT"},
        {"to", 0, 0, G_OPTION_ARG_FILENAME, &w.to,
         OMO_WORD("the folder (new or empty) or file that is written"), "PATH"},
        {"person", 'p', 0, G_OPTION_ARG_STRING, &w.common.person,
         OMO_WORD("one person alone (default: everybody)"), "CODE"},
        {"movement", 'm', 0, G_OPTION_ARG_STRING, &w.common.movement,
         OMO_WORD("one movement alone"), "NAME"},
        {"side", 's', 0, G_OPTION_ARG_STRING, &w.common.side, OMO_WORD("one side alone"),
         "SIDE"},
        {"visit", 0, 0, G_OPTION_ARG_STRING, &w.common.visit,
         OMO_WORD("what was measured under this label alone"), "CODE"},
        {"since", 0, 0, G_OPTION_ARG_STRING, &w.from,
         OMO_WORD("from this day on, as YYYY-MM-DD"), "DAY"},
        {"until", 0, 0, G_OPTION_ARG_STRING, &w.until,
         OMO_WORD("up to this day, as YYYY-MM-DD"), "DAY"},
        {"share", 0, 0, G_OPTION_ARG_NONE, &w.share,
         OMO_WORD("shift all dates, each person's by the same, and give new codes to "
                  "people, sessions and cameras"),
         NULL},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w.common.data,
         OMO_WORD("folder of the record"), "DIR"},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_autoptr(GString) notes = g_string_new(omo_word("Formats:\n"));
    for (size_t i = 0; i < G_N_ELEMENTS(formats); i++)
        g_string_append_printf(notes, "  %-12s %s\n", formats[i].name,
                               omo_word(formats[i].help));
    g_string_append(notes,
                    omo_word(
                        "\nExamples:\n"
                        "  omogon export --as motion-bids --to shoulders\n"
                        "  omogon export --as table --person P07 --to p07 --share\n"
                        "  omogon export --as fhir --person P07 --to p07.json\n\n"
                        "No format has a name, a path, a note or a picture in it.\n"));
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(context,
                   OMO_WORD("Writes the record in open formats that other programs read. "
                            "The record is not changed."),
                   notes->str, true);
    if (omo_options_parse(context, &argc, &argv)) {
        enum omo_status status = OMO_ERR_ARG;
        if (argc > 1)
            omo_error("export takes no \"%s\"; \"omogon export --help\" shows how",
                      argv[1]);
        else
            status = run(&w);
        code = status == OMO_OK        ? OMO_EXIT_DONE
               : status == OMO_ERR_ARG ? OMO_EXIT_USAGE
                                       : OMO_EXIT_FAILED;
    }
    g_option_context_free(context);
    omo_options_finish(&w.common);
    g_free(w.as);
    g_free(w.to);
    g_free(w.from);
    g_free(w.until);
    return code;
}
