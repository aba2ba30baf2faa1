/** A course of weeks as a figure: sessions over their days, with what they are good to.
 */
#ifndef OMOGON_CHART_H
#define OMOGON_CHART_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/draw.h"

#ifdef __cplusplus
extern "C" {
#endif

/** One session. Numbers that are not known are NAN. */
struct omo_chart_point {
    double day;      /**< since 1970-01-01T00:00Z */
    double mean_deg; /**< drawn as a dot; never NAN */
    double u95_deg;  /**< a bar either way */
    double highest_deg, before_hike_deg;
    double pain; /**< 0..10 */
};

/** A chart's content; everything is lent. */
struct omo_chart {
    const char *what;                     /**< the movement, side and so on, translated */
    const struct omo_chart_point *points; /**< oldest first */
    size_t count;
    bool has_trend;
    double trend_deg_per_day, trend_low_deg_per_day, trend_high_deg_per_day;
    double trend_at_0_deg; /**< of the trend's line at day 0 */
    double other_deg;      /**< newest of the other side; NAN none */
    double mark_deg;       /**< the programme's, of a calm day; NAN none */
    /** A published range that matches in every respect; NAN: none. Its source in words.
     */
    double range_low_deg, range_high_deg;
    const char *range_source;
    double width, height; /**< px; at least 240 by 160 */
    bool dark;            /**< light on dark, for the window; else dark on white */
    bool small; /**< among others on a page: larger words, the signs are explained
                     elsewhere (omo_chart_signs()) */
};

/**
 * The figure. Readable without colour: dot, bar, hollow square, dashes and words tell
 * what is what. More sessions than fit side by side are gathered: a dot is then the
 * median of neighbouring ones and its bar reaches from the lowest to the highest mean.
 * The caller's to destroy; NULL: no memory or nothing to draw.
 */
OMO_API struct omo_figure *omo_chart_figure(const struct omo_chart *chart);
/** The same in one or two sentences, translated, for a reader of the screen. g_free() it.
 */
OMO_API char *omo_chart_words(const struct omo_chart *chart);

/** What the signs of every chart mean, in one sentence, translated; constant. */
OMO_API const char *omo_chart_signs(void);

/** Colours of a chart, opaque, for who draws beside it and for checks of contrast. */
struct omo_chart_colours {
    uint32_t ground, text, quiet, grid, mean, hike, trend, band;
};
/** The two schemes; constant. */
OMO_API const struct omo_chart_colours *omo_chart_colours(bool dark);

#ifdef __cplusplus
}
#endif

#endif
