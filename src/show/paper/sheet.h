/**
 * The printable sheet: stickers in true size, and where they go.
 */
#ifndef OMO_SHOW_PAPER_SHEET_H
#define OMO_SHOW_PAPER_SHEET_H

#include <cairo.h>
#include <stdbool.h>

#include "omogon/body.h"
#include "omogon/status.h"
#include "omogon/vision.h"

#define OMO_STICKER_LOW_MM  25
#define OMO_STICKER_HIGH_MM 50

struct omo_sheet_settings {
    double size_mm; /**< of a disc's colour across, or of a band's along the limb */
    bool us_letter; /**< else A4 */
    bool bands;     /**< strips for the arm; the trunk keeps discs */
    bool modest;    /**< which placement pictures */
    bool bench;     /**< the bench check's pages instead (bench.h) */
    enum omo_side side;
    const struct omo_marker_set *set; /**< colours; lent */
};

/** Width and height of a page, points. */
void omo_sheet_page_size(const struct omo_sheet_settings *settings, double *width,
                         double *height);
/** Stickers first, then where they go, then the order and the cautions. */
int omo_sheet_pages(const struct omo_sheet_settings *settings);
/** Draws one page (from 0) in points. */
OMO_MUST_CHECK enum omo_status omo_sheet_draw(const struct omo_sheet_settings *settings,
                                              int page, cairo_t *cairo);

/** 0xffRRGGBB a role's sticker is printed in; the chest takes the hip's when it has none.
 *  0: not in the set. */
uint32_t omo_sheet_colour(const struct omo_marker_set *set, enum omo_role role);

/* Parts of it. */
enum omo_status omo_sheet_draw_places(const struct omo_sheet_settings *settings,
                                      cairo_t *cairo);
enum omo_status omo_sheet_draw_order(const struct omo_sheet_settings *settings,
                                     cairo_t *cairo);

#endif
