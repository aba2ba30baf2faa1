/*
 * What a frame costs in a live movement: the whole step, and how much of it finding and
 * taking out pivot and plane is. CPU time of one thread; the runs with and without
 * correction take turns. Ends with 1 when the correction's mean is beyond the limit.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "../body_model.h"
#include "omogon/live.h"

#define FRAMES_MAX 2400
#define RUNS       5
#define LIMIT_US   30.0

static struct omo_track_frame frames[FRAMES_MAX];

static double cpu_us(void)
{
    struct timespec now;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e6 + (double)now.tv_nsec * 1e-3;
}

/** Mean of a step, and the longest one; NAN when it cannot be run. */
static double run_us(const struct omo_live_settings *settings, size_t count,
                     double *longest_us)
{
    struct omo_live *live = NULL;
    struct omo_live_view view;
    double sum_us = 0;
    *longest_us = 0;
    if (omo_live_create(settings, &live) != OMO_OK)
        return NAN;
    for (size_t k = 0; k < count; k++) {
        double from_us = cpu_us();
        if (omo_live_step(live, &frames[k], &view) != OMO_OK)
            sum_us = NAN;
        double step_us = cpu_us() - from_us;
        sum_us += step_us;
        *longest_us = fmax(*longest_us, step_us);
    }
    omo_live_destroy(live);
    return sum_us / (double)count;
}

int main(void)
{
    struct omo_movement_table *table = NULL;
    struct figure figure = {.movement = "abduction",
                            .side = OMO_RIGHT,
                            .hip = true,
                            .chest = true,
                            .wrist = true,
                            .rest_deg = 4,
                            .top_deg = 140,
                            .repetitions = 5,
                            .rest_s = 8,
                            .move_s = 3,
                            .hold_s = 1};
    struct omo_live_settings settings;
    if (omo_movement_table_load(NULL, &table) != OMO_OK)
        return 1;
    omo_live_settings_default(&settings);
    figure_settings(&figure, table, &settings.measure);
    size_t count = figure_frames(&figure);
    count = count < FRAMES_MAX ? count : FRAMES_MAX;
    figure_film(&figure, frames, count);
    double best[2] = {INFINITY, INFINITY}, longest[2] = {0, 0};
    for (int run = 0; run < 2 * RUNS; run++) {
        double longest_us;
        settings.measure.no_correction = run % 2 == 0;
        double mean_us = run_us(&settings, count, &longest_us);
        if (mean_us < best[run % 2]) {
            best[run % 2] = mean_us;
            longest[run % 2] = longest_us;
        }
    }
    omo_movement_table_destroy(table);
    double cost_us = best[1] - best[0];
    bool met = cost_us <= LIMIT_US;
    printf("a live frame, mean of %zu, best of %d runs: %.1f us; without correction %.1f "
           "us\n"
           "longest step %.0f us; without correction %.0f us\n"
           "pivot and plane: %.1f us a frame (at most %.0f: %s)\n",
           count, RUNS, best[1], best[0], longest[1], longest[0], cost_us, LIMIT_US,
           met ? "met" : "MISSED");
    return met ? 0 : 1;
}
