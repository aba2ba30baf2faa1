#include "app/agreement_out.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* ---- the mixed model -----------------------------------------------------------------
 */

struct omo_agreement_model omo_agreement_model_of(const struct omo_agreement_found *found)
{
    const struct omo_components *c = &found->components;
    const double *v = c->variance;
    struct omo_agreement_model m = {.person = v[0],
                                    .rater = v[1],
                                    .side = found->sides ? v[2] : (double)NAN,
                                    .residual = c->residual};
    double subject = m.person + (found->sides ? m.side : 0);
    m.icc_agreement = subject / (subject + m.rater + m.residual);
    m.icc_consistency = subject / (subject + m.residual);
    m.sem_agreement = sqrt(m.rater + m.residual);
    m.sem_consistency = sqrt(m.residual);
    return m;
}

enum omo_status omo_agreement_fit(struct omo_agreement_found *found)
{
    const GArray *each = found->table.each;
    const int *group[3];
    g_autofree double *y = g_new(double, each->len + 1);
    g_autofree int *person = g_new(int, each->len + 1);
    g_autofree int *side = g_new(int, each->len + 1);
    g_autofree int *rater = g_new(int, each->len + 1);
    for (guint i = 0; i < each->len; i++) {
        const struct omo_agreement_value *one =
            &g_array_index(each, struct omo_agreement_value, i);
        y[i] = one->value;
        person[i] = one->person;
        side[i] = one->side;
        rater[i] = one->rater;
    }
    found->sides = found->table.person_sides > found->table.persons;
    group[0] = person;
    group[1] = rater;
    group[2] = side;
    enum omo_status status =
        omo_components_fit(y, group, each->len, found->sides ? 3 : 2, &found->components);
    if (status == OMO_ERR_ARG)
        omo_error(
            "a model needs values of two people and two raters or more, more values "
            "than people's sides, and %d at most; there are %u values of %d people, "
            "%d sides, %u raters",
            OMO_COMPONENT_MOST, each->len, found->table.persons,
            found->table.person_sides, found->table.raters->len);
    else if (status == OMO_ERR_EMPTY)
        omo_error("nothing is left beside people, sides and raters: there is no error to "
                  "work out");
    else if (status != OMO_OK)
        omo_error("the model does not settle: %s", omo_status_text(status));
    found->has_components = status == OMO_OK;
    return status;
}

/* ---- CSV -----------------------------------------------------------------------------
 */

static void add(struct omo_csv_text *csv, const char *name, double value, double low,
                double high)
{
    omo_csv_add_text(csv, name);
    omo_csv_add_number(csv, value, 9);
    omo_csv_add_number(csv, low, 9);
    omo_csv_add_number(csv, high, 9);
    omo_csv_end_row(csv);
}

static void add_one(struct omo_csv_text *csv, const char *name, double value)
{
    add(csv, name, value, NAN, NAN);
}

static void add_agreement(struct omo_csv_text *csv, const struct omo_agreement *a)
{
    for (int k = 0; k < 2; k++)
        for (int i = 0; i < 3; i++) {
            const struct omo_icc *icc = k ? &a->average[i] : &a->single[i];
            char name[16];
            snprintf(name, sizeof name, "icc_%d_%s", i + 1, k ? "k" : "1");
            add(csv, name, icc->value, icc->low, icc->high);
        }
    add_one(csv, "sem_agreement", a->sem_agreement);
    add_one(csv, "sem_consistency", a->sem_consistency);
    add_one(csv, "mdc90_agreement", omo_detectable_change(a->sem_agreement, 0.9));
    add_one(csv, "mdc95_agreement", omo_detectable_change(a->sem_agreement, 0.95));
    add_one(csv, "mdc90_consistency", omo_detectable_change(a->sem_consistency, 0.9));
    add_one(csv, "mdc95_consistency", omo_detectable_change(a->sem_consistency, 0.95));
    add_one(csv, "within_sd", a->within_sd);
    add_one(csv, "repeatability", a->repeatability);
    add_one(csv, "variation_ratio", a->variation_ratio);
}

static void add_limits(struct omo_csv_text *csv, const struct omo_limits *l)
{
    add(csv, "bias", l->bias, l->bias_low, l->bias_high);
    add_one(csv, "difference_sd", l->sd);
    add(csv, "lower_limit", l->lower, l->lower_low, l->lower_high);
    add(csv, "upper_limit", l->upper, l->upper_low, l->upper_high);
    add(csv, "slope", l->slope, l->slope_low, l->slope_high);
    add_one(csv, "slope_p", l->slope_p);
}

