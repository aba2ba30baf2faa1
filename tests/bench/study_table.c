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
static const double u95_max_deg[STUDY_SETS] = {3.5, 5.5, INFINITY};
static const double mdc95_max_deg[STUDY_SETS] = {4.5, 5.5, 7.0};
static const double band_edges_deg[] = {30, 45, 60, 90, 120, 150, 180};
enum { ARC_BANDS = sizeof band_edges_deg / sizeof band_edges_deg[0] - 1 };

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

static void print_summary(const char *what, const struct study_summary *s)
{
    printf("| %s | %zu | %.2f | %.2f | %.2f | %.2f | %.2f | %.1f | %.1f | %.2f |", what,
           s->count, s->bias_deg, s->rms_deg, s->uncorrected_rms_deg, s->thorax_rms_deg,
           s->line_rms_deg, 100.0 * s->coverage, 100.0 * s->thorax_coverage,
           s->median_u95_deg);
}

static void print_head(const char *first, const char *last)
{
    printf("\n| %s | n | bias | RMS | uncorrected RMS | RMS to thorax | RMS to line | "
           "coverage %% | coverage thorax %% | median u95 |%s\n",
           first, last);
    printf("|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|%s\n", *last ? "---|" : "");
}

static void check_cell(struct check *check, const struct study_case *of,
                       const struct study_summary *s)
{
    const char *name = cell_name(of);
    double rms_deg = rms_max_deg[of->set][of->placement];
    require(check, s->missing == 0, "%s: %zu without a maximum", name, s->missing);
    require(check, s->rms_deg <= rms_deg, "%s: RMS %.2f, at most %.1f", name, s->rms_deg,
            rms_deg);
    require(check, fabs(s->bias_deg) <= BIAS_MAX_DEG, "%s: bias %.2f, at most %.1f", name,
            s->bias_deg, BIAS_MAX_DEG);
    require(check, s->coverage >= COVERAGE_MIN && s->coverage <= COVERAGE_MAX,
            "%s: coverage %.1f %%, 93 to 97", name, 100.0 * s->coverage);
    require(check, s->median_u95_deg <= u95_max_deg[of->set],
            "%s: median u95 %.2f, at most %.1f", name, s->median_u95_deg,
            u95_max_deg[of->set]);
    require(check,
            of->placement != STUDY_EDGE ||
                s->rms_deg <= EDGE_SHARE * s->uncorrected_rms_deg,
            "%s: RMS %.2f, at most half of %.2f", name, s->rms_deg,
            s->uncorrected_rms_deg);
}

static void print_limits(const struct study_case *of)
{
    double rms_deg = rms_max_deg[of->set][of->placement];
    if (isfinite(rms_deg))
        printf(" RMS %.1f%s, u95 %.1f |\n", rms_deg,
               of->placement == STUDY_EDGE ? " and half" : "", u95_max_deg[of->set]);
    else
        printf(" |\n");
}

static void print_cells(const struct study_plan *plan, struct check *check)
{
    print_head("movement, markers, shoulder marker", " at most |");
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        if (!is_main(&cell->of))
            continue;
        struct study_summary s;
        study_summarise(cell, -INFINITY, INFINITY, &s);
        print_summary(cell_name(&cell->of), &s);
        print_limits(&cell->of);
        check_cell(check, &cell->of, &s);
    }
}

static void check_band(struct check *check, const char *name, double low_deg,
                       const struct study_summary *s)
{
    if (low_deg < BAND_LOW_DEG || s->count < BAND_COUNT_MIN)
        return;
    require(check, s->rms_deg <= s->uncorrected_rms_deg, "%s: RMS %.2f, uncorrected %.2f",
            name, s->rms_deg, s->uncorrected_rms_deg);
    require(check, s->coverage >= COVERAGE_MIN && s->coverage <= COVERAGE_MAX,
            "%s: coverage %.1f %%, 93 to 97", name, 100.0 * s->coverage);
}

static void print_bands(const struct study_plan *plan, struct check *check)
{
    printf("\nPer band of the true maximum; from %.0f degrees on no RMS larger than "
           "uncorrected, coverage 93 to 97.\n",
           BAND_LOW_DEG);
    print_head("movement, markers, shoulder marker, degrees", "");
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        for (int band = 0; is_main(&cell->of) && band < ARC_BANDS; band++) {
            double low_deg = band_edges_deg[band], high_deg = band_edges_deg[band + 1];
            struct study_summary s;
            study_summarise(cell, low_deg, high_deg, &s);
            if (s.count == 0)
                continue;
            char name[128];
            snprintf(name, sizeof name, "%s, %.0f to %.0f", cell_name(&cell->of), low_deg,
                     high_deg);
            print_summary(name, &s);
            putchar('\n');
            check_band(check, name, low_deg, &s);
        }
    }
}

