/** A line to breathe by, as a figure: it rises while one breathes in and falls while one
 *  breathes out; a dot says where one is. */
#ifndef OMOGON_BREATH_LINE_H
#define OMOGON_BREATH_LINE_H

#include "omogon/draw.h"

#ifdef __cplusplus
extern "C" {
#endif

/** The line around a moment: `height_at` gives 0 (out) .. 1 (in) for a time in seconds;
 *  what is passed lies left, what comes right of the dot. Words are translated. The
 *  caller's to destroy; NULL out of memory. */
OMO_API struct omo_figure *omo_breath_figure(double width, double height, double now_s,
                                             double (*height_at)(double since_s,
                                                                 void *user),
                                             void *user);

#ifdef __cplusplus
}
#endif

#endif
