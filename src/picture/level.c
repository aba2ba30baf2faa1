/* The lean of a room's upright lines: a histogram of edge directions, weighted by their
 * strength (Sobel's gradient), and the mean of its peak. */
#include "omogon/picture.h"

#include <math.h>
#include <string.h>

#define RANGE_DEG   12.0
#define BIN_DEG     0.25
#define BINS        97 /* -12 to +12 */
#define WINDOW_BINS 6  /* 1.5 degrees to either side of the peak */
#define STEP_PX     2
/* Weaker edges are noise and shading; of 255, over two pixels. */
#define EDGE_LEAST 24
/* Our choices: so many edges, and so much more of them in the window than by chance. */
#define EDGES_LEAST   400
#define SUPPORT_LEAST 0.25

static double window_sum(const double *histogram, int middle)
{
    double sum = 0;
    for (int i = middle - WINDOW_BINS; i <= middle + WINDOW_BINS; i++)
        if (i >= 0 && i < BINS)
            sum += histogram[i];
    return sum;
}

/** Adds the edges of one line of pixels. */
static int add_line(const struct omo_planes *planes, int y, double *histogram)
{
    const uint8_t *up = planes->y + (ptrdiff_t)(y - 1) * planes->y_stride;
    const uint8_t *at = up + planes->y_stride, *down = at + planes->y_stride;
    int edges = 0;
    for (int x = 1; x + 1 < planes->width; x += STEP_PX) {
        int gx = (up[x + 1] + 2 * at[x + 1] + down[x + 1]) -
                 (up[x - 1] + 2 * at[x - 1] + down[x - 1]);
        if (gx > -4 * EDGE_LEAST && gx < 4 * EDGE_LEAST)
            continue;
        int gy = (down[x - 1] + 2 * down[x] + down[x + 1]) -
                 (up[x - 1] + 2 * up[x] + up[x + 1]);
        /* A line leaning to the right by a has a gradient along (cos a, sin a). */
        double lean_deg = atan((double)gy / gx) * 180 / M_PI;
        if (fabs(lean_deg) > RANGE_DEG)
            continue;
        histogram[(int)((lean_deg + RANGE_DEG) / BIN_DEG + 0.5)] += fabs((double)gx);
        edges++;
    }
    return edges;
}

bool omo_level_read(const struct omo_planes *planes, struct omo_level *level)
{
    double histogram[BINS] = {0}, total = 0;
    int edges = 0, peak = 0;
    if (!planes->y)
        return false;
    for (int y = 1; y + 1 < planes->height; y += STEP_PX)
        edges += add_line(planes, y, histogram);
    if (edges < EDGES_LEAST)
        return false;
    for (int i = 0; i < BINS; i++) {
        total += histogram[i];
        if (window_sum(histogram, i) > window_sum(histogram, peak))
            peak = i;
    }
    double inside = window_sum(histogram, peak), sum = 0;
    double chance = (2 * WINDOW_BINS + 1) / (double)BINS;
    double support = (inside / total - chance) / (1 - chance);
    if (support < SUPPORT_LEAST)
        return false;
    for (int i = peak - WINDOW_BINS; i <= peak + WINDOW_BINS; i++)
        if (i >= 0 && i < BINS)
            sum += histogram[i] * (i * BIN_DEG - RANGE_DEG);
    level->roll_deg = sum / inside;
    level->support_ratio = support;
    return true;
}
