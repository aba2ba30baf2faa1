#include <math.h>
#include <stdio.h>
#include <string.h>

#include <cjson/cJSON.h>
#include <glib.h>

#include "app/agreement_out.h"
#include "app/commands.h"
#include "app/options.h"
#include "app/output_file.h"
#include "app/pipeline.h"
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

/** "0.715"; lent, eight at a time. */
static const char *shown(double value, int decimals)
{
    static char text[8][32];
    static int next;
    next = (next + 1) % 8;
    omo_number_text(value, decimals, text[next], sizeof text[next]);
    return text[next][0] ? text[next] : "-";
}

/* ---- text ---------------------------------------------------------------------------
 */

static void print_icc(int model, const char *k, const struct omo_icc *icc,
                      const char *what)
{
    printf("  ICC(%d,%s)  %7s  (%s to %s)  %s\n", model, k, shown(icc->value, 3),
           shown(icc->low, 3), shown(icc->high, 3), what);
}

/** A form that --form asked for: "2,1", "3,k", or NULL for all. */
static bool is_asked(const char *form, int model, bool average)
{
    return !form || (form[0] == '0' + model && form[2] == (average ? 'k' : '1'));
}

static void print_agreement(const struct omo_agreement *a, double confidence,
                            const char *form)
{
    const char *const what[] = {
        omo_word("raters not told apart"),
        omo_word("raters drawn by lot, absolute agreement"),
        omo_word("these raters alone, consistency"),
    };
    char k[24];
    g_snprintf(k, sizeof k, "%zu", a->raters);
    printf(omo_word("Intraclass correlation with its %s %% interval:\n"),
           shown(100 * confidence, 0));
    for (int i = 0; i < 3; i++)
        if (is_asked(form, i + 1, false))
            print_icc(i + 1, "1", &a->single[i], what[i]);
    if (!form || form[2] == 'k')
        puts(omo_word("  of the mean of all raters:"));
    for (int i = 0; i < 3; i++)
        if (is_asked(form, i + 1, true))
            print_icc(i + 1, k, &a->average[i], what[i]);
    printf(omo_word("Mean squares: people %s, raters %s, error %s, within people %s\n"),
           shown(a->between_ms, 3), shown(a->rater_ms, 3), shown(a->error_ms, 3),
           shown(a->within_ms, 3));
    printf(omo_word("SEM, agreement (raters and error): %s; MDC90 %s, MDC95 %s\n"),
           shown(a->sem_agreement, 2),
           shown(omo_detectable_change(a->sem_agreement, 0.9), 2),
           shown(omo_detectable_change(a->sem_agreement, 0.95), 2));
    printf(omo_word("SEM, consistency (error alone): %s; MDC90 %s, MDC95 %s\n"),
           shown(a->sem_consistency, 2),
           shown(omo_detectable_change(a->sem_consistency, 0.9), 2),
           shown(omo_detectable_change(a->sem_consistency, 0.95), 2));
    printf(omo_word("Within-person SD %s, repeatability coefficient %s, coefficient of "
                    "variation %s %%\n"),
           shown(a->within_sd, 2), shown(a->repeatability, 2),
           shown(100 * a->variation_ratio, 1));
}

static void print_limits(const struct omo_limits *l, const char *first,
                         const char *second)
{
    printf(omo_word("Limits of agreement, %s less %s:\n"), first, second);
    printf(omo_word("  mean difference %s (%s to %s), SD %s\n"), shown(l->bias, 2),
           shown(l->bias_low, 2), shown(l->bias_high, 2), shown(l->sd, 2));
    printf(omo_word("  lower limit %s (%s to %s), upper limit %s (%s to %s)\n"),
           shown(l->lower, 2), shown(l->lower_low, 2), shown(l->lower_high, 2),
           shown(l->upper, 2), shown(l->upper_low, 2), shown(l->upper_high, 2));
    printf(omo_word("  difference over the mean: slope %s, p = %s\n"), shown(l->slope, 3),
           shown(l->slope_p, 4));
}