static void print_frozen(const struct study_plan *plan, struct check *check)
{
    printf(
        "\nA girdle so stiff that the shoulder blade does not turn at all: RMS at most "
        "%.1f more than uncorrected.\n",
        FROZEN_MORE_DEG);
    print_head("movement, markers, shoulder marker", "");
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        if (cell->of.girdle != STUDY_FROZEN)
            continue;
        struct study_summary s;
        study_summarise(cell, -INFINITY, INFINITY, &s);
        print_summary(cell_name(&cell->of), &s);
        putchar('\n');
        require(check, s.rms_deg <= s.uncorrected_rms_deg + FROZEN_MORE_DEG,
                "%s: RMS %.2f, uncorrected %.2f", cell_name(&cell->of), s.rms_deg,
                s.uncorrected_rms_deg);
    }
}

static void print_retest(const struct study_plan *plan, struct check *check)
{
    printf(
        "\nMarkers taken off and put on again, camera and person placed anew, the same "
        "movement.\n\n"
        "| movement, markers, shoulder marker | n | SEM | MDC95 | uncorrected SEM | "
        "uncorrected MDC95 | MDC95 at most |\n|---|--:|--:|--:|--:|--:|--:|\n");
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *again = &plan->cell[i];
        struct study_case of = again->of;
        if (of.visit == 0)
            continue;
        of.visit = 0;
        const struct study_cell *first = study_plan_find(plan, &of);
        struct study_retest r;
        if (first == NULL)
            continue;
        study_compare_visits(first, again, &r);
        double mdc95_deg = STUDY_MDC95_PER_SEM * r.sem_deg;
        printf("| %s | %zu | %.2f | %.2f | %.2f | %.2f | %.1f |\n", cell_name(&of),
               r.count, r.sem_deg, mdc95_deg, r.uncorrected_sem_deg,
               STUDY_MDC95_PER_SEM * r.uncorrected_sem_deg, mdc95_max_deg[of.set]);
        require(check, mdc95_deg <= mdc95_max_deg[of.set], "%s: MDC95 %.2f, at most %.1f",
                cell_name(&of), mdc95_deg, mdc95_max_deg[of.set]);
    }
}

static void print_onsets(const struct study_plan *plan, struct check *check)
{
    printf("\nOnset of excess hiking: found within 6 degrees in at least 90 %% of those "
           "that rise 25 mm or more within 30 degrees; at most 5 %% false in people with "
           "natural rise alone.\n\n"
           "| movement, markers, shoulder marker | hikes | found %% | within 6 %% | mean "
           "error | natural rise alone | false %% |\n|---|--:|--:|--:|--:|--:|--:|\n");
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        struct study_onsets o;
        study_count_onsets(cell, &o);
        if (!is_main(&cell->of) || o.hikes == 0)
            continue;
        double near = (double)o.near / (double)o.hikes;
        double wrong = (double)o.false_onsets / (double)o.naturals;
        printf("| %s | %zu | %.1f | %.1f | %.1f | %zu | %.1f |\n", cell_name(&cell->of),
               o.hikes, 100.0 * (double)o.found / (double)o.hikes, 100.0 * near,
               o.bias_deg, o.naturals, 100.0 * wrong);
        require(check, near >= ONSETS_NEAR_MIN, "%s: %.1f %% of onsets within 6 degrees",
                cell_name(&cell->of), 100.0 * near);
        require(check, wrong <= FALSE_ONSETS_MAX, "%s: %.1f %% false onsets",
                cell_name(&cell->of), 100.0 * wrong);
    }
}

int study_table_print(const struct study_plan *plan, bool name_missed)
{
    struct check check = {.name_missed = name_missed};
    const struct study_cell *first = &plan->cell[0];
    printf(
        "**Simulated.** Seeds %llu to %llu, trunk markers %s. Errors in degrees, of the "
        "maximum; bias at most %.1f, coverage of u95 93 to 97 %%.\n",
        (unsigned long long)first->of.seed,
        (unsigned long long)(first->of.seed + first->count - 1),
        study_trunk_name((int)first->of.trunk), BIAS_MAX_DEG);
    print_cells(plan, &check);
    print_bands(plan, &check);
    print_frozen(plan, &check);
    print_retest(plan, &check);
    print_onsets(plan, &check);
    printf(
        "\nWhat a simulation cannot show: whether people move like this. Its spreads are "
        "mostly our choice\n(tests/bench/study_spreads.h), nobody was in pain, no sleeve "
        "slipped, no marker fell off, no\nexaminer took the elbow for the forearm. It "
        "shows that the corrections do what they should\non bodies richer than those "
        "they assume, and nothing about patients.\n");
    return check.missed;
}
