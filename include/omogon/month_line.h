/** The last month of one movement as a figure: a dot a session, over its days. */
#ifndef OMOGON_MONTH_LINE_H
#define OMOGON_MONTH_LINE_H

#include <stddef.h>

#include "omogon/draw.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Days that the figure shows. */
#define OMO_MONTH_DAYS 31

/** One session. */
struct omo_month_point {
    double days_ago; /**< 0 today .. OMO_MONTH_DAYS; others are left out */
    double deg;      /**< NAN: left out */
    double u95_deg;  /**< drawn as a bar either way; NAN none */
};

/**
 * Light on dark, for the window. `what` is the movement in words. The points may come in
 * any order. Says that a shoulder changes over months; praises and judges nothing. The
 * caller's to destroy; NULL out of memory.
 */
OMO_API struct omo_figure *omo_month_figure(double width, double height, const char *what,
                                            const struct omo_month_point *points,
                                            size_t count);

#ifdef __cplusplus
}
#endif

#endif
