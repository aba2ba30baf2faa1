/** What every printed page is made of. Units of a page are points (1/72 inch). */
#ifndef OMO_SHOW_PAPER_PAGE_H
#define OMO_SHOW_PAPER_PAGE_H

#include <cairo.h>
#include <stdbool.h>
#include <stdint.h>

#include "omogon/draw.h"

/** Points in so many millimetres. */
double omo_page_mm(double mm);

struct omo_page_text {
    double x, y;  /**< top left corner, or top middle */
    double width; /**< lines are broken at it; 0: one line */
    double size;  /**< em */
    bool bold, middle;
    uint32_t colour; /**< 0: black */
};
/** Writes a paragraph; returns its height. */
double omo_page_text(cairo_t *cairo, const struct omo_page_text *how, const char *text);
/** The same without drawing. */
double omo_page_text_height(cairo_t *cairo, const struct omo_page_text *how,
                            const char *text);
/** One bold letter with the middle of its ink at (x, y), turned about that point. */
void omo_page_letter(cairo_t *cairo, double x, double y, double size, double turn_deg,
                     const char *letter);
void omo_page_colour(cairo_t *cairo, uint32_t colour);

/** A line of exactly 100 mm with ticks, its left end at (x, y), and what it is for below.
 *  Returns the height of both. */
double omo_page_ruler(cairo_t *cairo, double x, double y, double width);

#endif
