#include <math.h>
#include <stdio.h>
#include <string.h>

#include <glib.h>

#include "app/agreement_out.h"
#include "app/commands.h"
#include "app/options.h"
#include "app/output_file.h"
#include "omogon/agreement.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

struct agreement_words {
    char *person, *rater, *value, *wide, *confidence, *form;
    char *csv, *plot, *sheet;
    char *plan_icc, *plan_width, *plan_raters;
    char **where;
    gboolean json, components, force;
};

/* ---- the command --------------------------------------------------------------------
 */

/** Two raters are compared one with the other, too. False: not two, or all the same. */
static bool limits_of(const struct omo_agreement_table *t, double confidence,
                      struct omo_limits *out)
{
    if (t->raters->len != 2)
        return false;
    g_autofree double *first = g_new(double, t->people);
    g_autofree double *second = g_new(double, t->people);
    for (size_t i = 0; i < t->people; i++) {
        first[i] = t->values[2 * i];
        second[i] = t->values[2 * i + 1];
    }
    return omo_limits_of_agreement(first, second, t->people, confidence, out) == OMO_OK;
}

/** The classical figures; with a model they may be missing where the model is there. */
static enum omo_status work_out(struct omo_agreement_found *f)
{
    const struct omo_agreement_table *t = &f->table;
    enum omo_status status = f->sides
                                 ? OMO_ERR_ARG
                                 : omo_agreement_of(t->values, t->people, t->raters->len,
                                                    f->confidence, &f->agreement);
    f->has_agreement = status == OMO_OK;
    f->has_limits = f->has_agreement && limits_of(t, f->confidence, &f->limits);
    if (status == OMO_OK || f->has_components)
        return OMO_OK;
    if (status == OMO_ERR_ARG)
        omo_error(
            "agreement needs at least two people with a value of each of at least two "
            "raters; there are %zu people and %u raters",
            t->people, t->raters->len);
    else if (status == OMO_ERR_EMPTY)
        omo_error(
            "all values are the same, or the raters' values differ by nothing or by the "
            "same for everybody: there is no error to work out");
    return status;
}

static enum omo_status write_files(const struct agreement_words *w,
                                   const struct omo_agreement_found *f)
{
    const struct {
        const char *path, *option;
        enum omo_status (*write)(const struct omo_agreement_found *f, const char *path);
    } files[] = {{w->plot, "plot", omo_agreement_plot},
                 {w->csv, "csv", omo_agreement_csv},
                 {w->sheet, "sheet", omo_agreement_sheet}};
    for (size_t i = 0; i < G_N_ELEMENTS(files); i++) {
        if (!files[i].path)
            continue;
        if (!omo_output_free(files[i].path, files[i].option, w->force))
            return OMO_ERR_OPEN;
        enum omo_status status = files[i].write(f, files[i].path);
        if (status != OMO_OK)
            return status;
        if (!w->json)
            printf(omo_word("saved: %s\n"), files[i].path);
    }
    return OMO_OK;
}

static enum omo_status report(const struct agreement_words *w,
                              struct omo_agreement_found *f)
{
    enum omo_status status = w->components ? omo_agreement_fit(f) : OMO_OK;
    if (status == OMO_OK)
        status = work_out(f);
    if (status != OMO_OK)
        return status;
    omo_agreement_pair(f);
    if (w->json)
        omo_agreement_print_json(f);
    else
        omo_agreement_print(f, w->form);
    return write_files(w, f);
}