static void add_pairs(struct omo_csv_text *csv, const struct omo_agreement_found *found)
{
    const struct omo_pair_limits *p = &found->pair_limits;
    const struct omo_limits *l = &p->limits;
    add_one(csv, "pairs", (double)l->pairs);
    add_one(csv, "pairs_unmatched", (double)found->unmatched);
    add(csv, "pair_bias", l->bias, l->bias_low, l->bias_high);
    add_one(csv, "pair_difference_sd", l->sd);
    add(csv, "pair_lower_limit", l->lower, l->lower_low, l->lower_high);
    add(csv, "pair_upper_limit", l->upper, l->upper_low, l->upper_high);
    add_one(csv, "pair_variance_person", p->person);
    if (isfinite(p->side))
        add_one(csv, "pair_variance_side", p->side);
    add_one(csv, "pair_variance_within", p->within);
}

static void add_model(struct omo_csv_text *csv, const struct omo_agreement_found *found)
{
    struct omo_agreement_model m = omo_agreement_model_of(found);
    add_one(csv, "variance_person", m.person);
    if (found->sides)
        add_one(csv, "variance_side", m.side);
    add_one(csv, "variance_rater", m.rater);
    add_one(csv, "variance_residual", m.residual);
    add_one(csv, "model_icc_agreement", m.icc_agreement);
    add_one(csv, "model_icc_consistency", m.icc_consistency);
    add_one(csv, "model_sem_agreement", m.sem_agreement);
    add_one(csv, "model_sem_consistency", m.sem_consistency);
    add_one(csv, "model_mdc95_agreement", omo_detectable_change(m.sem_agreement, 0.95));
    add_one(csv, "model_mdc95_consistency",
            omo_detectable_change(m.sem_consistency, 0.95));
}

enum omo_status omo_agreement_csv(const struct omo_agreement_found *found,
                                  const char *path)
{
    const struct omo_agreement_table *t = &found->table;
    struct omo_csv_text csv = {0};
    static const char *const head[] = {"name", "value", "low", "high"};
    for (size_t i = 0; i < G_N_ELEMENTS(head); i++)
        omo_csv_add_text(&csv, head[i]);
    omo_csv_end_row(&csv);
    add_one(&csv, "people", (double)t->people);
    add_one(&csv, "raters", t->raters->len);
    add_one(&csv, "people_left_out", (double)t->left_out);
    if (found->has_agreement)
        add_agreement(&csv, &found->agreement);
    if (found->has_limits)
        add_limits(&csv, &found->limits);
    if (omo_agreement_has_pairs(found))
        add_pairs(&csv, found);
    if (found->has_components)
        add_model(&csv, found);
    enum omo_status status = csv.failed
                                 ? OMO_ERR_MEMORY
                                 : omo_file_write_atomic(path, csv.bytes, csv.size, 0600);
    omo_csv_text_free(&csv);
    return status;
}

/* ---- the sheet -----------------------------------------------------------------------
 */

static char *shown(double value, int decimals)
{
    char text[40];
    omo_number_text(value, decimals, text, sizeof text);
    return g_strdup(text[0] ? text : "-");
}

static void topic(GString *sheet, int number, const char *title, const char *known)
{
    g_string_append_printf(sheet, "%d. %s\n   %s\n\n", number, title,
                           known[0] ? known
                                    : "............................................"
                                      "............................");
}

/** "9.53 (6.94 to 13.47)"; owned. */
static char *shown_span(double value, double low, double high)
{
    g_autofree char *middle = shown(value, 2), *from = shown(low, 2);
    g_autofree char *to = shown(high, 2);
    return g_strdup_printf("%s (%s to %s)", middle, from, to);
}

/** Limits of repeated pairs as a paper gives them. */
static void pair_statistics(const struct omo_agreement_found *found, GString *text)
{
    const struct omo_limits *l = &found->pair_limits.limits;
    g_autofree char *bias = shown_span(l->bias, l->bias_low, l->bias_high);
    g_autofree char *lower = shown_span(l->lower, l->lower_low, l->lower_high);
    g_autofree char *upper = shown_span(l->upper, l->upper_low, l->upper_high);
    g_string_append_printf(
        text,
        "%zu repeated pairs of %zu people, differences by a mixed model (REML): bias %s, "
        "limits of agreement of a single pair %s to %s; ",
        l->pairs, found->pair_limits.people, bias, lower, upper);
}