static void print_table(const struct omo_agreement_table *t)
{
    if (t->person_sides > t->persons) {
        printf(omo_word("%u values of %d people, %d sides, by %u raters.\n"),
               t->each->len, t->persons, t->person_sides, t->raters->len);
        return;
    }
    printf(omo_word("%zu people by %u raters, %zu rows"), t->people, t->raters->len,
           t->rows);
    if (t->left_out)
        printf(omo_word("; %zu people left out, a rater's value is missing"),
               t->left_out);
    if (t->repeated)
        printf(omo_word("; %zu further trials averaged"), t->repeated);
    if (t->withdrawn)
        printf(omo_word("; %zu rows withdrawn or replaced, not counted"), t->withdrawn);
    if (t->nameless)
        printf(omo_word("; %zu rows without a rater, not counted"), t->nameless);
    puts(".");
}

static void print_model(const struct omo_agreement_found *f)
{
    struct omo_agreement_model m = omo_agreement_model_of(f);
    puts(omo_word("Mixed model (REML), all of them drawn by lot; variances:"));
    if (f->sides)
        printf(omo_word("  people %s, side within a person %s, raters %s, error %s\n"),
               shown(m.person, 3), shown(m.side, 3), shown(m.rater, 3),
               shown(m.residual, 3));
    else
        printf(omo_word("  people %s, raters %s, error %s\n"), shown(m.person, 3),
               shown(m.rater, 3), shown(m.residual, 3));
    printf(omo_word("  ICC, agreement %s, consistency %s\n"), shown(m.icc_agreement, 3),
           shown(m.icc_consistency, 3));
    printf(omo_word("  SEM, agreement %s (MDC95 %s), consistency %s (MDC95 %s)\n"),
           shown(m.sem_agreement, 2),
           shown(omo_detectable_change(m.sem_agreement, 0.95), 2),
           shown(m.sem_consistency, 2),
           shown(omo_detectable_change(m.sem_consistency, 0.95), 2));
}

/* ---- JSON ---------------------------------------------------------------------------
 */

static void add(cJSON *object, const char *name, double value)
{
    char text[32];
    omo_number_text(value, 9, text, sizeof text);
    cJSON_AddItemToObject(object, name, cJSON_CreateRaw(text[0] ? text : "null"));
}

static void add_icc(cJSON *object, int model, const char *form, const struct omo_icc *icc)
{
    cJSON *one = cJSON_CreateObject();
    g_autofree char *name = g_strdup_printf("icc_%d_%s", model, form);
    add(one, "value", icc->value);
    add(one, "low", icc->low);
    add(one, "high", icc->high);
    cJSON_AddItemToObject(object, name, one);
}

static void add_model(cJSON *object, const struct omo_agreement_found *f)
{
    struct omo_agreement_model m = omo_agreement_model_of(f);
    cJSON *one = cJSON_AddObjectToObject(object, "model");
    const struct {
        const char *name;
        double value;
    } numbers[] = {{"variance_person", m.person},
                   {"variance_side", m.side},
                   {"variance_rater", m.rater},
                   {"variance_residual", m.residual},
                   {"mean", f->components.mean},
                   {"mean_se", f->components.mean_se},
                   {"log_likelihood", f->components.log_likelihood},
                   {"icc_agreement", m.icc_agreement},
                   {"icc_consistency", m.icc_consistency},
                   {"sem_agreement", m.sem_agreement},
                   {"sem_consistency", m.sem_consistency}};
    for (size_t i = 0; i < G_N_ELEMENTS(numbers); i++)
        add(one, numbers[i].name, numbers[i].value);
}