/** --plan: how many people an interval of that width needs. */
static enum omo_status plan(const struct agreement_words *w, double confidence)
{
    double icc = NAN, width = NAN;
    long long raters = 2;
    if (!w->plan_icc || !w->plan_width || !omo_number_parse(w->plan_icc, &icc) ||
        !omo_number_parse(w->plan_width, &width) || !(icc > 0 && icc < 1) ||
        !(width > 0 && width < 1) ||
        (w->plan_raters &&
         (!omo_integer_parse(w->plan_raters, &raters) || raters < 2 || raters > 1000))) {
        omo_error("planning takes --icc and --width between 0 and 1, and --raters from 2 "
                  "on; for example --icc 0.9 --width 0.2 --raters 2");
        return OMO_ERR_ARG;
    }
    size_t people = omo_icc_people(icc, (size_t)raters, width, confidence);
    char percent[32], wide[32], about[32];
    omo_number_text(100 * confidence, 0, percent, sizeof percent);
    omo_number_text(width, 2, wide, sizeof wide);
    omo_number_text(icc, 2, about, sizeof about);
    printf(omo_word(
               "%zu people with %lld raters each, for a %s %% interval of %s about an "
               "ICC of %s.\n"),
           people, raters, percent, wide, about);
    puts(omo_word(
        "After Bonett 2002 (from memory). Add those who may be lost on the way."));
    return OMO_OK;
}

static bool form_fits(const char *form)
{
    if (!form || (strlen(form) == 3 && strchr("123", form[0]) && form[1] == ',' &&
                  strchr("1k", form[2])))
        return true;
    omo_error("--form \"%s\": give model and kind, 1,1 to 3,k; for example 2,1", form);
    return false;
}

static enum omo_status run(const struct agreement_words *w, const char *path)
{
    struct omo_agreement_found found = {.path = path};
    double percent = 95;
    if (w->confidence &&
        (!omo_number_parse(w->confidence, &percent) || percent < 50 || percent > 99.9)) {
        omo_error("--confidence \"%s\" is no percentage; give 50 to 99.9", w->confidence);
        return OMO_ERR_ARG;
    }
    if (!form_fits(w->form))
        return OMO_ERR_ARG;
    if (!path)
        return plan(w, percent / 100);
    g_auto(GStrv) wide = w->wide ? g_strsplit(w->wide, ",", -1) : NULL;
    enum omo_status status =
        omo_agreement_read(&(struct omo_agreement_wish){.path = path,
                                                        .person = w->person,
                                                        .rater = w->rater,
                                                        .value = w->value,
                                                        .wide = wide,
                                                        .where = w->where,
                                                        .sides = w->components},
                           &found.table);
    if (status != OMO_OK)
        return status;
    found.value = w->wide ? w->wide : w->value ? w->value : "mean_of_maxima_deg";
    found.confidence = percent / 100;
    status = report(w, &found);
    omo_agreement_table_free(&found.table);
    if (found.pairs)
        g_array_unref(found.pairs);
    return status == OMO_ERR_ARG ? OMO_ERR_FORMAT : status;
}

/** Options that take a text go into the struct's fields by name. */
#define TEXT(name, field, help, what)                                                    \
    {                                                                                    \
        name, 0, 0, G_OPTION_ARG_STRING, &w->field, help, what                           \
    }
#define PATH(name, field, help)                                                          \
    {                                                                                    \
        name, 0, 0, G_OPTION_ARG_FILENAME, &w->field, help, "FILE"                       \
    }
#define YES(name, field, help)                                                           \
    {                                                                                    \
        name, 0, 0, G_OPTION_ARG_NONE, &w->field, help, NULL                             \
    }

/** What is read from the file, and how. */
static void add_reading_options(GOptionContext *context, struct agreement_words *w)
{
    const GOptionEntry entries[] = {
        TEXT("person", person,
             OMO_WORD("the column that says who was measured (default: person)"),
             "COLUMN"),
        TEXT("rater", rater,
             OMO_WORD("the column that says who, or when, or with what it was measured "
                      "(default: rater)"),
             "COLUMN"),
        TEXT("value", value,
             OMO_WORD("the column of the values (default: mean_of_maxima_deg)"),
             "COLUMN"),
        TEXT("wide", wide,
             OMO_WORD("instead of --rater and --value: a column for each rater, a row "
                      "for each person"),
             "COLUMN,COLUMN"),
        {"where", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->where,
         OMO_WORD("only rows with this in a column; may be given several times"),
         "COLUMN=TEXT"},
        TEXT("confidence", confidence, OMO_WORD("of the intervals (default: 95)"),
             "PERCENT"),
        TEXT("form", form,
             OMO_WORD("one form of the intraclass correlation alone: model 1, 2 or 3, "
                      "and 1 (one rater) or k (the mean of all)"),
             "2,1"),
        YES("components", components,
            OMO_WORD("a mixed model of people, their sides and raters: both sides of a "
                     "person and missing or repeated trials may be there")),
        {0},
    };
    g_option_context_add_main_entries(context, entries, NULL);
}

