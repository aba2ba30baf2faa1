/** What the viewer shows: the picture with what is measured, the trace beneath, words. */
#ifndef OMO_APP_VIEW_PAGE_H
#define OMO_APP_VIEW_PAGE_H

#include <stddef.h>
#include <stdint.h>

#include "omogon/draw.h"
#include "omogon/motion.h"
#include "omogon/picture.h"

/** What is on it; lent. */
struct omo_view_content {
    const struct omo_frame *frame;
    const struct omo_trace_row *rows;
    size_t count, at; /**< of rows; the one that is shown */
    const struct omo_result *result;
    const struct omo_measure_settings *settings;
    const char *movement, *side;
    const struct omo_marker *marker; /**< the chosen one */
    enum omo_role role;
    unsigned placed;  /**< markers by hand in the whole clip */
    const char *said; /**< in place of the keys; "" none */
    bool show_head;
};

/** Where things lie on a painted page, px. */
struct omo_view_page {
    uint32_t *pixels; /**< 0xffRRGGBB, free() */
    int width, height;
    int photo_left, photo_width, photo_height; /**< the clip's picture alone */
    int top; /**< of the trace: the picture and what is written below it end there */
    int factor;
};
/** One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_view_page_paint(const struct omo_view_content *content,
                                                   struct omo_view_page *page);
/** Where a point of the page is in the upright picture; false: beside it. */
bool omo_view_page_in_photo(const struct omo_view_page *page, double x, double y,
                            struct omo_point *out);
/** The row whose place in the trace beneath the picture is nearest. */
size_t omo_view_page_row(const struct omo_view_page *page, double x, size_t count);

#endif
