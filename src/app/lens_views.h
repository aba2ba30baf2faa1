/** The views of a board that a calibration is made from, and what they still lack. */
#ifndef OMO_APP_LENS_VIEWS_H
#define OMO_APP_LENS_VIEWS_H

#include <glib.h>
#include <stdbool.h>

#include "bridge/lens.h"
#include "omogon/lens.h"

/* Enough is: this many views that differ, corners of the board in each ninth of the
 * picture (the outer ones a fifth of it wide, where a lens bends most), and so many views
 * in which the board is tilted by this much about the horizontal, and about the vertical.
 * Our choice; without tilt a focal length cannot be told from a distance. */
#define OMO_LENS_VIEWS_LEAST 12
#define OMO_LENS_VIEWS_MOST  60
#define OMO_LENS_TILTED      3
#define OMO_LENS_TILT_DEG    15.0
/* A board that moved less between two views, as a share of the picture's width, shows
 * nothing new. */
#define OMO_LENS_NEW_RATIO 0.03

struct omo_lens_views {
    const struct omo_bridge_lens_ops *ops;
    struct omo_bridge_board board;
    int width, height; /**< of the pictures; 0 before the first */
    GArray *corners;   /**< of double: x and y of all corners, view after view */
    int count;
    bool reached[9];                  /**< ninths, row after row */
    int tilted_level, tilted_upright; /**< about the horizontal, about the vertical */
};

void omo_lens_views_init(struct omo_lens_views *views,
                         const struct omo_bridge_lens_ops *ops,
                         const struct omo_bridge_board *board);
void omo_lens_views_finish(struct omo_lens_views *views);
/** Keeps a view unless it is like one before, or there are enough of them. */
bool omo_lens_views_add(struct omo_lens_views *views, const double *corners);
/** The one thing to do next, translated; NULL: enough. */
const char *omo_lens_views_wish(const struct omo_lens_views *views);
/** 0..1 of what is enough. */
double omo_lens_views_done(const struct omo_lens_views *views);
/** All views were held flat: said apart, since more of them would not help. */
bool omo_lens_views_flat(const struct omo_lens_views *views);

#endif
