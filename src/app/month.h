/** The last month of the remembered movement, for the window's first page. */
#ifndef OMO_APP_MONTH_H
#define OMO_APP_MONTH_H

#include <stdint.h>

#include "app/preferences.h"
#include "omogon/month_line.h"

struct omo_month {
    char what[160];
    struct omo_month_point point[256];
    size_t count;
    unsigned version; /**< another number when it was read anew */
};
/** Reads the record's rows of that movement, side and person; an unreadable record leaves
 *  it empty, silently: what needs it says so. */
void omo_month_read(struct omo_month *month, const struct omo_preferences *preferences);
/** As the figure of a list page; `user` is the month. */
void omo_month_paint(uint32_t *pixels, int width, int height, int stride_pixels,
                     void *user);

#endif
