#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "app/commands.h"
#include "app/options.h"
#include "app/output_file.h"
#include "app/report_content.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/words.h"

struct report_words {
    struct omo_option_words common;
    char *out, *from, *to, *still;
    gboolean force, consent;
};

/** Which files are wanted: one by its ending, or both. */
struct outputs {
    char *html, *pdf; /* NULL: not wanted */
};

static bool outputs_of(const char *out, struct outputs *outputs)
{
    *outputs = (struct outputs){0};
    g_autofree char *low = g_ascii_strdown(out, -1);
    const char *name = strrchr(out, '/') ? strrchr(out, '/') + 1 : out;
    if (g_str_has_suffix(low, ".html"))
        outputs->html = g_strdup(out);
    else if (g_str_has_suffix(low, ".pdf"))
        outputs->pdf = g_strdup(out);
    else if (strchr(name, '.') || !name[0]) {
        omo_error("--out \"%s\" has no ending that is known; end it in .pdf or .html, or "
                  "give a name without an ending for both",
                  out);
        return false;
    } else {
        outputs->html = g_strconcat(out, ".html", NULL);
        outputs->pdf = g_strconcat(out, ".pdf", NULL);
    }
    return true;
}

static void outputs_free(struct outputs *outputs)
{
    g_free(outputs->html);
    g_free(outputs->pdf);
}

/** Whose report it is: named, or the only one there. False with a sentence. */
static bool person_of(const struct omo_person_tables *tables, const char *named,
                      char *out, size_t size)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);
    if (named && named[0] && !omo_pseudonym_valid(named)) {
        omo_error("--person \"%s\" is no code; use 1 to 16 letters and digits", named);
        return false;
    }
    if (named) {
        g_strlcpy(out, named, size);
        return true;
    }
    if (people->len > 1) {
        omo_error("there are %u people in the record; say whose report it is with "
                  "--person (\"omogon people\" lists them)",
                  people->len);
        return false;
    }
    g_strlcpy(out, people->len ? g_ptr_array_index(people, 0) : "", size);
    return true;
}

/** A file that is written but not yet in its place. */
static enum omo_status prepare(const char *path, const void *bytes, size_t size,
                               struct omo_atomic_file **out)
{
    struct omo_atomic_file *file = NULL;
    enum omo_status status = omo_atomic_begin(path, 0600, &file);
    if (status == OMO_OK)
        status = omo_atomic_add(file, bytes, size); /* releases it on failure */
    if (status == OMO_OK)
        *out = file;
    return status;
}

static enum omo_status put_in_place(const char *path, struct omo_atomic_file *file)
{
    enum omo_status status = omo_atomic_commit(file);
    if (status == OMO_OK)
        printf(omo_word("saved: %s\n"), path);
    return status;
}

/** What is wanted of both files, or nothing. */
static enum omo_status write_all(const struct omo_report *report,
                                 const struct outputs *outputs)
{
    struct omo_atomic_file *pdf = NULL, *html = NULL;
    enum omo_status status = OMO_OK;
    if (outputs->pdf) {
        GByteArray *bytes = NULL;
        status = omo_report_pdf(report, &bytes);
        if (status == OMO_OK) {
            status = prepare(outputs->pdf, bytes->data, bytes->len, &pdf);
            g_byte_array_unref(bytes);
        }
    }
    if (status == OMO_OK && outputs->html) {
        size_t size = 0;
        g_autofree char *bytes = omo_report_html(report, &size);
        status = prepare(outputs->html, bytes, size, &html);
    }
    if (status != OMO_OK) {
        omo_atomic_abort(pdf);
        return status;
    }
    if (pdf)
        status = put_in_place(outputs->pdf, pdf);
    if (html && status == OMO_OK)
        status = put_in_place(outputs->html, html);
    else
        omo_atomic_abort(html);
    return status;
}

/** Fills the report in and writes what is wanted. */
static enum omo_status report_on(const struct omo_person_tables *tables,
                                 const struct omo_report_wish *wish,
                                 const struct outputs *outputs)
{
    const struct omo_progress_filter filter = {.person = wish->person,
                                               .movement = wish->movement,
                                               .side = wish->side,
                                               .visit = wish->visit,
                                               .from = wish->from,
                                               .to = wish->to};
    struct omo_progress *progress = NULL;
    enum omo_status status = omo_progress_read(tables->record, &filter, NULL, &progress);
    if (status != OMO_OK)
        return status;
    if (omo_progress_count(progress) == 0) {
        omo_error(
            "nothing was measured that fits, so there is no report; measure first, "
            "or look at --person, --movement, --side, --visit, --since and --until");
        omo_progress_free(progress);
        return OMO_ERR_EMPTY;
    }
    struct omo_report_still still = {0};
    if (wish->still)
        status = omo_report_still_read(wish->still, &still);
    if (status == OMO_OK) {
        struct omo_report report;
        omo_report_init(&report);
        omo_report_fill(tables, progress, wish, wish->still ? &still : NULL, &report);
        status = write_all(&report, outputs);
        omo_report_finish(&report);
    }
    omo_progress_free(progress);
    return status;
}