static void add_agreement(cJSON *object, const struct omo_agreement *a)
{
    for (int i = 0; i < 3; i++)
        add_icc(object, i + 1, "1", &a->single[i]);
    for (int i = 0; i < 3; i++)
        add_icc(object, i + 1, "k", &a->average[i]);
    const struct {
        const char *name;
        double value;
    } numbers[] = {{"between_ms", a->between_ms},
                   {"within_ms", a->within_ms},
                   {"rater_ms", a->rater_ms},
                   {"error_ms", a->error_ms},
                   {"sem_agreement", a->sem_agreement},
                   {"sem_consistency", a->sem_consistency},
                   {"mdc90_agreement", omo_detectable_change(a->sem_agreement, 0.9)},
                   {"mdc90_consistency", omo_detectable_change(a->sem_consistency, 0.9)},
                   {"mdc95_agreement", omo_detectable_change(a->sem_agreement, 0.95)},
                   {"mdc95_consistency", omo_detectable_change(a->sem_consistency, 0.95)},
                   {"within_sd", a->within_sd},
                   {"repeatability", a->repeatability},
                   {"variation_ratio", a->variation_ratio}};
    for (size_t i = 0; i < G_N_ELEMENTS(numbers); i++)
        add(object, numbers[i].name, numbers[i].value);
}

static void print_json(const struct omo_agreement_found *f)
{
    const struct omo_agreement_table *t = &f->table;
    const struct omo_limits *l = f->has_limits ? &f->limits : NULL;
    cJSON *array = cJSON_CreateArray(), *object = cJSON_CreateObject();
    cJSON_AddItemToArray(array, object);
    cJSON_AddNumberToObject(object, "people", (double)t->people);
    cJSON_AddNumberToObject(object, "raters", t->raters->len);
    cJSON_AddNumberToObject(object, "left_out", (double)t->left_out);
    cJSON_AddNumberToObject(object, "repeated", (double)t->repeated);
    cJSON_AddNumberToObject(object, "withdrawn", (double)t->withdrawn);
    cJSON_AddNumberToObject(object, "nameless", (double)t->nameless);
    if (f->has_agreement)
        add_agreement(object, &f->agreement);
    if (l) {
        const struct {
            const char *name;
            double value;
        } limits[] = {{"bias", l->bias},
                      {"bias_low", l->bias_low},
                      {"bias_high", l->bias_high},
                      {"sd", l->sd},
                      {"lower", l->lower},
                      {"lower_low", l->lower_low},
                      {"lower_high", l->lower_high},
                      {"upper", l->upper},
                      {"upper_low", l->upper_low},
                      {"upper_high", l->upper_high},
                      {"slope", l->slope},
                      {"slope_p", l->slope_p}};
        cJSON *one = cJSON_AddObjectToObject(object, "limits");
        for (size_t i = 0; i < G_N_ELEMENTS(limits); i++)
            add(one, limits[i].name, limits[i].value);
    }
    if (f->has_components)
        add_model(object, f);
    omo_json_print(array);
}

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
    if (w->json) {
        print_json(f);
    } else {
        print_table(&f->table);
        if (f->has_agreement)
            print_agreement(&f->agreement, f->confidence, w->form);
        if (f->has_limits)
            print_limits(&f->limits, g_ptr_array_index(f->table.raters, 0),
                         g_ptr_array_index(f->table.raters, 1));
        if (f->has_components)
            print_model(f);
    }
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
    printf(omo_word(
               "%zu people with %lld raters each, for a %s %% interval of %s about an "
               "ICC of %s.\n"),
           people, raters, shown(100 * confidence, 0), shown(width, 2), shown(icc, 2));
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
    return status == OMO_ERR_ARG ? OMO_ERR_FORMAT : status;
}

