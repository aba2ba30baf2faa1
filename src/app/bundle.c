#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "app/bundle_receive.h"
#include "app/commands.h"
#include "app/options.h"
#include "app/output_file.h"
#include "app/report_content.h"
#include "omogon/extract.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/words.h"

#define FILE_MOST_BYTES ((size_t)512 << 20)

struct bundle_words {
    char *data, *person, *out, *open, *as, *list;
    gboolean force;
};

/* What somebody reads who opens it without this program. */
static const char readme[] =
    "This is a bundle of omogon, a program that measures how far a shoulder moves.\n"
    "It holds everything of one person, who is named by a code only:\n"
    "\n"
    "  report.html, report.pdf   one page for people\n"
    "  sessions.csv              one row for each measured movement\n"
    "  traces/                   one line for each picture of a movement\n"
    "  other .csv files          what was done, noted and set beside it\n"
    "  manifest.json             the list of files with their SHA-256 sums\n"
    "\n"
    "There is no video and no photograph in it. \"omogon bundle --open FILE\" takes it "
    "into a\n"
    "record. These are health data all the same: send and keep them accordingly.\n"
    "\n"
    "A measuring and record-keeping aid. Not certified as a medical device; do not "
    "decide\n"
    "treatment on it alone.\n";

/* ---- sending ------------------------------------------------------------------------
 */

static enum omo_status take_table(const char *name, const char *bytes, size_t size,
                                  void *user)
{
    omo_bundle_add(user, name, bytes, size);
    return OMO_OK;
}

/** The page for people; without a figure there is none. */
static enum omo_status add_report(struct omo_bundle *bundle,
                                  const struct omo_person_tables *tables)
{
    const struct omo_progress_filter filter = {.person = bundle->person};
    struct omo_progress *progress = NULL;
    struct omo_report report;
    GByteArray *pdf = NULL;
    char today[16];
    enum omo_status status = omo_progress_read(tables->record, &filter, NULL, &progress);
    if (status != OMO_OK || omo_progress_count(progress) == 0) {
        omo_progress_free(progress);
        return status;
    }
    omo_today(today);
    omo_report_init(&report);
    omo_report_fill(tables, progress,
                    &(struct omo_report_wish){.person = bundle->person, .today = today},
                    NULL, &report);
    size_t size = 0;
    g_autofree char *html = omo_report_html(&report, &size);
    omo_bundle_add(bundle, "report.html", html, size);
    status = omo_report_pdf(&report, &pdf);
    if (status == OMO_OK) {
        omo_bundle_add(bundle, "report.pdf", (const char *)pdf->data, pdf->len);
        g_byte_array_unref(pdf);
    }
    omo_report_finish(&report);
    omo_progress_free(progress);
    return status;
}

static gint by_text(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/** Traces of the person's sessions, by the alphabet, each once. */
static void add_traces(struct omo_bundle *bundle, const struct omo_person_tables *tables,
                       const char *directory)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    for (size_t i = 0; i < omo_record_count(tables->record); i++) {
        const struct omo_session_row *row = omo_record_row(tables->record, i);
        if (!strcmp(row->person, bundle->person) && row->trace[0])
            g_ptr_array_add(names, (gpointer)(uintptr_t)row->trace);
    }
    g_ptr_array_sort(names, by_text);
    for (guint i = 0; i < names->len; i++) {
        const char *name = g_ptr_array_index(names, i);
        g_autofree char *path = g_build_filename(directory, name, NULL);
        g_autofree char *bytes = NULL;
        gsize size = 0;
        if (omo_bundle_find(bundle, name))
            continue;
        if (g_file_get_contents(path, &bytes, &size, NULL))
            omo_bundle_add(bundle, name, bytes, size);
        else
            omo_warning("trace %s is not there and is left out", name);
    }
}

static enum omo_status make(const struct bundle_words *w, const char *directory)
{
    struct omo_person_tables tables;
    GByteArray *bytes = NULL;
    char today[16];
    omo_today(today);
    g_autofree char *usual = g_strdup_printf("bundle-%s-%s.tar.gz", w->person, today);
    const char *path = w->out ? w->out : usual;
    if (!omo_output_free(path, "out", w->force))
        return OMO_ERR_OPEN;
    enum omo_status status = omo_person_tables_open(directory, &tables);
    if (status != OMO_OK)
        return status;
    struct omo_bundle *bundle = omo_bundle_create(w->person);
    omo_bundle_add(bundle, "README.txt", readme, strlen(readme));
    status = omo_record_extract(directory, w->person, take_table, bundle);
    if (status == OMO_OK)
        status = add_report(bundle, &tables);
    if (status == OMO_OK) {
        add_traces(bundle, &tables, directory);
        status = omo_bundle_pack(bundle, &bytes);
    }
    if (status == OMO_OK) {
        status = omo_file_write_atomic(path, bytes->data, bytes->len, 0600);
        if (status == OMO_OK)
            printf(omo_word("saved: %s (%u files, no video)\n"), path,
                   bundle->files->len + 1);
        g_byte_array_unref(bytes);
    }
    omo_bundle_free(bundle);
    omo_person_tables_close(&tables);
    return status;
}

/* ---- receiving ----------------------------------------------------------------------
 */

