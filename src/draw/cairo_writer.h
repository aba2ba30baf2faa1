/** A figure on any cairo surface, for the floors above. */
#ifndef OMO_DRAW_CAIRO_WRITER_H
#define OMO_DRAW_CAIRO_WRITER_H

#include <cairo.h>

#include "omogon/draw.h"

/** Fonts whose outlines are the same at every size and on every machine: nothing is
 * fitted to pixels. */
void omo_steady_fonts(cairo_t *cairo);

/** Draws in the units and at the place the context is set to. On a surface that holds
 *  text (PDF, SVG) words stay words, on others they are outlines. */
void omo_figure_draw(const struct omo_figure *figure, cairo_t *cairo);

#endif
