#include "study_summary.h"

#include <math.h>
#include <stdlib.h>

#include "omogon/filter.h"

#define HIKE_MM  25.0
#define NEAR_DEG 6.0

static double square(double x)
{
    return x * x;
}

/** Sums while counting. */
struct sums {
    double error, error2, plain, plain2, thorax2, turned2;
    size_t inside, thorax_inside, plain_inside;
};

static void add(struct sums *sums, const struct study_row *row)
{
    double error_deg = row->measured_deg - row->truth_deg;
    double plain_deg = row->uncorrected_deg - row->truth_deg;
    double thorax_deg = row->measured_deg - row->thorax_deg;
    sums->error += error_deg;
    sums->error2 += square(error_deg);
    sums->plain += plain_deg;
    sums->plain2 += square(plain_deg);
    sums->thorax2 += square(thorax_deg);
    sums->turned2 += square(row->measured_deg - row->turned_deg);
    sums->inside += fabs(error_deg) <= row->u95_deg;
    sums->thorax_inside += fabs(thorax_deg) <= row->thorax_u95_deg;
    sums->plain_inside += fabs(plain_deg) <= row->uncorrected_u95_deg;
}

static void divide(const struct sums *sums, struct study_summary *s)
{
    double n = (double)s->count;
    s->bias_deg = sums->error / n;
    s->rms_deg = sqrt(sums->error2 / n);
    s->uncorrected_bias_deg = sums->plain / n;
    s->uncorrected_rms_deg = sqrt(sums->plain2 / n);
    s->thorax_rms_deg = sqrt(sums->thorax2 / n);
    s->turned_rms_deg = sqrt(sums->turned2 / n);
    s->coverage = (double)sums->inside / n;
    s->thorax_coverage = (double)sums->thorax_inside / n;
    s->uncorrected_coverage = (double)sums->plain_inside / n;
}

void study_summarise(const struct study_cell *cell, double low_deg, double high_deg,
                     struct study_summary *summary)
{
    *summary = (struct study_summary){0};
    struct sums sums = {0};
    double *u95 = calloc(cell->count + 1, sizeof *u95);
    double *plain_u95 = calloc(cell->count + 1, sizeof *plain_u95);
    for (size_t k = 0; u95 && plain_u95 && k < cell->count; k++) {
        const struct study_row *row = &cell->rows[k];
        if (!(row->truth_deg >= low_deg && row->truth_deg < high_deg))
            continue;
        if (!isfinite(row->measured_deg) || !isfinite(row->uncorrected_deg)) {
            summary->missing++;
            continue;
        }
        add(&sums, row);
        u95[summary->count] = row->u95_deg;
        plain_u95[summary->count++] = row->uncorrected_u95_deg;
    }
    divide(&sums, summary);
    if (u95 && plain_u95) {
        summary->median_u95_deg = omo_median(u95, summary->count);
        summary->uncorrected_median_u95_deg = omo_median(plain_u95, summary->count);
    }
    free(u95);
    free(plain_u95);
}

void study_compare_visits(const struct study_cell *first, const struct study_cell *second,
                          struct study_retest *retest)
{
    double sum2 = 0, plain2 = 0;
    size_t count = 0;
    for (size_t k = 0; k < first->count && k < second->count; k++) {
        const struct study_row *a = &first->rows[k], *b = &second->rows[k];
        /* The same movement to within a few hundredths; what differs is taken out. */
        double true_deg = b->truth_deg - a->truth_deg;
        double change_deg = b->measured_deg - a->measured_deg - true_deg;
        double plain_deg = b->uncorrected_deg - a->uncorrected_deg - true_deg;
        if (!isfinite(change_deg) || !isfinite(plain_deg))
            continue;
        sum2 += square(change_deg);
        plain2 += square(plain_deg);
        count++;
    }
    /* Two measurements a person: the variance within is half that of the difference. */
    *retest = (struct study_retest){
        .count = count,
        .sem_deg = sqrt(sum2 / 2.0 / (double)count),
        .uncorrected_sem_deg = sqrt(plain2 / 2.0 / (double)count),
    };
}

void study_count_onsets(const struct study_cell *cell, struct study_onsets *onsets)
{
    *onsets = (struct study_onsets){0};
    double sum_deg = 0;
    for (size_t k = 0; k < cell->count; k++) {
        const struct study_row *row = &cell->rows[k];
        bool found = isfinite(row->onset_deg);
        if (!isfinite(row->true_onset_deg)) {
            onsets->naturals++;
            onsets->false_onsets += found;
        } else if (row->hike_30_mm >= HIKE_MM) {
            double error_deg = row->onset_deg - row->true_onset_deg;
            onsets->hikes++;
            onsets->found += found;
            onsets->near += found && fabs(error_deg) <= NEAR_DEG;
            sum_deg += found ? error_deg : 0.0;
        }
    }
    onsets->bias_deg = onsets->found > 0 ? sum_deg / (double)onsets->found : 0.0;
}
