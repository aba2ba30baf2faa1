#include "study_table.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "study_summary.h"

#define BIAS_MAX_DEG     0.5
#define FROZEN_MORE_DEG  1.2
#define EDGE_SHARE       0.5
#define COVERAGE_MIN     0.93
#define COVERAGE_MAX     0.97
#define ONSETS_NEAR_MIN  0.90
#define FALSE_ONSETS_MAX 0.05
#define BAND_LOW_DEG     45.0
#define BAND_HIGH_DEG    170.0
#define BAND_COUNT_MIN   50 /* fewer say nothing about a band of arc */

static const double rms_max_deg[STUDY_SETS][STUDY_PLACEMENTS] = {{1.6, 1.9},
                                                                 {2.6, 2.9},
                                                                 {INFINITY, INFINITY}};
static const char caveat[] =
    "\nWhat a simulation cannot show: whether people move like this. Its spreads are "
    "mostly "
    "our choice\n(tests/bench/study_spreads.h), and what the fit believes beforehand was "
    "chosen by the same hands,\nthough on other bodies. Nobody was in pain, no sleeve "
    "slipped, no marker fell off, nobody took one\nbone for another. It says how the "
    "method "
    "fares on bodies richer than those it assumes, and\nnothing about patients: that "
    "needs "
    "people.\n";

/* None for rotations. */
static const double u95_max_deg[STUDY_SETS] = {3.5, 5.5, INFINITY};
static const double mdc95_max_deg[STUDY_SETS] = {4.5, 5.5, 7.0};
static const double band_edges_deg[] = {10, 30, 45, 60, 90, 120, 150, 180};
enum { ARC_BANDS = sizeof band_edges_deg / sizeof band_edges_deg[0] - 1 };

static double rms_limit_deg(const struct study_case *of)
{
    return study_is_rotation(of->movement) ? (double)INFINITY
                                           : rms_max_deg[of->set][of->placement];
}

static double u95_limit_deg(const struct study_case *of)
{
    return study_is_rotation(of->movement) ? (double)INFINITY : u95_max_deg[of->set];
}

struct check {
    bool name_missed;
    int missed;
};

static void say_missed(struct check *check, const char *format, va_list arguments)
{
    check->missed++;
    if (!check->name_missed)
        return;
    fputs("study: missed: ", stderr);
    vfprintf(stderr, format, arguments);
    fputc('\n', stderr);
}

__attribute__((format(printf, 3, 4))) static void require(struct check *check, bool met,
                                                          const char *format, ...)
{
    if (met)
        return;
    va_list arguments;
    va_start(arguments, format);
    say_missed(check, format, arguments);
    va_end(arguments);
}

static const char *cell_name(const struct study_case *of)
{
    static char text[96];
    snprintf(text, sizeof text, "%s, %s, %s%s", study_movement_name((int)of->movement),
             study_set_name((int)of->set), study_placement_name((int)of->placement),
             of->girdle == STUDY_FROZEN ? ", frozen girdle" : "");
    return text;
}

static bool is_main(const struct study_case *of)
{
    return of->visit == 0 && of->girdle == STUDY_MOVING;
}

/** Everything about one cell. */
struct figures {
    struct study_summary all;
    bool again; /* there was a second visit */
    struct study_retest retest;
    struct study_onsets onsets;
};

static struct figures figures_of(const struct study_plan *plan,
                                 const struct study_cell *cell)
{
    struct figures f = {.again = false};
    study_summarise(cell, -INFINITY, INFINITY, &f.all);
    study_count_onsets(cell, &f.onsets);
    struct study_case of = cell->of;
    of.visit = 1;
    const struct study_cell *again = study_plan_find(plan, &of);
    f.again = again != NULL;
    if (f.again)
        study_compare_visits(cell, again, &f.retest);
    return f;
}

static double share(size_t part, size_t whole)
{
    return whole > 0 ? (double)part / (double)whole : (double)NAN;
}

