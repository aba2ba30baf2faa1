#include "app/lens_views.h"

#include <math.h>

#include "omogon/words.h"

#define BORDER_RATIO 0.2

void omo_lens_views_init(struct omo_lens_views *views,
                         const struct omo_bridge_lens_ops *ops,
                         const struct omo_bridge_board *board)
{
    *views = (struct omo_lens_views){.ops = ops, .board = *board};
    views->corners = g_array_new(FALSE, FALSE, sizeof(double));
}

void omo_lens_views_finish(struct omo_lens_views *views)
{
    g_array_unref(views->corners);
}

static int corner_count(const struct omo_lens_views *views)
{
    return views->board.columns * views->board.rows;
}

/** Root mean square way from the corners of a kept view. */
static double moved_px(const struct omo_lens_views *views, int view,
                       const double *corners)
{
    int count = corner_count(views);
    const double *kept = (const double *)(void *)views->corners->data + 2 * count * view;
    double sum = 0;
    for (int i = 0; i < 2 * count; i++)
        sum += (corners[i] - kept[i]) * (corners[i] - kept[i]);
    return sqrt(sum / count);
}

static int third(double at, double length)
{
    double share = (at + 0.5) / length;
    return share < BORDER_RATIO ? 0 : share > 1 - BORDER_RATIO ? 2 : 1;
}

/** How far the board's face is turned from the camera, by an ordinary lens: which way
 *  round does not count, so the board's two ways to be seen do not matter. */
static void count_tilt(struct omo_lens_views *views, const double *corners)
{
    struct omo_lens lens;
    struct omo_bridge_pose pose;
    omo_lens_default(views->width, views->height, &lens);
    if (views->ops->pose(&views->board, corners, lens.value, &pose) != OMO_OK)
        return;
    double nx = pose.rotation[2], ny = pose.rotation[5], nz = fabs(pose.rotation[8]);
    double least = OMO_LENS_TILT_DEG * G_PI / 180;
    views->tilted_level += atan2(fabs(ny), nz) >= least;
    views->tilted_upright += atan2(fabs(nx), nz) >= least;
}

bool omo_lens_views_add(struct omo_lens_views *views, const double *corners)
{
    int count = corner_count(views);
    if (views->count >= OMO_LENS_VIEWS_MOST)
        return false;
    for (int i = 0; i < views->count; i++)
        if (moved_px(views, i, corners) < OMO_LENS_NEW_RATIO * views->width)
            return false;
    g_array_append_vals(views->corners, corners, (guint)(2 * count));
    views->count++;
    for (int i = 0; i < count; i++)
        views->reached[3 * third(corners[2 * i + 1], views->height) +
                       third(corners[2 * i], views->width)] = true;
    count_tilt(views, corners);
    return true;
}

/* Somebody who faces the camera has the picture's left on the right hand. */
static const char *const places[9] = {
    OMO_WORD(
        "Hold the board in the upper left corner of the picture: up, to your right."),
    OMO_WORD("Hold the board at the upper border of the picture: up."),
    OMO_WORD(
        "Hold the board in the upper right corner of the picture: up, to your left."),
    OMO_WORD("Hold the board at the left border of the picture: to your right."),
    OMO_WORD("Hold the board in the middle of the picture."),
    OMO_WORD("Hold the board at the right border of the picture: to your left."),
    OMO_WORD("Hold the board in the lower left corner of the picture: down, to your "
             "right."),
    OMO_WORD("Hold the board at the lower border of the picture: down."),
    OMO_WORD("Hold the board in the lower right corner of the picture: down, to your "
             "left."),
};

const char *omo_lens_views_wish(const struct omo_lens_views *views)
{
    /* From the middle outwards; a corner brings its borders along. */
    static const int order[9] = {4, 0, 8, 2, 6, 1, 3, 5, 7};
    if (views->reached[4] && views->tilted_level < OMO_LENS_TILTED)
        return omo_word("Tilt the board: its top towards the camera, or away from it.");
    if (views->reached[4] && views->tilted_upright < OMO_LENS_TILTED)
        return omo_word("Turn the board: its left or right edge towards the camera.");
    for (int i = 0; i < 9; i++)
        if (!views->reached[order[i]])
            return omo_word(places[order[i]]);
    if (views->count < OMO_LENS_VIEWS_LEAST)
        return omo_word("A few more views: the board elsewhere, tilted another way.");
    return NULL;
}

double omo_lens_views_done(const struct omo_lens_views *views)
{
    int reached = 0;
    for (int i = 0; i < 9; i++)
        reached += views->reached[i];
    int have = MIN(views->count, OMO_LENS_VIEWS_LEAST) + reached +
               MIN(views->tilted_level, OMO_LENS_TILTED) +
               MIN(views->tilted_upright, OMO_LENS_TILTED);
    return (double)have / (OMO_LENS_VIEWS_LEAST + 9 + 2 * OMO_LENS_TILTED);
}

bool omo_lens_views_flat(const struct omo_lens_views *views)
{
    return views->count >= OMO_LENS_VIEWS_LEAST / 2 && views->tilted_level == 0 &&
           views->tilted_upright == 0;
}