/** What is written, and planning. */
static void add_writing_options(GOptionContext *context, struct agreement_words *w)
{
    const GOptionEntry entries[] = {
        PATH("csv", csv, OMO_WORD("the figures as a table: name, value, low, high")),
        PATH("plot", plot,
             OMO_WORD("of two raters the differences over the means, with the limits "
                      "(.svg, .pdf or .png)")),
        PATH("sheet", sheet,
             OMO_WORD("a sheet of what a paper has to say, known figures filled in, the "
                      "rest left blank")),
        TEXT("icc", plan_icc,
             OMO_WORD("without a file: how many people are needed for an expected "
                      "correlation"),
             "NUMBER"),
        TEXT("width", plan_width, OMO_WORD("... and this width of its interval"),
             "NUMBER"),
        TEXT("raters", plan_raters, OMO_WORD("... with so many raters (default: 2)"),
             "N"),
        YES("force", force, OMO_WORD("write over an existing file")),
        YES("json", json, OMO_WORD("print JSON")),
        {0},
    };
    g_option_context_add_main_entries(context, entries, NULL);
}

static void free_words(struct agreement_words *w)
{
    char *const all[] = {w->person,     w->rater,    w->value,      w->wide,
                         w->confidence, w->form,     w->csv,        w->plot,
                         w->sheet,      w->plan_icc, w->plan_width, w->plan_raters};
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_free(all[i]);
    g_strfreev(w->where);
}

static int run_words(const struct agreement_words *w, int argc, char **argv)
{
    bool planning = w->plan_icc || w->plan_width || w->plan_raters;
    enum omo_status status = OMO_ERR_ARG;
    if (argc != (planning ? 1 : 2))
        omo_error("give one CSV file, or --icc, --width and --raters without one; "
                  "\"omogon agreement --help\" shows how");
    else if (w->wide && (w->rater || w->value))
        omo_error("--wide takes the place of --rater and --value");
    else
        status = run(w, planning ? NULL : argv[1]);
    return status == OMO_OK        ? OMO_EXIT_DONE
           : status == OMO_ERR_ARG ? OMO_EXIT_USAGE
                                   : OMO_EXIT_FAILED;
}

int omo_command_agreement(int argc, char **argv)
{
    struct agreement_words w = {0};
    GOptionContext *context = g_option_context_new("FILE.csv");
    int code = OMO_EXIT_USAGE;
    add_reading_options(context, &w);
    add_writing_options(context, &w);
    omo_help_texts(
        context,
        OMO_WORD(
            "How well measurements repeat, from a CSV file: intraclass correlations of "
            "all forms with their\nintervals, standard error of measurement and "
            "detectable change, repeatability; of two raters\nalso the limits of "
            "agreement, of repeated pairs by a mixed model. People without a value of\n"
            "every rater are left out and counted."),
        OMO_WORD(
            "Examples:\n"
            "  omogon agreement sessions.csv --where movement=flexion --where "
            "side=right\n"
            "  omogon agreement table.csv --person who --wide tester_a,tester_b --plot "
            "ab.svg\n"
            "  omogon agreement sessions.csv --where movement=abduction --components\n"
            "  omogon agreement --icc 0.9 --width 0.2 --raters 2\n\n"
            "Sources: Shrout and Fleiss 1979, McGraw and Wong 1996, Bland and Altman "
            "1986 and 2007,\nZou 2013, Weir 2005, Quan and Shih 1996.\n"),
        false);
    if (omo_options_parse(context, &argc, &argv))
        code = run_words(&w, argc, argv);
    g_option_context_free(context);
    free_words(&w);
    return code;
}