static void check_errors(struct check *check, const struct study_case *of,
                         const struct study_summary *s)
{
    const char *name = cell_name(of);
    double rms_deg = rms_limit_deg(of);
    require(check, s->missing == 0, "%s: %zu without a maximum", name, s->missing);
    require(check, s->rms_deg <= rms_deg, "%s: RMS %.2f, at most %.1f", name, s->rms_deg,
            rms_deg);
    require(check, fabs(s->bias_deg) <= BIAS_MAX_DEG, "%s: bias %.2f, at most %.1f", name,
            s->bias_deg, BIAS_MAX_DEG);
    require(check, s->coverage >= COVERAGE_MIN && s->coverage <= COVERAGE_MAX,
            "%s: coverage %.1f %%, 93 to 97", name, 100.0 * s->coverage);
    require(check, s->median_u95_deg <= u95_limit_deg(of),
            "%s: median u95 %.2f, at most %.1f", name, s->median_u95_deg,
            u95_limit_deg(of));
    require(check,
            of->placement != STUDY_EDGE ||
                s->rms_deg <= EDGE_SHARE * s->uncorrected_rms_deg,
            "%s: RMS %.2f, at most half of %.2f", name, s->rms_deg,
            s->uncorrected_rms_deg);
}

static void check_others(struct check *check, const struct study_case *of,
                         const struct figures *f)
{
    const char *name = cell_name(of);
    double mdc95_deg = STUDY_MDC95_PER_SEM * f->retest.sem_deg;
    double near = share(f->onsets.near, f->onsets.hikes);
    double wrong = share(f->onsets.false_onsets, f->onsets.naturals);
    if (study_is_rotation(of->movement))
        return;
    require(check, !f->again || mdc95_deg <= mdc95_max_deg[of->set],
            "%s: MDC95 %.2f, at most %.1f", name, mdc95_deg, mdc95_max_deg[of->set]);
    require(check, f->onsets.hikes == 0 || near >= ONSETS_NEAR_MIN,
            "%s: %.1f %% of onsets within 6 degrees, at least 90", name, 100.0 * near);
    require(check, f->onsets.naturals == 0 || wrong <= FALSE_ONSETS_MAX,
            "%s: %.1f %% false onsets, at most 5", name, 100.0 * wrong);
}

static void print_limits(const struct study_case *of)
{
    if (study_is_rotation(of->movement)) {
        printf(" |\n");
        return;
    }
    double rms_deg = rms_limit_deg(of);
    if (isfinite(rms_deg))
        printf(" RMS %.1f%s, u95 %.1f, MDC95 %.1f |\n", rms_deg,
               of->placement == STUDY_EDGE ? " and half" : "", u95_max_deg[of->set],
               mdc95_max_deg[of->set]);
    else
        printf(" MDC95 %.1f |\n", mdc95_max_deg[of->set]);
}

static void print_cell(const struct study_case *of, const struct figures *f)
{
    const struct study_summary *s = &f->all;
    const struct study_onsets *o = &f->onsets;
    printf("| %s | %.2f | %.2f (%.2f) | %.2f | %.2f | %.1f | %.1f | %.2f |",
           cell_name(of), s->bias_deg, s->rms_deg, s->uncorrected_rms_deg,
           s->thorax_rms_deg, s->turned_rms_deg, 100.0 * s->coverage,
           100.0 * s->thorax_coverage, s->median_u95_deg);
    if (f->again)
        printf(" %.2f | %.2f (%.2f) |", f->retest.sem_deg,
               STUDY_MDC95_PER_SEM * f->retest.sem_deg,
               STUDY_MDC95_PER_SEM * f->retest.uncorrected_sem_deg);
    else
        printf(" | |");
    if (o->hikes > 0)
        printf(" %.1f of %zu | %.1f of %zu |", 100.0 * share(o->near, o->hikes), o->hikes,
               100.0 * share(o->false_onsets, o->naturals), o->naturals);
    else
        printf(" | |");
    print_limits(of);
}

static void print_cells(const struct study_plan *plan, struct check *check)
{
    printf(
        "\nIn brackets: without correction. Coverage: share of errors within u95, wanted "
        "93 "
        "to 97 %%; bias at most 0.5. MDC95: %.4f SEM, with the markers put on again, "
        "camera "
        "and person placed anew. Onsets of excess hiking by 25 mm or more within 30 "
        "degrees: found within 6 degrees, at least 90 %%; false: in people with natural "
        "rise alone, at most 5 %%.\n\n",
        STUDY_MDC95_PER_SEM);
    printf(
        "| movement, markers, shoulder marker | bias | RMS | RMS to thorax | RMS, thorax "
        "turned | "
        "coverage %% | to thorax | median u95 | SEM | MDC95 | onsets %% | false %% | "
        "at most "
        "|\n|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|---|\n");
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        if (!is_main(&cell->of))
            continue;
        struct figures f = figures_of(plan, cell);
        print_cell(&cell->of, &f);
        check_errors(check, &cell->of, &f.all);
        check_others(check, &cell->of, &f);
    }
}