static char *statistics(const struct omo_agreement_found *found)
{
    GString *text = g_string_new(NULL);
    const struct omo_agreement *a = &found->agreement;
    g_autofree char *percent = shown(100 * found->confidence, 0);
    if (found->has_agreement)
        for (int i = 0; i < 3; i++) {
            g_autofree char *value = shown(a->single[i].value, 3);
            g_autofree char *low = shown(a->single[i].low, 3);
            g_autofree char *high = shown(a->single[i].high, 3);
            g_string_append_printf(text, "ICC(%d,1) %s (%s %% interval %s to %s); ",
                                   i + 1, value, percent, low, high);
        }
    if (found->has_agreement) {
        g_autofree char *sem = shown(a->sem_agreement, 2);
        g_autofree char *mdc = shown(omo_detectable_change(a->sem_agreement, 0.95), 2);
        g_autofree char *repeat = shown(a->repeatability, 2);
        g_string_append_printf(text, "SEM (agreement) %s, MDC95 %s; repeatability %s; ",
                               sem, mdc, repeat);
    }
    if (found->has_limits) {
        const struct omo_limits *l = &found->limits;
        g_autofree char *bias = shown(l->bias, 2);
        g_autofree char *lower = shown(l->lower, 2);
        g_autofree char *upper = shown(l->upper, 2);
        g_autofree char *slope = shown(l->slope, 3);
        g_autofree char *chance = shown(l->slope_p, 4);
        g_string_append_printf(text,
                               "bias %s, limits of agreement%s %s to %s; slope of the "
                               "difference %s (p = %s); ",
                               bias, found->pairs ? " of the means of trials" : "", lower,
                               upper, slope, chance);
    }
    if (omo_agreement_has_pairs(found))
        pair_statistics(found, text);
    if (found->has_components) {
        struct omo_agreement_model m = omo_agreement_model_of(found);
        g_autofree char *icc = shown(m.icc_agreement, 3);
        g_autofree char *sem = shown(m.sem_agreement, 2);
        g_string_append_printf(text,
                               "mixed model by REML with people%s and raters as random "
                               "effects: ICC (agreement) %s, SEM %s; ",
                               found->sides ? ", their sides" : "", icc, sem);
    }
    if (text->len > 2)
        g_string_truncate(text, text->len - 2);
    return g_string_free(text, FALSE);
}

enum omo_status omo_agreement_sheet(const struct omo_agreement_found *found,
                                    const char *path)
{
    const struct omo_agreement_table *t = &found->table;
    g_autoptr(GString) sheet = g_string_new(
        "Reporting sheet for a study of reliability or agreement\n\n"
        "Topics after the Guidelines for Reporting Reliability and Agreement Studies\n"
        "(Kottner and others, Journal of Clinical Epidemiology 64, 2011, 96), in words "
        "of\n"
        "our own and from memory: compare them with the paper. What the file tells is\n"
        "filled in; dots are for who did the study.\n\n");
    g_autofree char *file = g_path_get_basename(found->path);
    g_autofree char *sample =
        g_strdup_printf("%zu people with a value of each of %u raters (%s, column %s)",
                        t->people, t->raters->len, file, found->value);
    g_autofree char *missing =
        g_strdup_printf("%zu people left out for want of a rater's value; %zu further "
                        "trials averaged; %zu "
                        "rows withdrawn; %zu rows without a rater",
                        t->left_out, t->repeated, t->withdrawn, t->nameless);
    g_autofree char *figures = statistics(found);
    const struct {
        const char *title, *known;
    } topics[] = {
        {"Title or abstract: that reliability or agreement was studied, of what", ""},
        {"The measurement: what is measured, with which device and version",
         "projected angle of the upper arm from one camera, omogon " OMO_VERSION},
        {"The people: whom it is meant for, from where they came", ""},
        {"The raters: who, how many, how trained", ""},
        {"What was known before, and why the study was done", ""},
        {"How many people, raters and repetitions were wanted, and why", ""},
        {"How people and raters were chosen", ""},
        {"The procedure: order, time between, markers taken off and put on again, "
         "surroundings",
         ""},
        {"Whether ratings were independent, and who was blind to what", ""},
        {"The statistics used",
         !figures[0] ? ""
         : omo_agreement_has_pairs(found)
             ? "see 13; intervals after Shrout and Fleiss 1979, Bland and Altman 1986; "
               "repeated pairs after Bland and Altman 2007, intervals after Zou 2013"
             : "see 13; intervals after Shrout and Fleiss 1979, Bland and Altman 1986"},
        {"How many were there in the end, how many ratings, what is missing", sample},
        {"What is missing", missing},
        {"The estimates with their uncertainty", figures},
        {"What the people and raters were like", ""},
        {"What it means in practice: is the error small enough for the use", ""},
        {"Limits of the study", ""},
        {"Where details and data can be found", ""},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(topics); i++)
        topic(sheet, (int)i + 1, topics[i].title, topics[i].known);
    return omo_file_write_atomic(path, sheet->str, sheet->len, 0600);
}