int omo_command_agreement(int argc, char **argv)
{
    struct agreement_words w = {0};
    GOptionContext *context = g_option_context_new("FILE.csv");
    const GOptionEntry entries[] = {
        {"person", 0, 0, G_OPTION_ARG_STRING, &w.person,
         OMO_WORD("the column that says who was measured (default: person)"), "COLUMN"},
        {"rater", 0, 0, G_OPTION_ARG_STRING, &w.rater,
         OMO_WORD("the column that says who, or when, or with what it was measured "
                  "(default: rater)"),
         "COLUMN"},
        {"value", 0, 0, G_OPTION_ARG_STRING, &w.value,
         OMO_WORD("the column of the values (default: mean_of_maxima_deg)"), "COLUMN"},
        {"wide", 0, 0, G_OPTION_ARG_STRING, &w.wide,
         OMO_WORD(
             "instead of --rater and --value: a column for each rater, a row for each "
             "person"),
         "COLUMN,COLUMN"},
        {"where", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w.where,
         OMO_WORD("only rows with this in a column; may be given several times"),
         "COLUMN=TEXT"},
        {"confidence", 0, 0, G_OPTION_ARG_STRING, &w.confidence,
         OMO_WORD("of the intervals (default: 95)"), "PERCENT"},
        {"form", 0, 0, G_OPTION_ARG_STRING, &w.form,
         OMO_WORD("one form of the intraclass correlation alone: model 1, 2 or 3, and 1 "
                  "(one rater) or k (the mean of all)"),
         "2,1"},
        {"components", 0, 0, G_OPTION_ARG_NONE, &w.components,
         OMO_WORD(
             "a mixed model of people, their sides and raters: both sides of a person "
             "and missing or repeated trials may be there"),
         NULL},
        {"csv", 0, 0, G_OPTION_ARG_FILENAME, &w.csv,
         OMO_WORD("the figures as a table: name, value, low, high"), "FILE"},
        {"plot", 0, 0, G_OPTION_ARG_FILENAME, &w.plot,
         OMO_WORD("of two raters the differences over the means, with the limits (.svg, "
                  ".pdf or .png)"),
         "FILE"},
        {"sheet", 0, 0, G_OPTION_ARG_FILENAME, &w.sheet,
         OMO_WORD("a sheet of what a paper has to say, known figures filled in, the rest "
                  "left blank"),
         "FILE"},
        {"icc", 0, 0, G_OPTION_ARG_STRING, &w.plan_icc,
         OMO_WORD("without a file: how many people are needed for an expected "
                  "correlation"),
         "NUMBER"},
        {"width", 0, 0, G_OPTION_ARG_STRING, &w.plan_width,
         OMO_WORD("... and this width of its interval"), "NUMBER"},
        {"raters", 0, 0, G_OPTION_ARG_STRING, &w.plan_raters,
         OMO_WORD("... with so many raters (default: 2)"), "N"},
        {"force", 0, 0, G_OPTION_ARG_NONE, &w.force,
         OMO_WORD("write over an existing file"), NULL},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w.json, OMO_WORD("print JSON"), NULL},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "How well measurements repeat, from a CSV file: intraclass correlations of "
            "all forms with their\nintervals, standard error of measurement and "
            "detectable change, repeatability; of two raters\nalso the limits of "
            "agreement. People without a value of every rater are left out and "
            "counted."),
        OMO_WORD(
            "Examples:\n"
            "  omogon agreement sessions.csv --where movement=flexion --where "
            "side=right\n"
            "  omogon agreement table.csv --person who --wide tester_a,tester_b --plot "
            "ab.svg\n"
            "  omogon agreement sessions.csv --where movement=abduction --components\n"
            "  omogon agreement --icc 0.9 --width 0.2 --raters 2\n\n"
            "Sources: Shrout and Fleiss 1979, McGraw and Wong 1996, Bland and Altman "
            "1986, Weir 2005.\n"),
        false);
    if (omo_options_parse(context, &argc, &argv)) {
        enum omo_status status = OMO_ERR_ARG;
        bool planning = w.plan_icc || w.plan_width || w.plan_raters;
        if (argc != (planning ? 1 : 2))
            omo_error("give one CSV file, or --icc, --width and --raters without one; "
                      "\"omogon agreement --help\" shows how");
        else if (w.wide && (w.rater || w.value))
            omo_error("--wide takes the place of --rater and --value");
        else
            status = run(&w, planning ? NULL : argv[1]);
        code = status == OMO_OK        ? OMO_EXIT_DONE
               : status == OMO_ERR_ARG ? OMO_EXIT_USAGE
                                       : OMO_EXIT_FAILED;
    }
    g_option_context_free(context);
    char *const all[] = {w.person,     w.rater,    w.value,      w.wide,
                         w.confidence, w.form,     w.csv,        w.plot,
                         w.sheet,      w.plan_icc, w.plan_width, w.plan_raters};
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_free(all[i]);
    g_strfreev(w.where);
    return code;
}