static enum omo_status run(const struct report_words *w)
{
    struct omo_person_tables tables;
    char person[24] = "", today[16];
    struct outputs outputs = {0};
    g_autofree char *own = w->common.data
                               ? g_strdup(w->common.data)
                               : g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    if (!w->still != !w->consent) {
        omo_error("--still FILE and --consent belong together: a picture of a person is "
                  "put into a report only when that person has agreed to it");
        return OMO_ERR_ARG;
    }
    if (!omo_day_valid("since", w->from) || !omo_day_valid("until", w->to))
        return OMO_ERR_ARG;
    if (!g_file_test(own, G_FILE_TEST_IS_DIR)) {
        omo_error("there is no record at %s; measure first, or name one with --data",
                  own);
        return OMO_ERR_OPEN;
    }
    enum omo_status status = omo_person_tables_open(own, &tables);
    if (status != OMO_OK)
        return status;
    omo_today(today);
    if (!person_of(&tables, w->common.person, person, sizeof person)) {
        omo_person_tables_close(&tables);
        return OMO_ERR_ARG;
    }
    g_autofree char *usual =
        g_strdup_printf("report%s%s-%s", person[0] ? "-" : "", person, today);
    if (!outputs_of(w->out ? w->out : usual, &outputs))
        status = OMO_ERR_ARG;
    else if ((outputs.pdf && !omo_output_free(outputs.pdf, "out", w->force)) ||
             (outputs.html && !omo_output_free(outputs.html, "out", w->force)))
        status = OMO_ERR_OPEN;
    else
        status = report_on(&tables,
                           &(struct omo_report_wish){.person = person,
                                                     .movement = w->common.movement,
                                                     .side = w->common.side,
                                                     .visit = w->common.visit,
                                                     .from = w->from,
                                                     .to = w->to,
                                                     .today = today,
                                                     .still = w->still},
                           &outputs);
    outputs_free(&outputs);
    omo_person_tables_close(&tables);
    return status;
}

int omo_command_report(int argc, char **argv)
{
    struct report_words w = {0};
    GOptionContext *context = g_option_context_new(NULL);
    const GOptionEntry entries[] = {
        {"person", 'p', 0, G_OPTION_ARG_STRING, &w.common.person,
         OMO_WORD("whose report (default: the only person of the record)"), "CODE"},
        {"movement", 'm', 0, G_OPTION_ARG_STRING, &w.common.movement,
         OMO_WORD("one movement alone"), "NAME"},
        {"side", 's', 0, G_OPTION_ARG_STRING, &w.common.side, OMO_WORD("one side alone"),
         "SIDE"},
        {"visit", 0, 0, G_OPTION_ARG_STRING, &w.common.visit,
         OMO_WORD("what was measured under this label alone"), "CODE"},
        {"since", 0, 0, G_OPTION_ARG_STRING, &w.from,
         OMO_WORD("from this day on, as YYYY-MM-DD"), "DAY"},
        {"until", 0, 0, G_OPTION_ARG_STRING, &w.to,
         OMO_WORD("up to this day, as YYYY-MM-DD"), "DAY"},
        {"out", 'o', 0, G_OPTION_ARG_FILENAME, &w.out,
         OMO_WORD("a name that ends in .pdf or .html, or one without an ending for both "
                  "(default: report-CODE-DAY)"),
         "FILE"},
        {"still", 0, 0, G_OPTION_ARG_FILENAME, &w.still,
         OMO_WORD("a JPEG picture in place of the line drawing, as \"omogon trace "
                  "--picture\" writes it; with --consent"),
         "FILE"},
        {"consent", 0, 0, G_OPTION_ARG_NONE, &w.consent,
         OMO_WORD("who is seen in that picture has agreed to its use in this report"),
         NULL},
        {"force", 0, 0, G_OPTION_ARG_NONE, &w.force,
         OMO_WORD("write over an existing file"), NULL},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w.common.data,
         OMO_WORD("folder of the record"), "DIR"},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "One page to file: how far the arm went, what that is good to, the "
            "course of weeks or the\nset of one day, how it was measured, pain and "
            "compensation, what was done. As PDF for paper\nand as one HTML file that "
            "any browser shows, with the same content."),
        OMO_WORD(
            "Examples:\n"
            "  omogon report --person P07\n"
            "  omogon report --person P07 --visit V3 --out p07-v3.pdf\n"
            "  omogon report --person P07 --since 2026-09-01 --out autumn\n"
            "  omogon report --person P07 --still raise.highest.jpg --consent\n\n"
            "The page has the pseudonym and no name; who reads it knows the measured "
            "person all the same.\n"),
        true);
    if (omo_options_parse(context, &argc, &argv)) {
        enum omo_status status = OMO_ERR_ARG;
        if (argc > 1)
            omo_error("report takes no \"%s\"; a person is named by --person", argv[1]);
        else
            status = run(&w);
        code = status == OMO_OK        ? OMO_EXIT_DONE
               : status == OMO_ERR_ARG ? OMO_EXIT_USAGE
                                       : OMO_EXIT_FAILED;
    }
    g_option_context_free(context);
    omo_options_finish(&w.common);
    g_free(w.out);
    g_free(w.from);
    g_free(w.to);
    g_free(w.still);
    return code;
}
