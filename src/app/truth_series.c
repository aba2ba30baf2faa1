#include "app/truth_series.h"

#include <math.h>

#include "omogon/words.h"

void omo_truth_series_init(struct omo_truth_series *series)
{
    series->frame = g_array_new(FALSE, FALSE, sizeof(struct omo_truth));
}

void omo_truth_series_finish(struct omo_truth_series *series)
{
    if (series->frame)
        g_array_unref(series->frame);
    series->frame = NULL;
}

void omo_truth_series_add(struct omo_truth_series *series, const struct omo_truth *truth)
{
    g_array_append_vals(series->frame, truth, 1);
}

void omo_truth_compare(const struct omo_truth_series *series, double first_s,
                       double last_s, const struct omo_result *result,
                       struct omo_truth_line lines[OMO_TRUTH_LINES])
{
    const struct omo_truth *truth = (const struct omo_truth *)(void *)series->frame->data;
    size_t all = series->frame->len, count = 0, line_at = 0;
    double *time_s = g_new(double, 3 * all + 1);
    double *joint_deg = time_s + all, *line_deg = joint_deg + all;
    size_t *from = g_new(size_t, all + 1);
    for (size_t i = 0; i < all; i++) {
        /* Half a millisecond: stamps went through whole microseconds. */
        if (truth[i].time_s < first_s - 5e-4 || truth[i].time_s > last_s + 5e-4)
            continue;
        time_s[count] = truth[i].time_s;
        joint_deg[count] = truth[i].angle_deg;
        from[count] = i;
        line_deg[count++] = truth[i].angle_image_deg;
    }
    double joint =
        omo_sustained_max_deg(time_s, joint_deg, count, 0.2, 0.1, INFINITY, NULL);
    double held = omo_sustained_max_deg(time_s, joint_deg, count, 1.0, 0.1, 1.0, NULL);
    double line =
        omo_sustained_max_deg(time_s, line_deg, count, 0.2, 0.1, INFINITY, &line_at);
    const struct omo_truth *top =
        count > 0 && isfinite(line) ? &truth[from[line_at]] : NULL;
    const char *degrees = omo_word("degrees");
    const struct omo_truth_line made[OMO_TRUTH_LINES] = {
        {omo_word("highest angle, between the joints"), degrees, result->max_deg, joint,
         1},
        {omo_word("  which is good to, either way"), degrees, result->max_u95_deg, NAN,
         1},
        {omo_word("highest angle, line through the stickers"), degrees,
         result->image_max_deg, line, 1},
        {omo_word("held for a second, between the joints"), degrees, result->held_max_deg,
         held, 1},
        {omo_word("shoulder raised at the highest"),
         /* xgettext:no-c-format */
         omo_word("% of the upper arm"), result->hike_at_max_ratio * 100,
         top ? top->hike_ratio * 100 : (double)NAN, 1},
        {omo_word("trunk leaning at the highest"), degrees, result->lean_at_max_deg,
         top ? top->trunk_lean_deg : (double)NAN, 1},
        {omo_word("repetitions"), "", result->repetitions, NAN, 0},
    };
    for (int i = 0; i < OMO_TRUTH_LINES; i++)
        lines[i] = made[i];
    g_free(time_s);
    g_free(from);
}
