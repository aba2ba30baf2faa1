#include "window.h"

#include <math.h>

#include "lanes.h"

void omo_window_fill(struct omo_window *window, const struct omo_planes *planes, double x,
                     double y, double reach)
{
    int top = (int)ceil((y - reach - planes->offset_y) / planes->scale_y);
    int bottom = (int)floor((y + reach - planes->offset_y) / planes->scale_y);
    double samples = M_PI * reach * reach / (planes->scale_x * planes->scale_y);
    int stride = 1 + (int)sqrt(samples / OMO_WINDOW_MOST);
    const omo_f4 lanes = {0, 1, 2, 3};
    int n = 0;
    if (top < 0)
        top = 0;
    if (bottom >= planes->chroma_height)
        bottom = planes->chroma_height - 1;
    for (int j = top; j <= bottom; j += stride) {
        double dy = j * planes->scale_y + planes->offset_y - y;
        double half = sqrt(fmax(0, reach * reach - dy * dy));
        int left = (int)ceil((x - half - planes->offset_x) / planes->scale_x);
        int right = (int)floor((x + half - planes->offset_x) / planes->scale_x);
        if (left < 0)
            left = 0;
        if (right >= planes->chroma_width)
            right = planes->chroma_width - 1;
        const uint8_t *cb = planes->cb + (size_t)j * (size_t)planes->chroma_stride;
        const uint8_t *cr = planes->cr + (size_t)j * (size_t)planes->chroma_stride;
        double first = left * planes->scale_x + planes->offset_x - x;
        double step = stride * planes->scale_x, row = dy;
        int room = OMO_WINDOW_MOST - 8 - n;
        int across = right < left ? 0 : (right - left) / stride + 1;
        if (across > room)
            across = room;
        /* Four at a time; what is read too much is overwritten or cut off. */
        for (int i = 0; i < across; i += 4) {
            float b[4], r[4];
            for (int k = 0; k < 4; k++) {
                int from = left + stride * (i + k < across ? i + k : across - 1);
                b[k] = (float)cb[from];
                r[k] = (float)cr[from];
            }
            omo_f4 at = lanes + omo_all4(i);
            omo_store4(window->x + n + i, omo_all4(first) + at * omo_all4(step));
            omo_store4(window->y + n + i, omo_all4(row));
            omo_store4(window->b + n + i, omo_load4(b));
            omo_store4(window->r + n + i, omo_load4(r));
            omo_store4(window->w + n + i, omo_all4(1));
        }
        n += across;
    }
    for (; n & 3; n++) {
        window->x[n] = window->y[n] = 1e6f; /* outside any circle */
        window->b[n] = window->r[n] = window->w[n] = 0;
    }
    window->count = n;
    window->unit_px2 = planes->scale_x * planes->scale_y * stride * stride;
}

bool omo_window_mean(const struct omo_window *window, double inner, double outer,
                     const struct omo_axis *axis, double low, double high, double out[2])
{
    const omo_f4 inner2 = omo_all4(inner * inner), outer2 = omo_all4(outer * outer);
    const omo_f4 u = omo_all4(axis ? axis->u : 0), v = omo_all4(axis ? axis->v : 0);
    const omo_f4 zero = omo_all4(axis ? axis->zero : 0);
    const omo_f4 least = omo_all4(axis ? low : -1), most = omo_all4(axis ? high : 1);
    omo_f4 sum_b = omo_all4(0), sum_r = sum_b, sum = sum_b;
    for (int i = 0; i < window->count; i += 4) {
        omo_f4 x = omo_load4(window->x + i), y = omo_load4(window->y + i);
        omo_f4 b = omo_load4(window->b + i), r = omo_load4(window->r + i);
        omo_f4 d2 = x * x + y * y, place = u * b + v * r - zero;
        omo_i4 mask =
            (d2 >= inner2) & (d2 <= outer2) & (place >= least) & (place <= most);
        sum_b += omo_only4(mask, b);
        sum_r += omo_only4(mask, r);
        sum += omo_only4(mask, omo_all4(1));
    }
    double count = omo_sum4(sum);
    if (count < 1)
        return false;
    out[0] = omo_sum4(sum_b) / count;
    out[1] = omo_sum4(sum_r) / count;
    return true;
}

void omo_window_project(struct omo_window *window, const struct omo_axis *axis)
{
    const omo_f4 u = omo_all4(axis->u), v = omo_all4(axis->v);
    const omo_f4 zero = omo_all4(axis->zero);
    for (int i = 0; i < window->count; i += 4)
        omo_store4(window->p + i,
                   u * omo_load4(window->b + i) + v * omo_load4(window->r + i) - zero);
}

bool omo_window_moments(const struct omo_window *window, double step,
                        struct omo_moments *m)
{
    const omo_f4 low = omo_all4(0.25 * step), gain = omo_all4(2 / step);
    omo_f4 mass = omo_all4(0), sx = mass, sy = mass, sxx = mass, sxy = mass, syy = mass;
    for (int i = 0; i < window->count; i += 4) {
        omo_f4 x = omo_load4(window->x + i), y = omo_load4(window->y + i);
        omo_f4 w = omo_unit4((omo_load4(window->p + i) - low) * gain);
        w *= omo_load4(window->w + i);
        omo_f4 wx = w * x, wy = w * y;
        mass += w;
        sx += wx;
        sy += wy;
        sxx += wx * x;
        sxy += wx * y;
        syy += wy * y;
    }
    m->mass = omo_sum4(mass);
    if (m->mass < 2)
        return false;
    m->x = omo_sum4(sx) / m->mass;
    m->y = omo_sum4(sy) / m->mass;
    m->xx = omo_sum4(sxx) / m->mass - m->x * m->x;
    m->xy = omo_sum4(sxy) / m->mass - m->x * m->y;
    m->yy = omo_sum4(syy) / m->mass - m->y * m->y;
    return true;
}
