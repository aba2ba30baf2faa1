/*
 * Large patches in a marker's colour: a sleeve, a sofa, a wall. A marker on them merges
 * with them in the table. The colour of each large patch is taken as a Gaussian; its
 * cells are struck from the table, and what is left of a second look are the spots that
 * differ from their surroundings.
 */
#include "length.h"
#include "tracker.h"

#include <math.h>
#include <string.h>

/* No marker is that large on the picture, unless it is as round as one. A round patch is
 * compared with the markers that are followed; while there are none, striking it does no
 * harm since it has been seen before. */
#define LARGE_PX2      1400.0
#define ROUND_PX2      2500.0
#define ROUND_MULTIPLE 5.0
/* Distance from the patch's mean colour, squared standard deviations, and the least
 * standard deviation, chroma steps: a cell is four wide. */
#define WITHIN2     7.5
#define SIGMA_LEAST 2.0
/* A followed marker's own colour is never struck. */
#define GUARD_SHARE 0.25
#define GUARD_LEAST 6.0

static bool large(const struct omo_blob *blob, const struct omo_planes *planes,
                  double marker_px2)
{
    double area = blob->area * planes->scale_x * planes->scale_y;
    double across = (blob->right - blob->left + 1) * planes->scale_x;
    double down = (blob->bottom - blob->top + 1) * planes->scale_y;
    bool round =
        area > 0.66 * across * down && fmax(across, down) < 1.5 * fmin(across, down);
    double usual = isfinite(marker_px2) ? ROUND_MULTIPLE * marker_px2 : ROUND_PX2;
    return area > (round ? usual : fmin(LARGE_PX2, usual));
}

struct gaussian {
    double b, r, bb, br, rr;
};

static void colour_of_blob(const struct omo_blobs *blobs, int index,
                           const struct omo_planes *planes, struct gaussian *g)
{
    int64_t n = 0, b = 0, r = 0, bb = 0, br = 0, rr = 0;
    int first = blobs->blobs[index].first_run;
    for (int i = first; i < blobs->run_count; i++) {
        const struct omo_run *run = &blobs->runs[i];
        if (run->row > blobs->blobs[index].bottom)
            break;
        if (blobs->root_of_run[i] != first)
            continue;
        size_t offset = (size_t)run->row * (size_t)planes->chroma_stride;
        const uint8_t *cb = planes->cb + offset, *cr = planes->cr + offset;
        for (int x = run->begin; x <= run->end; x++) {
            int u = cb[x], v = cr[x];
            n++;
            b += u;
            r += v;
            bb += u * u;
            br += u * v;
            rr += v * v;
        }
    }
    double count = (double)n;
    g->b = (double)b / count;
    g->r = (double)r / count;
    double least = SIGMA_LEAST * SIGMA_LEAST;
    g->bb = fmax((double)bb / count - g->b * g->b, 0) + least;
    g->rr = fmax((double)rr / count - g->r * g->r, 0) + least;
    g->br = (double)br / count - g->b * g->r;
}

/* Whether a cell could be a followed marker's core. */
static bool guarded(const struct omo_palette *palette, int cell)
{
    double angle = (double)palette->cells.angle_deg[cell] / 57.29577951308232;
    double magnitude = (double)palette->cells.magnitude[cell];
    double b = magnitude * cos(angle), r = magnitude * sin(angle);
    for (int k = 0; k < palette->class_count; k++) {
        const struct omo_palette_class *c = &palette->classes[k];
        double at = c->seen_angle_deg / 57.29577951308232;
        if (c->seen &&
            omo_length(b - c->seen_magnitude * cos(at), r - c->seen_magnitude * sin(at)) <
                fmax(GUARD_LEAST, GUARD_SHARE * c->seen_magnitude))
            return true;
    }
    return false;
}

static int strike(struct omo_palette *palette, const struct gaussian *g)
{
    const double half = 0.5 * ((1 << OMO_LUT_SHIFT) - 1);
    double det = g->bb * g->rr - g->br * g->br;
    int struck = 0;
    for (int cell = 0; cell < OMO_LUT_CELLS && det > 1e-6; cell++) {
        if (palette->lut.cell[cell] == 0)
            continue;
        double b = (cell / OMO_LUT_SIDE << OMO_LUT_SHIFT) + half - g->b;
        double r = (cell % OMO_LUT_SIDE << OMO_LUT_SHIFT) + half - g->r;
        double d2 = (g->rr * b * b - 2 * g->br * b * r + g->bb * r * r) / det;
        if (d2 > WITHIN2 || guarded(palette, cell))
            continue;
        palette->struck[cell] = 1;
        palette->lut.cell[cell] = 0;
        struck++;
    }
    return struck;
}

bool omo_strike_large(struct omo_palette *palette, const struct omo_blobs *blobs,
                      const struct omo_planes *planes, double marker_px2)
{
    int struck = 0;
    for (int i = 0; i < blobs->count; i++) {
        if (!large(&blobs->blobs[i], planes, marker_px2))
            continue;
        struct gaussian g;
        colour_of_blob(blobs, i, planes, &g);
        struck += strike(palette, &g);
    }
    return struck > 0;
}

void omo_strike_forget(struct omo_palette *palette)
{
    memset(palette->struck, 0, sizeof palette->struck);
    palette->lut_ready = false;
}