/* ---- bands of arc ---- */

static void check_band(struct check *check, const struct study_case *of, double low_deg,
                       double high_deg, const struct study_summary *s)
{
    const char *name = cell_name(of);
    if (low_deg < BAND_LOW_DEG || s->count < BAND_COUNT_MIN)
        return;
    require(check, s->rms_deg <= s->uncorrected_rms_deg,
            "%s, %.0f to %.0f degrees: RMS %.2f, uncorrected %.2f", name, low_deg,
            high_deg, s->rms_deg, s->uncorrected_rms_deg);
    require(check, s->coverage >= COVERAGE_MIN && s->coverage <= COVERAGE_MAX,
            "%s, %.0f to %.0f degrees: coverage %.1f %%, 93 to 97", name, low_deg,
            high_deg, 100.0 * s->coverage);
}

static void print_cell_bands(const struct study_cell *cell, struct check *check)
{
    printf("| %s |", cell_name(&cell->of));
    for (int band = 0; band < ARC_BANDS; band++) {
        double low_deg = band_edges_deg[band], high_deg = band_edges_deg[band + 1];
        struct study_summary s;
        study_summarise(cell, low_deg, high_deg, &s);
        if (s.count >= BAND_COUNT_MIN)
            printf(" %.2f (%.2f) %.0f |", s.rms_deg, s.uncorrected_rms_deg,
                   100.0 * s.coverage);
        else
            printf(" |");
        check_band(check, &cell->of, low_deg, high_deg, &s);
    }
    putchar('\n');
}

static void print_bands(const struct study_plan *plan, struct check *check)
{
    printf(
        "\nPer band of the true maximum, degrees: RMS, uncorrected, coverage in %%. From "
        "%.0f on no RMS may be larger than uncorrected, and coverage is wanted 93 to "
        "97.\n\n"
        "| movement, markers, shoulder marker |",
        BAND_LOW_DEG);
    for (int band = 0; band < ARC_BANDS; band++)
        printf(" %.0f to %.0f |", band_edges_deg[band], band_edges_deg[band + 1]);
    printf("\n|---|");
    for (int band = 0; band < ARC_BANDS; band++)
        printf("--:|");
    putchar('\n');
    for (size_t i = 0; i < plan->cell_count; i++) {
        if (is_main(&plan->cell[i].of))
            print_cell_bands(&plan->cell[i], check);
    }
}

static void print_frozen(const struct study_plan *plan, struct check *check)
{
    printf(
        "\nA girdle so stiff that the shoulder blade does not turn at all: RMS at most "
        "%.1f more than uncorrected.\n\n| movement, markers, shoulder marker | bias | "
        "RMS "
        "| coverage %% |\n|---|--:|--:|--:|\n",
        FROZEN_MORE_DEG);
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        if (cell->of.girdle != STUDY_FROZEN)
            continue;
        struct study_summary s;
        study_summarise(cell, -INFINITY, INFINITY, &s);
        printf("| %s | %.2f | %.2f (%.2f) | %.1f |\n", cell_name(&cell->of), s.bias_deg,
               s.rms_deg, s.uncorrected_rms_deg, 100.0 * s.coverage);
        require(check, s.rms_deg <= s.uncorrected_rms_deg + FROZEN_MORE_DEG,
                "%s: RMS %.2f, uncorrected %.2f", cell_name(&cell->of), s.rms_deg,
                s.uncorrected_rms_deg);
    }
}

int study_table_print(const struct study_plan *plan, bool name_missed)
{
    struct check check = {.name_missed = name_missed};
    const struct study_cell *first = &plan->cell[0];
    printf(
        "**Simulated.** Seeds %llu to %llu, %zu sessions a line; trunk markers %s; the "
        "shoulder marker's place is %s; the camera is levelled %s. Errors of the maximum "
        "in degrees.\n",
        (unsigned long long)first->of.seed,
        (unsigned long long)(first->of.seed + first->count - 1), first->count,
        study_trunk_name((int)first->of.trunk), first->of.told ? "told" : "not told",
        first->of.levelled ? "by a board" : "by eye");
    print_cells(plan, &check);
    print_bands(plan, &check);
    print_frozen(plan, &check);
    fputs(caveat, stdout);
    return check.missed;
}
