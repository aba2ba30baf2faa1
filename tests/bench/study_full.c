/*
 * Are the study's large numbers worth anything? The same sessions twice: from the
 * markers' true places with noise, and from pictures in which the tracker has to find
 * them.
 */
#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "study_picture.h"
#include "study_summary.h"

/* What is called agreement: our choice, small against what the angle is good to. */
#define MEAN_MAX_DEG 0.2
#define RMS_MAX_DEG  0.5

#define FIRST_QUOTED_SEED 1000000

struct options {
    gint64 seed;
    int sessions, jobs;
    char *csv;
};

static bool open_eye(const struct omo_movement_table *table, struct study_eye *eye)
{
    struct study_picture *picture = study_picture_create(table);
    if (picture != NULL)
        *eye = study_picture_eye(picture);
    return picture != NULL;
}

static void close_eye(struct study_eye *eye)
{
    study_picture_destroy(eye->self);
}

/** All elevations with bands and stickers, both places of the shoulder marker by turns;
 *  one raise each. */
static void fill_plan(struct study_plan *plan, const struct options *o)
{
    enum { CELLS = STUDY_EXTERNAL * 2 };
    size_t count = (size_t)(o->sessions + CELLS - 1) / CELLS;
    for (int i = 0; i < CELLS; i++) {
        struct study_case of = {
            .seed = (uint64_t)o->seed,
            .movement = (enum study_movement)(i / 2),
            .set = i % 2 == 0 ? STUDY_BANDS : STUDY_STICKERS5,
            .placement = i / 2 % 2 == 0 ? STUDY_HEAD : STUDY_EDGE,
            .single = true,
        };
        study_plan_add(plan, &of, count);
    }
}

struct difference {
    size_t count, missing;
    double sum, sum2, largest;
};

static void add_differences(struct difference *d, const struct study_cell *fast,
                            const struct study_cell *full)
{
    for (size_t k = 0; k < fast->count; k++) {
        double deg = full->rows[k].measured_deg - fast->rows[k].measured_deg;
        if (!isfinite(deg)) {
            d->missing++;
            continue;
        }
        d->count++;
        d->sum += deg;
        d->sum2 += deg * deg;
        d->largest = fmax(d->largest, fabs(deg));
    }
}

static void print_line(const struct study_case *of, const struct difference *d,
                       const struct study_cell *fast, const struct study_cell *full)
{
    struct study_summary a, b;
    study_summarise(fast, -INFINITY, INFINITY, &a);
    study_summarise(full, -INFINITY, INFINITY, &b);
    printf(
        "| %s, %s, %s | %zu | %.2f | %.2f | %.2f | %.2f, %.2f | %.2f, %.2f | %.0f, %.0f "
        "|\n",
        study_movement_name((int)of->movement), study_set_name((int)of->set),
        study_placement_name((int)of->placement), d->count, d->sum / (double)d->count,
        sqrt(d->sum2 / (double)d->count), d->largest, a.bias_deg, b.bias_deg, a.rms_deg,
        b.rms_deg, 100.0 * a.coverage, 100.0 * b.coverage);
}

static bool print_comparison(const struct study_plan *fast, const struct study_plan *full)
{
    struct difference all = {0};
    printf(
        "**Simulated.** The same sessions (one raise each) from markers' places with "
        "noise, and from "
        "pictures. Degrees of the maximum.\n\n"
        "| movement, markers, shoulder marker | n | mean difference | RMS difference | "
        "largest | bias, fast and full | RMS error | coverage %% |\n"
        "|---|--:|--:|--:|--:|--:|--:|--:|\n");
    for (size_t i = 0; i < fast->cell_count; i++) {
        struct difference one = {0};
        add_differences(&one, &fast->cell[i], &full->cell[i]);
        add_differences(&all, &fast->cell[i], &full->cell[i]);
        print_line(&fast->cell[i].of, &one, &fast->cell[i], &full->cell[i]);
    }
    double mean_deg = all.sum / (double)all.count;
    double rms_deg = sqrt(all.sum2 / (double)all.count);
    bool agree =
        all.missing == 0 && fabs(mean_deg) <= MEAN_MAX_DEG && rms_deg <= RMS_MAX_DEG;
    printf("\nAll: %zu sessions, %zu without a maximum, mean difference %.2f (at most "
           "%.1f), "
           "RMS difference %.2f (at most %.1f), largest %.2f: they %s.\n",
           all.count, all.missing, mean_deg, MEAN_MAX_DEG, rms_deg, RMS_MAX_DEG,
           all.largest, agree ? "agree" : "do not agree");
    return agree;
}

static bool read_options(int argc, char **argv, struct options *o)
{
    GOptionEntry entries[] = {
        {"seed", 0, 0, G_OPTION_ARG_INT64, &o->seed, "first seed (1000000)", "N"},
        {"sessions", 0, 0, G_OPTION_ARG_INT, &o->sessions, "in all (200)", "N"},
        {"jobs", 0, 0, G_OPTION_ARG_INT, &o->jobs, "processes (2)", "N"},
        {"csv", 0, 0, G_OPTION_ARG_FILENAME, &o->csv,
         "one line a session, of the pictures", "FILE"},
        {NULL, 0, 0, 0, NULL, NULL, NULL},
    };
    GOptionContext *context = g_option_context_new("- the study's bodies as pictures");
    g_option_context_add_main_entries(context, entries, NULL);
    GError *error = NULL;
    bool fine = g_option_context_parse(context, &argc, &argv, &error);
    g_option_context_free(context);
    if (!fine) {
        fprintf(stderr, "study: %s. Try --help.\n", error->message);
        g_error_free(error);
    } else if (argc > 1 || o->sessions < 1 || o->jobs < 1 || o->seed < 0) {
        fprintf(stderr,
                "study: --sessions and --jobs take 1 or more, --seed 0 or more, and "
                "nothing else is taken.\n");
        fine = false;
    }
    return fine;
}

static int run(const struct options *o)
{
    struct study_plan *fast = calloc(1, sizeof *fast), *full = calloc(1, sizeof *full);
    bool fine = fast != NULL && full != NULL;
    if (fine) {
        full->open_eye = open_eye;
        full->close_eye = close_eye;
        fill_plan(fast, o);
        fill_plan(full, o);
        fine = study_plan_run(fast, o->jobs) && study_plan_run(full, o->jobs) &&
               (o->csv == NULL || study_plan_write(full, o->csv)) &&
               print_comparison(fast, full);
    }
    if (fast != NULL)
        study_plan_finish(fast);
    if (full != NULL)
        study_plan_finish(full);
    free(fast);
    free(full);
    return fine ? 0 : 1;
}

int main(int argc, char **argv)
{
    struct options o = {.seed = FIRST_QUOTED_SEED, .sessions = 200, .jobs = 2};
    int code = read_options(argc, argv, &o) ? run(&o) : 2;
    g_free(o.csv);
    return code;
}