static enum omo_status read_bundle(const char *path, struct omo_bundle **bundle,
                                   char **sum)
{
    char *bytes = NULL;
    size_t size = 0;
    enum omo_status status = omo_file_read(path, FILE_MOST_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("%s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_bundle_unpack(bytes, size, path, bundle);
    if (status == OMO_OK)
        *sum =
            g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar *)bytes, size);
    free(bytes);
    return status;
}

static enum omo_status list(const char *path)
{
    struct omo_bundle *bundle = NULL;
    g_autofree char *sum = NULL;
    enum omo_status status = read_bundle(path, &bundle, &sum);
    if (status != OMO_OK)
        return status;
    printf(omo_word("A bundle of %s; every file is as it was sent:\n"), bundle->person);
    for (guint i = 0; i < bundle->files->len; i++) {
        const struct omo_bundle_entry *entry = g_ptr_array_index(bundle->files, i);
        printf("  %10zu  %s\n", entry->size, entry->name);
    }
    omo_bundle_free(bundle);
    return OMO_OK;
}

static enum omo_status receive(const struct bundle_words *w, const char *directory)
{
    struct omo_bundle *bundle = NULL;
    struct omo_received got;
    g_autofree char *sum = NULL;
    enum omo_status status = read_bundle(w->open, &bundle, &sum);
    if (status != OMO_OK)
        return status;
    status = omo_bundle_receive(bundle, sum, directory, w->as, &got);
    if (status == OMO_OK && got.known)
        printf(omo_word("Nothing new: this bundle was received before, as %s.\n"),
               got.person);
    else if (status == OMO_OK)
        printf(omo_word(
                   "Received as %s: %d rows, %d traces. \"omogon people --person %s\" "
                   "shows them.\n"),
               got.person, got.rows, got.traces, got.person);
    omo_bundle_free(bundle);
    return status;
}

/* ---- the command --------------------------------------------------------------------
 */

static enum omo_status run(const struct bundle_words *w)
{
    g_autofree char *directory =
        w->data ? g_strdup(w->data)
                : g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    if (!!w->person + !!w->open + !!w->list != 1) {
        omo_error(
            "say what to do: --person CODE makes a bundle, --open FILE receives one, "
            "--list FILE shows what is in it");
        return OMO_ERR_ARG;
    }
    if ((w->as && !w->open) || (w->out && !w->person)) {
        omo_error("--as goes with --open, --out with --person");
        return OMO_ERR_ARG;
    }
    if (w->list)
        return list(w->list);
    if (w->open)
        return receive(w, directory);
    if (!omo_pseudonym_valid(w->person)) {
        omo_error("--person \"%s\" is not a code; use 1 to 16 letters and digits",
                  w->person);
        return OMO_ERR_ARG;
    }
    if (!g_file_test(directory, G_FILE_TEST_IS_DIR)) {
        omo_error("there is no record at %s; name one with --data", directory);
        return OMO_ERR_OPEN;
    }
    return make(w, directory);
}

int omo_command_bundle(int argc, char **argv)
{
    struct bundle_words w = {0};
    GOptionContext *context = g_option_context_new(NULL);
    const GOptionEntry entries[] = {
        {"person", 'p', 0, G_OPTION_ARG_STRING, &w.person,
         OMO_WORD("makes a bundle of this person"), "CODE"},
        {"out", 'o', 0, G_OPTION_ARG_FILENAME, &w.out,
         OMO_WORD("its name (default: bundle-CODE-DAY.tar.gz)"), "FILE"},
        {"force", 0, 0, G_OPTION_ARG_NONE, &w.force,
         OMO_WORD("write over an existing file"), NULL},
        {"open", 0, 0, G_OPTION_ARG_FILENAME, &w.open,
         OMO_WORD("takes a received bundle into the record, as a person of its own"),
         "FILE"},
        {"as", 0, 0, G_OPTION_ARG_STRING, &w.as,
         OMO_WORD("the code that the person gets here (default: the bundle's own)"),
         "CODE"},
        {"list", 0, 0, G_OPTION_ARG_FILENAME, &w.list,
         OMO_WORD("shows what is in a bundle"), "FILE"},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w.data, OMO_WORD("folder of the record"),
         "DIR"},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "One file for the clinic: all rows of a person, the traces and the report, "
            "with the sum of each\nfile; no video, no photograph. And the way back: a "
            "received one becomes a person of its own\nin the record; nothing that is "
            "there is changed."),
        OMO_WORD("A clip that somebody filmed with a phone needs no bundle:\n"
                 "  omogon trace CLIP --movement flexion --side right --person P07\n\n"
                 "Examples:\n"
                 "  omogon bundle --person P07\n"
                 "  omogon bundle --list bundle-P07-2026-11-24.tar.gz\n"
                 "  omogon bundle --open bundle-P07-2026-11-24.tar.gz --as K12\n"),
        false);
    if (omo_options_parse(context, &argc, &argv)) {
        enum omo_status status = OMO_ERR_ARG;
        if (argc > 1)
            omo_error("bundle takes no \"%s\"; a received one is named by --open",
                      argv[1]);
        else
            status = run(&w);
        code = status == OMO_OK        ? OMO_EXIT_DONE
               : status == OMO_ERR_ARG ? OMO_EXIT_USAGE
                                       : OMO_EXIT_FAILED;
    }
    g_option_context_free(context);
    char *const all[] = {w.data, w.person, w.out, w.open, w.as, w.list};
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_free(all[i]);
    return code;
}
