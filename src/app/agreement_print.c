/* What agreement found, as text and as JSON. */
#include <math.h>
#include <stdio.h>

#include <cjson/cJSON.h>

#include "app/agreement_out.h"
#include "app/pipeline.h"
#include "omogon/text.h"
#include "omogon/words.h"

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

/** Bias and limits, with their intervals. */
static void print_levels(const struct omo_limits *l)
{
    printf(omo_word("  mean difference %s (%s to %s), SD %s\n"), shown(l->bias, 2),
           shown(l->bias_low, 2), shown(l->bias_high, 2), shown(l->sd, 2));
    printf(omo_word("  lower limit %s (%s to %s), upper limit %s (%s to %s)\n"),
           shown(l->lower, 2), shown(l->lower_low, 2), shown(l->lower_high, 2),
           shown(l->upper, 2), shown(l->upper_low, 2), shown(l->upper_high, 2));
}

static void print_limits(const struct omo_agreement_found *f, const char *first,
                         const char *second)
{
    const struct omo_limits *l = &f->limits;
    printf(f->pairs
               ? omo_word("Limits of agreement of the means of trials, %s less %s:\n")
               : omo_word("Limits of agreement, %s less %s:\n"),
           first, second);
    print_levels(l);
    printf(omo_word("  difference over the mean: slope %s (%s to %s), p = %s\n"),
           shown(l->slope, 3), shown(l->slope_low, 3), shown(l->slope_high, 3),
           shown(l->slope_p, 4));
}

/** Repeated pairs: the limits of a single one, or why there are none. */
static void print_pairs(const struct omo_agreement_found *f, const char *first,
                        const char *second)
{
    const struct omo_pair_limits *p = &f->pair_limits;
    if (!omo_agreement_has_pairs(f)) {
        printf(omo_word("Limits of agreement of single pairs: none; %s.\n"),
               omo_agreement_pairs_fault(f));
        return;
    }
    printf(omo_word("Limits of agreement of single pairs, %s less %s; mixed model (REML) "
                    "of %zu pairs of %zu people:\n"),
           first, second, p->limits.pairs, p->people);
    print_levels(&p->limits);
    if (isfinite(p->side))
        printf(omo_word("  variances of the differences: people %s, side within a person "
                        "%s, within %s\n"),
               shown(p->person, 3), shown(p->side, 3), shown(p->within, 3));
    else
        printf(omo_word("  variances of the differences: people %s, within %s\n"),
               shown(p->person, 3), shown(p->within, 3));
    if (f->unmatched)
        printf(omo_word("  %zu values without a partner left out\n"), f->unmatched);
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

/** The levels of struct omo_limits, which both kinds of limits have. */
static void add_levels(cJSON *object, const struct omo_limits *l)
{
    const struct {
        const char *name;
        double value;
    } levels[] = {{"bias", l->bias},
                  {"bias_low", l->bias_low},
                  {"bias_high", l->bias_high},
                  {"sd", l->sd},
                  {"lower", l->lower},
                  {"lower_low", l->lower_low},
                  {"lower_high", l->lower_high},
                  {"upper", l->upper},
                  {"upper_low", l->upper_low},
                  {"upper_high", l->upper_high}};
    for (size_t i = 0; i < G_N_ELEMENTS(levels); i++)
        add(object, levels[i].name, levels[i].value);
}

static void add_limits(cJSON *object, const struct omo_limits *l)
{
    cJSON *one = cJSON_AddObjectToObject(object, "limits");
    add_levels(one, l);
    add(one, "slope", l->slope);
    add(one, "slope_low", l->slope_low);
    add(one, "slope_high", l->slope_high);
    add(one, "slope_p", l->slope_p);
}

/** null where there are pairs but no limits. */
static void add_pairs(cJSON *object, const struct omo_agreement_found *f)
{
    const struct omo_pair_limits *p = &f->pair_limits;
    if (!omo_agreement_has_pairs(f)) {
        cJSON_AddNullToObject(object, "pair_limits");
        return;
    }
    cJSON *one = cJSON_AddObjectToObject(object, "pair_limits");
    cJSON_AddNumberToObject(one, "pairs", (double)p->limits.pairs);
    cJSON_AddNumberToObject(one, "people", (double)p->people);
    cJSON_AddNumberToObject(one, "sides", (double)p->sides);
    cJSON_AddNumberToObject(one, "unmatched", (double)f->unmatched);
    add_levels(one, &p->limits);
    add(one, "variance_person", p->person);
    add(one, "variance_side", p->side);
    add(one, "variance_within", p->within);
    add(one, "df", p->df);
}

void omo_agreement_print_json(const struct omo_agreement_found *f)
{
    const struct omo_agreement_table *t = &f->table;
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
    if (f->has_limits)
        add_limits(object, &f->limits);
    if (f->pairs)
        add_pairs(object, f);
    if (f->has_components)
        add_model(object, f);
    omo_json_print(array);
}

void omo_agreement_print(const struct omo_agreement_found *f, const char *form)
{
    print_table(&f->table);
    if (f->has_agreement)
        print_agreement(&f->agreement, f->confidence, form);
    if (f->has_limits)
        print_limits(f, g_ptr_array_index(f->table.raters, 0),
                     g_ptr_array_index(f->table.raters, 1));
    if (f->pairs)
        print_pairs(f, g_ptr_array_index(f->table.raters, 0),
                    g_ptr_array_index(f->table.raters, 1));
    if (f->has_components)
        print_model(f);
}
