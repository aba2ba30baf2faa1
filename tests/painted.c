#include "painted.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FINE 16 /* looks a side of a sample's area */

void painted_init(struct painted *p, int width, int height, int scale, double offset_x)
{
    int w = width / scale, h = height / scale;
    size_t count = (size_t)w * (size_t)h;
    *p = (struct painted){.cb = malloc(count),
                          .cr = malloc(count),
                          .b = calloc(count, sizeof(double)),
                          .r = calloc(count, sizeof(double))};
    p->planes = (struct omo_planes){.width = width,
                                    .height = height,
                                    .chroma_width = w,
                                    .chroma_height = h,
                                    .cb = p->cb,
                                    .cr = p->cr,
                                    .chroma_stride = w,
                                    .scale_x = scale,
                                    .scale_y = scale,
                                    .offset_x = offset_x,
                                    .offset_y = (scale - 1) / 2.0,
                                    .colour = OMO_COLOUR_BT601,
                                    .full_range = true};
}

void painted_finish(struct painted *p)
{
    free(p->cb);
    free(p->cr);
    free(p->b);
    free(p->r);
}

void painted_clear(struct painted *p)
{
    size_t count = (size_t)p->planes.chroma_width * (size_t)p->planes.chroma_height;
    memset(p->b, 0, count * sizeof(double));
    memset(p->r, 0, count * sizeof(double));
}

static double share_inside(double x, double y, double width, double height, double radius)
{
    int inside = 0;
    for (int j = 0; j < FINE; j++) {
        for (int i = 0; i < FINE; i++) {
            double dx = x + ((i + 0.5) / FINE - 0.5) * width;
            double dy = y + ((j + 0.5) / FINE - 0.5) * height;
            inside += dx * dx + dy * dy < radius * radius;
        }
    }
    return inside / (double)(FINE * FINE);
}

void painted_disc(struct painted *p, double x_px, double y_px, double diameter_px,
                  const double rgb[3])
{
    double ycbcr[3];
    omo_srgb_to_ycbcr(rgb, ycbcr);
    for (int j = 0; j < p->planes.chroma_height; j++) {
        double dy = j * p->planes.scale_y + p->planes.offset_y - y_px;
        if (fabs(dy) > diameter_px)
            continue;
        for (int i = 0; i < p->planes.chroma_width; i++) {
            double dx = i * p->planes.scale_x + p->planes.offset_x - x_px;
            if (fabs(dx) > diameter_px)
                continue;
            double share = share_inside(dx, dy, p->planes.scale_x, p->planes.scale_y,
                                        diameter_px / 2);
            size_t at = (size_t)j * (size_t)p->planes.chroma_width + (size_t)i;
            p->b[at] += share * (ycbcr[1] - 128 - p->b[at]);
            p->r[at] += share * (ycbcr[2] - 128 - p->r[at]);
        }
    }
}

/* Mean light of a sample's area over the band, 0 where it is not covered. */
static double band_light(const struct omo_planes *planes, double x, double y,
                         const double half_px[2], double turn_deg, double light)
{
    const double c = cos(turn_deg * M_PI / 180), s = sin(turn_deg * M_PI / 180);
    double sum = 0;
    for (int j = 0; j < FINE; j++) {
        for (int i = 0; i < FINE; i++) {
            double dx = x + ((i + 0.5) / FINE - 0.5) * planes->scale_x;
            double dy = y + ((j + 0.5) / FINE - 0.5) * planes->scale_y;
            double u = c * dx + s * dy, v = c * dy - s * dx;
            if (fabs(u) < half_px[0] && fabs(v) < half_px[1])
                sum += 1 + light * u / half_px[0];
        }
    }
    return sum / (FINE * FINE);
}

void painted_band(struct painted *p, double x_px, double y_px, const double half_px[2],
                  double turn_deg, double light, const double rgb[3])
{
    const struct omo_planes *planes = &p->planes;
    double ycbcr[3];
    omo_srgb_to_ycbcr(rgb, ycbcr);
    for (int j = 0; j < planes->chroma_height; j++) {
        double dy = j * planes->scale_y + planes->offset_y - y_px;
        for (int i = 0; i < planes->chroma_width; i++) {
            double dx = i * planes->scale_x + planes->offset_x - x_px;
            if (hypot(dx, dy) > half_px[0] + half_px[1] + 4)
                continue;
            double share = band_light(planes, dx, dy, half_px, turn_deg, light);
            size_t at = (size_t)j * (size_t)planes->chroma_width + (size_t)i;
            p->b[at] += share * (ycbcr[1] - 128);
            p->r[at] += share * (ycbcr[2] - 128);
        }
    }
}

double painted_random(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 11) / 9007199254740992.0;
}

static uint8_t rounded(double value)
{
    return (uint8_t)fmin(fmax(floor(value + 128.5), 0), 255);
}

void painted_develop(struct painted *p, double noise, uint64_t *seed)
{
    size_t count = (size_t)p->planes.chroma_width * (size_t)p->planes.chroma_height;
    for (size_t k = 0; k < count; k++) {
        double b = 0, r = 0;
        if (noise > 0) {
            double far = noise * sqrt(-2 * log(1 - painted_random(seed)));
            double turn = 2 * M_PI * painted_random(seed);
            b = far * cos(turn);
            r = far * sin(turn);
        }
        p->cb[k] = rounded(p->b[k] + b);
        p->cr[k] = rounded(p->r[k] + r);
    }
}
