/** A figure as SVG text, for the floors above. */
#ifndef OMO_DRAW_SVG_WRITER_H
#define OMO_DRAW_SVG_WRITER_H

#include <glib.h>

#include "omogon/draw.h"

/** Adds an svg element with its title and description in words, which a reader of the
 *  screen says instead of the drawing. `name` makes its ids and is unique in a page. */
void omo_svg_add(GString *svg, const struct omo_figure *figure, const char *name,
                 const char *title, const char *description);

#endif
