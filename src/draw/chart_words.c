/* A chart in words, for who does not see it. */
#include <glib.h>

#include "omogon/chart.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define DAYS_A_MONTH 30.4375

const char *omo_chart_signs(void)
{
    return omo_word(
        "Dot: mean of a session; bar: what it is good to; short line: highest; "
        "hollow square: before the shoulder lifts; line: trend, between dashes "
        "that are its interval; bars below: pain.");
}

char *omo_chart_words(const struct omo_chart *chart)
{
    char first[32], last[32], low[32], high[32], trend[32];
    const struct omo_chart_point *a = chart->points, *b = a + chart->count - 1;
    omo_number_text(a->mean_deg, 1, first, sizeof first);
    omo_number_text(b->mean_deg, 1, last, sizeof last);
    GString *text = g_string_new(NULL);
    g_string_append_printf(text,
                           omo_word("%s: %u sessions, the first with a mean of %s "
                                    "degrees, the newest with %s."),
                           chart->what, (unsigned)chart->count, first, last);
    if (chart->has_trend) {
        omo_number_text(chart->trend_deg_per_day * DAYS_A_MONTH, 1, trend, sizeof trend);
        omo_number_text(chart->trend_low_deg_per_day * DAYS_A_MONTH, 1, low, sizeof low);
        omo_number_text(chart->trend_high_deg_per_day * DAYS_A_MONTH, 1, high,
                        sizeof high);
        g_string_append_c(text, ' ');
        g_string_append_printf(
            text, omo_word("Trend: %s degrees a month, with an interval of %s to %s."),
            trend, low, high);
    }
    return g_string_free(text, FALSE);
}
