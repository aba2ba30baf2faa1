#include "spot.h"

#include <math.h>
#include <string.h>

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

/* Samples a window may hold; a large marker is read at every second, third ... one. */
#define MOST_SAMPLES 1536
#define MOST_ACROSS  36

/* Edge widths and weights below were chosen on painted discs of 8 to 20 px with linear
 * blending, shading of 0 to 12 %, noise and JPEG quality 85 (tests/test_spot.c shows the
 * errors they give). */
#define BLUR_PX             0.9   /* of an ordinary lens and sensor, standard deviation */
#define PITCH_BLUR          0.55  /* share of the squared chroma pitch that blurs */
#define MARGIN_PX           5.0   /* ground needed around the marker */
#define SHADE_SIGMA         0.06  /* likely gradient over a radius, share of contrast */
#define SHADE_SIGMA_KNOWN   0.01  /* lest a covered side passes for a dark one */
#define SHADE_SIGMA_SMEARED 0.25  /* its ends lie over different grounds */
#define NOISE_VARIANCE      200.0 /* of one sample as the prior sees it, JPEG included */
#define ROBUST_SHARE        0.30  /* a residual of this share of the contrast halves */
#define GROSS_SHARE         0.35
#define BITTEN_SHARE        0.035
#define SIGMA_FLOOR_PX      0.03
#define SIGMA_PER_FIT       1.6 /* neighbouring samples share their noise */
#define SMALLEST_CONTRAST   8.0 /* chroma steps */

#define PARAMETERS 7 /* x, y, step, ground, radius, shade x, shade y */

typedef float omo_f4 __attribute__((vector_size(16)));
typedef int32_t omo_i4 __attribute__((vector_size(16)));

struct window {
    int count; /* multiple of 4, padded with samples of weight 0 */
    float x[MOST_SAMPLES], y[MOST_SAMPLES]; /* px from the start's centre */
    float p[MOST_SAMPLES];                  /* chroma along the contrast, ground 0 */
    float w[MOST_SAMPLES];
    float unit_px2; /* picture area of one sample */
};

struct model {
    double x, y, step, ground, radius, shade_x, shade_y;
    double a, b, c; /* form of the outline */
    double edge_px; /* full width of the soft edge */
};

double omo_outline_axis_ratio(const struct omo_outline *outline)
{
    double mean = 0.5 * (outline->a + outline->c);
    double half = hypot(0.5 * (outline->a - outline->c), outline->b);
    double low = mean - half, high = mean + half;
    return low > 0 && high > 0 ? sqrt(low / high) : 0;
}

double omo_outline_least_ratio(const struct omo_outline *outline,
                               const struct omo_outline *other)
{
    /* largest eigenvalue of other^-1 outline; other has determinant 1 */
    double p = other->c * outline->a - other->b * outline->b;
    double q = other->c * outline->b - other->b * outline->c;
    double r = other->a * outline->b - other->b * outline->a;
    double s = other->a * outline->c - other->b * outline->b;
    double mean = 0.5 * (p + s);
    double half = sqrt(fmax(0.25 * (p - s) * (p - s) + q * r, 0));
    return outline->radius_px / other->radius_px / sqrt(fmax(mean + half, 1e-6));
}

double omo_outline_reach_px(const struct omo_outline *outline)
{
    double mean = 0.5 * (outline->a + outline->c);
    double half = hypot(0.5 * (outline->a - outline->c), outline->b);
    double low = mean - half;
    return low > 1e-6 ? outline->radius_px / sqrt(low) : outline->radius_px;
}

/* ---- reading the planes ---- */

/* Bounds on a sample's place between ground (0) and core (1). */
struct between {
    double u, v, zero, low, high;
};

/* Mean chroma of the samples between two radii; false when there is none. */
static bool mean_chroma(const struct omo_planes *planes, double x, double y, double inner,
                        double outer, const struct between *only, double out[2])
{
    int left = (int)ceil((x - outer - planes->offset_x) / planes->scale_x);
    int right = (int)floor((x + outer - planes->offset_x) / planes->scale_x);
    int top = (int)ceil((y - outer - planes->offset_y) / planes->scale_y);
    int bottom = (int)floor((y + outer - planes->offset_y) / planes->scale_y);
    if (left < 0)
        left = 0;
    if (top < 0)
        top = 0;
    if (right >= planes->chroma_width)
        right = planes->chroma_width - 1;
    if (bottom >= planes->chroma_height)
        bottom = planes->chroma_height - 1;
    if (right < left || bottom < top)
        return false; /* a prediction may lie outside the picture */
    int stride = 1 + (right - left) / MOST_ACROSS;
    double sum_b = 0, sum_r = 0;
    int count = 0;
    for (int j = top; j <= bottom; j += stride) {
        const uint8_t *cb = planes->cb + (size_t)j * (size_t)planes->chroma_stride;
        const uint8_t *cr = planes->cr + (size_t)j * (size_t)planes->chroma_stride;
        double dy = j * planes->scale_y + planes->offset_y - y;
        for (int i = left; i <= right; i += stride) {
            double dx = i * planes->scale_x + planes->offset_x - x;
            double d2 = dx * dx + dy * dy;
            if (d2 > outer * outer || d2 < inner * inner)
                continue;
            if (only) {
                double place = cb[i] * only->u + cr[i] * only->v - only->zero;
                if (place < only->low || place > only->high)
                    continue;
            }
            sum_b += cb[i];
            sum_r += cr[i];
            count++;
        }
    }
    if (count == 0)
        return false;
    out[0] = sum_b / count;
    out[1] = sum_r / count;
    return true;
}

/* Core and ground of a marker and the axis between them: a unit vector and the ground's
 * place on it. */
struct contrast {
    double core[2], ground[2];
    double u, v, zero, step;
};

static bool set_axis(struct contrast *c)
{
    double u = c->core[0] - c->ground[0], v = c->core[1] - c->ground[1];
    c->step = hypot(u, v);
    if (c->step < SMALLEST_CONTRAST)
        return false;
    c->u = u / c->step;
    c->v = v / c->step;
    c->zero = c->ground[0] * c->u + c->ground[1] * c->v;
    return true;
}

/* Highlights and bites are left out of the core in a second look, and whatever is more
 * like the core out of the ground: a band goes on beyond the ring. */
static bool find_contrast(const struct omo_planes *planes, double x, double y,
                          double radius, double margin, struct contrast *c)
{
    double inside = fmax(0.55 * radius, 0.71 * hypot(planes->scale_x, planes->scale_y));
    double from = radius + 0.4 * margin, to = radius + margin;
    if (!mean_chroma(planes, x, y, 0, inside, NULL, c->core) ||
        !mean_chroma(planes, x, y, from, to, NULL, c->ground) || !set_axis(c))
        return false;
    struct between like_core = {c->u, c->v, c->zero, 0.75 * c->step, INFINITY};
    mean_chroma(planes, x, y, 0, inside, &like_core, c->core);
    struct between like_ground = {c->u, c->v, c->zero, -INFINITY, 0.5 * c->step};
    mean_chroma(planes, x, y, from, to, &like_ground, c->ground);
    return set_axis(c);
}

static void fill_window(const struct omo_planes *planes, double x, double y, double reach,
                        const struct contrast *contrast, struct window *window)
{
    int top = (int)ceil((y - reach - planes->offset_y) / planes->scale_y);
    int bottom = (int)floor((y + reach - planes->offset_y) / planes->scale_y);
    double samples = M_PI * reach * reach / (planes->scale_x * planes->scale_y);
    int stride = 1 + (int)sqrt(samples / MOST_SAMPLES);
    int n = 0;
    if (top < 0)
        top = 0;
    if (bottom >= planes->chroma_height)
        bottom = planes->chroma_height - 1;
    const float u = (float)contrast->u, v = (float)contrast->v;
    const float zero = (float)contrast->zero;
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
        float dx = (float)(left * planes->scale_x + planes->offset_x - x);
        float dx_step = (float)(stride * planes->scale_x);
        for (int i = left; i <= right && n < MOST_SAMPLES - 4; i += stride) {
            window->x[n] = dx;
            window->y[n] = (float)dy;
            window->p[n] = (float)cb[i] * u + (float)cr[i] * v - zero;
            window->w[n++] = 1;
            dx += dx_step;
        }
    }
    while (n & 3) {
        window->x[n] = window->y[n] = window->p[n] = window->w[n] = 0;
        n++;
    }
    window->count = n;
    window->unit_px2 = (float)(planes->scale_x * planes->scale_y * stride * stride);
}

/* ---- soft moments ---- */

struct moments {
    double mass, x, y, xx, xy, yy;
};

/* Weights rise from 0 at 25 % of the step to 1 at 75 %: flat tops do not feel shading. */
static bool soft_moments(const struct window *window, double ground, double step,
                         struct moments *m)
{
    const float low = (float)(ground + 0.25 * step), gain = (float)(2 / step);
    float mass = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
    for (int i = 0; i < window->count; i++) {
        float w = (window->p[i] - low) * gain;
        w = w < 0 ? 0 : w > 1 ? 1 : w;
        w *= window->w[i];
        float wx = w * window->x[i], wy = w * window->y[i];
        mass += w;
        sx += wx;
        sy += wy;
        sxx += wx * window->x[i];
        sxy += wx * window->y[i];
        syy += wy * window->y[i];
    }
    if (mass < 2)
        return false;
    m->mass = (double)mass;
    m->x = (double)sx / m->mass;
    m->y = (double)sy / m->mass;
    m->xx = (double)sxx / m->mass - m->x * m->x;
    m->xy = (double)sxy / m->mass - m->x * m->y;
    m->yy = (double)syy / m->mass - m->y * m->y;
    return true;
}

/* The ellipse of these moments; a uniform ellipse has a quarter of its squared half axes
 * as variances. */
static struct omo_outline outline_of(const struct moments *m, double area_px2,
                                     double blur2)
{
    struct omo_outline o = {.radius_px = sqrt(area_px2 / M_PI), .a = 1, .c = 1};
    double xx = fmax(m->xx - blur2, 0.3 * m->xx), yy = fmax(m->yy - blur2, 0.3 * m->yy);
    double det = xx * yy - m->xy * m->xy;
    if (det > 1e-6) {
        double root = sqrt(det);
        o.a = yy / root;
        o.b = -m->xy / root;
        o.c = xx / root;
    }
    return o;
}

/* ---- the fit ---- */

static inline omo_f4 load4(const float *from)
{
    omo_f4 v;
    memcpy(&v, from, sizeof v);
    return v;
}

static inline omo_f4 all4(float v)
{
    return (omo_f4){v, v, v, v};
}

static inline omo_f4 pick4(omo_i4 mask, omo_f4 yes, omo_f4 no)
{
    return (omo_f4)((mask & (omo_i4)yes) | (~mask & (omo_i4)no));
}

static inline omo_f4 sqrt4(omo_f4 v)
{
#if defined(__SSE2__)
    return (omo_f4)_mm_sqrt_ps((__m128)v);
#else
    for (int i = 0; i < 4; i++)
        v[i] = sqrtf(v[i]);
    return v;
#endif
}

static inline double sum4(omo_f4 v)
{
    return (double)((v[0] + v[1]) + (v[2] + v[3]));
}

struct normal {
    double matrix[PARAMETERS][PARAMETERS];
    double right[PARAMETERS];
    double residual2, weight; /* weighted sum of squares and sum of weights */
};

/* Sums of the normal equations over the window. The soft edge is the cubic step, whose
 * slope is cheap and ends at a finite distance. `robust` > 0 lowers the weight of
 * residuals above it, `strict` to nearly nothing. */
static void accumulate(const struct window *window, const struct model *m, double robust,
                       bool strict, struct normal *normal)
{
    omo_f4 sum[PARAMETERS][PARAMETERS], right[PARAMETERS], e2 = all4(0), weight = all4(0);
    for (int i = 0; i < PARAMETERS; i++) {
        right[i] = all4(0);
        for (int j = 0; j < PARAMETERS; j++)
            sum[i][j] = all4(0);
    }
    const omo_f4 zero = all4(0), one = all4(1), half = all4(0.5f), tiny = all4(1e-4f);
    const omo_f4 x0 = all4((float)m->x), y0 = all4((float)m->y);
    const omo_f4 fa = all4((float)m->a), fb = all4((float)m->b), fc = all4((float)m->c);
    const omo_f4 radius = all4((float)m->radius),
                 per_edge = all4((float)(1 / m->edge_px));
    const omo_f4 per_radius = all4((float)(1 / m->radius));
    const omo_f4 step = all4((float)m->step), ground = all4((float)m->ground);
    const omo_f4 shade_x = all4((float)m->shade_x), shade_y = all4((float)m->shade_y);
    const omo_f4 limit = all4(robust > 0 ? (float)(1 / (robust * robust)) : 0.0f);
    for (int i = 0; i < window->count; i += 4) {
        omo_f4 x = load4(window->x + i) - x0, y = load4(window->y + i) - y0;
        omo_f4 gx = fa * x + fb * y, gy = fb * x + fc * y;
        omo_f4 d = sqrt4(gx * x + gy * y + tiny);
        omo_f4 t = (radius - d) * per_edge + half;
        t = pick4(t > zero, t, zero);
        t = pick4(t < one, t, one);
        omo_f4 level = t * t * (all4(3) - all4(2) * t);
        omo_f4 slope = all4(6) * t * (one - t) * per_edge;
        omo_f4 rx = x * per_radius, ry = y * per_radius;
        omo_f4 top = step + shade_x * rx + shade_y * ry;
        omo_f4 e = load4(window->p + i) - ground - top * level;
        omo_f4 ts = top * slope, td = ts / d;
        omo_f4 j[PARAMETERS] = {td * gx, td * gy, level, one, ts, level * rx, level * ry};
        omo_f4 w = one / (one + e * e * limit);
        w = load4(window->w + i) * (strict ? w * w : w);
        for (int r = 0; r < PARAMETERS; r++) {
            omo_f4 wj = w * j[r];
            right[r] += wj * e;
            for (int c = r; c < PARAMETERS; c++)
                sum[r][c] += wj * j[c];
        }
        e2 += w * e * e;
        weight += w;
    }
    for (int r = 0; r < PARAMETERS; r++) {
        normal->right[r] = sum4(right[r]);
        for (int c = r; c < PARAMETERS; c++)
            normal->matrix[r][c] = normal->matrix[c][r] = sum4(sum[r][c]);
    }
    normal->residual2 = sum4(e2);
    normal->weight = sum4(weight);
}

/* Cholesky factor of the symmetric matrix in place (lower part). */
static bool factor(double a[PARAMETERS][PARAMETERS])
{
    for (int i = 0; i < PARAMETERS; i++) {
        for (int j = 0; j <= i; j++) {
            double s = a[i][j];
            for (int k = 0; k < j; k++)
                s -= a[i][k] * a[j][k];
            if (i == j) {
                if (!(s > 1e-9))
                    return false;
                a[i][i] = sqrt(s);
            } else {
                a[i][j] = s / a[j][j];
            }
        }
    }
    return true;
}

static void solve(double a[PARAMETERS][PARAMETERS], double b[PARAMETERS])
{
    for (int i = 0; i < PARAMETERS; i++) {
        for (int k = 0; k < i; k++)
            b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
    for (int i = PARAMETERS - 1; i >= 0; i--) {
        for (int k = i + 1; k < PARAMETERS; k++)
            b[i] -= a[k][i] * b[k];
        b[i] /= a[i][i];
    }
}

static double bounded(double v, double limit)
{
    return v > limit ? limit : v < -limit ? -limit : v;
}

/* What is known before the picture speaks: shading is slight, the radius may be known. */
static void add_priors(struct normal *normal, const struct model *m,
                       const struct omo_spot_start *start, bool strict)
{
    double sigma = start->smeared ? SHADE_SIGMA_SMEARED
                   : strict       ? SHADE_SIGMA_KNOWN
                                  : SHADE_SIGMA;
    double shade = sigma * m->step, k = NOISE_VARIANCE / (shade * shade);
    normal->matrix[5][5] += k;
    normal->matrix[6][6] += k;
    normal->right[5] -= k * m->shade_x;
    normal->right[6] -= k * m->shade_y;
    if (isfinite(start->radius_sigma)) {
        double known = start->outline.radius_px, doubt = start->radius_sigma * known;
        double kr = NOISE_VARIANCE / (doubt * doubt);
        normal->matrix[4][4] += kr;
        normal->right[4] -= kr * (m->radius - known);
    }
    for (int i = 0; i < PARAMETERS; i++)
        normal->matrix[i][i] += 1e-6;
}

/* Gauss-Newton; `strict` for what a highlight or an occluder has bitten. *sigma_px gets
 * the standard uncertainty of the centre. */
static bool fit(const struct window *window, const struct omo_spot_start *start,
                bool strict, struct model *m, double *sigma_px)
{
    enum { PASSES = 4 };
    struct normal normal;
    double largest = m->radius;
    for (int pass = 0; pass < PASSES; pass++) {
        bool even = pass == 0 && !strict;
        double robust = even ? 0 : ROBUST_SHARE * m->step;
        accumulate(window, m, robust, strict, &normal);
        add_priors(&normal, m, start, strict);
        double change[PARAMETERS];
        memcpy(change, normal.right, sizeof change);
        if (!factor(normal.matrix))
            return false;
        solve(normal.matrix, change);
        m->x += bounded(change[0], 1.5);
        m->y += bounded(change[1], 1.5);
        m->step += change[2];
        m->ground += change[3];
        m->radius += bounded(change[4], 0.3 * m->radius);
        m->shade_x += change[5];
        m->shade_y += change[6];
        if (!(m->step > SMALLEST_CONTRAST) || !(m->radius > 0.3 * largest) ||
            m->radius > 2.5 * largest || !(hypot(m->x, m->y) < largest + 3))
            return false;
        if (pass > 0 && fabs(change[0]) < 0.004 && fabs(change[1]) < 0.004)
            break;
    }
    double inverse[2][PARAMETERS] = {{1}, {0, 1}};
    solve(normal.matrix, inverse[0]);
    solve(normal.matrix, inverse[1]);
    double noise2 = normal.residual2 / fmax(normal.weight - 5, 1);
    double per_axis2 = 0.5 * noise2 * (inverse[0][0] + inverse[1][1]);
    *sigma_px = hypot(SIGMA_FLOOR_PX, SIGMA_PER_FIT * sqrt(per_axis2));
    return true;
}

/* ---- what the fit says about the thing ---- */

static void judge(const struct window *window, const struct model *m,
                  struct omo_spot *spot)
{
    int inside = 0, alike = 0, rim = 0, rim_alike = 0, ring = 0, ring_alike = 0, n = 0;
    double e2 = 0, soft = 0;
    int gross = 0;
    double edge = 0.5 * m->edge_px;
    for (int i = 0; i < window->count; i++) {
        if (window->w[i] <= 0)
            continue;
        double x = (double)window->x[i] - m->x, y = (double)window->y[i] - m->y;
        double d = sqrt(m->a * x * x + 2 * m->b * x * y + m->c * y * y) - m->radius;
        double t = bounded(-d / m->edge_px, 0.5) + 0.5;
        double level = t * t * (3 - 2 * t);
        double seen = ((double)window->p[i] - m->ground) / m->step;
        if (d > edge) {
            ring++;
            ring_alike += seen > 0.55;
            continue;
        }
        double e = (seen - level) * (seen - level);
        soft += e / (e + ROBUST_SHARE * ROBUST_SHARE);
        if (e < GROSS_SHARE * GROSS_SHARE)
            e2 += e;
        else
            gross++;
        n++;
        if (d < 0) {
            inside++;
            alike += seen > 0.6 * level;
            if (d > -edge - 0.2 * m->radius) {
                rim++;
                rim_alike += seen > 0.6 * level;
            }
        }
    }
    spot->cover = inside ? (double)alike / inside : 0;
    spot->rim = rim ? (double)rim_alike / rim : 0;
    spot->outside = ring ? (double)ring_alike / ring : 0;
    spot->roughness = n > gross ? sqrt(e2 / (n - gross)) : 1;
    spot->gross = n ? (double)gross / n : 1;
    spot->misfit = n ? soft / n : 1;
}

static double edge_width(const struct omo_planes *planes, double radius)
{
    double pitch2 =
        0.5 * (planes->scale_x * planes->scale_x + planes->scale_y * planes->scale_y);
    double sigma = sqrt(BLUR_PX * BLUR_PX + PITCH_BLUR * pitch2);
    /* the cubic step with the slope of a Gaussian edge; large ones may be out of focus */
    return fmax(3.76 * sigma, 0.25 * radius);
}

/* A part does not fit at all: once more without it, as an ellipse and as a circle,
 * since what is missing has bent the form too. The better one stays. */
static void fit_bitten(const struct window *window, const struct omo_spot_start *start,
                       struct model *m, double *sigma_px, struct omo_spot *spot)
{
    const struct model first = *m;
    for (int round = 0; round < 2; round++) {
        struct model again = first;
        struct omo_spot judged = *spot;
        double sigma;
        again.shade_x = again.shade_y = 0;
        if (round) {
            again.a = again.c = 1;
            again.b = 0;
        }
        if (!fit(window, start, true, &again, &sigma))
            continue;
        judge(window, &again, &judged);
        if (judged.misfit >= spot->misfit)
            continue;
        *m = again;
        *sigma_px = sigma;
        *spot = judged;
    }
}

static bool measure_disc(const struct omo_planes *planes,
                         const struct omo_spot_start *start, const struct window *window,
                         double step, const struct moments *moments,
                         struct omo_spot *spot)
{
    const struct omo_outline *seen = &spot->seen;
    const struct omo_outline *form = start->outline_known ? &start->outline : seen;
    /* With a known outline the start is the better guess: moments follow what is left. */
    struct model m = {.x = start->outline_known ? 0 : moments->x,
                      .y = start->outline_known ? 0 : moments->y,
                      .step = step,
                      .radius = start->outline_known ? start->outline.radius_px
                                                     : seen->radius_px,
                      .a = 1,
                      .c = 1,
                      .edge_px = edge_width(planes, start->outline.radius_px)};
    /* A form that is round but for noise is taken as round. */
    if (start->outline_known || omo_outline_axis_ratio(form) < 0.85) {
        m.a = form->a;
        m.b = form->b;
        m.c = form->c;
    }
    double sigma_px;
    if (!fit(window, start, start->outline_known, &m, &sigma_px))
        return false;
    judge(window, &m, spot);
    if (!start->outline_known && !start->smeared && spot->gross > BITTEN_SHARE)
        fit_bitten(window, start, &m, &sigma_px, spot);
    spot->x_px = start->x_px + m.x;
    spot->y_px = start->y_px + m.y;
    spot->sigma_px = sigma_px;
    spot->outline = (struct omo_outline){m.radius, m.a, m.b, m.c};
    spot->width_px = 2 * m.radius;
    return true;
}

/* A bar of uniform weight has a twelfth of its squared width as variance. */
static void measure_band(const struct omo_spot_start *start, const struct window *window,
                         double step, const struct moments *moments, double blur2,
                         struct omo_spot *spot)
{
    const struct omo_outline *seen = &spot->seen;
    struct model m = {.x = moments->x,
                      .y = moments->y,
                      .step = step,
                      .radius = seen->radius_px,
                      .a = seen->a,
                      .b = seen->b,
                      .c = seen->c,
                      .edge_px = 2};
    judge(window, &m, spot);
    spot->x_px = start->x_px + moments->x;
    spot->y_px = start->y_px + moments->y;
    spot->outline = *seen;
    double mean = 0.5 * (moments->xx + moments->yy);
    double half = hypot(0.5 * (moments->xx - moments->yy), moments->xy);
    spot->width_px = sqrt(12 * fmax(mean - half - blur2, 0.1));
    spot->sigma_px = hypot(0.1, 1.2 * spot->roughness);
}

/* Radius of the largest circle that fits into the marker, for its core and ground. */
static double inner_radius(const struct omo_spot_start *start, double reach)
{
    double r = start->outline.radius_px;
    return start->shape == OMO_BAND ? fmin(r, M_PI * r * r / (4 * reach)) : r;
}

bool omo_spot_measure(const struct omo_planes *planes, const struct omo_colour_map *map,
                      const struct omo_spot_start *start, struct omo_spot *spot)
{
    double radius = start->outline.radius_px;
    double reach = fmax(start->reach_px, omo_outline_reach_px(&start->outline));
    double margin = fmax(MARGIN_PX, 0.35 * radius);
    struct contrast contrast;
    if (!(radius > 0) || !isfinite(start->x_px) || !isfinite(start->y_px) ||
        !find_contrast(planes, start->x_px, start->y_px, inner_radius(start, reach),
                       margin, &contrast))
        return false;
    struct window window;
    fill_window(planes, start->x_px, start->y_px, reach + margin, &contrast, &window);
    struct moments moments;
    if (window.count < 12 || !soft_moments(&window, 0, contrast.step, &moments))
        return false;
    double pitch2 =
        0.5 * (planes->scale_x * planes->scale_x + planes->scale_y * planes->scale_y);
    double blur2 = 0.4 * (BLUR_PX * BLUR_PX + PITCH_BLUR * pitch2);
    struct omo_spot found = {
        .seen = outline_of(&moments, moments.mass * (double)window.unit_px2, blur2)};
    if (start->shape == OMO_BAND)
        measure_band(start, &window, contrast.step, &moments, blur2, &found);
    else if (!measure_disc(planes, start, &window, contrast.step, &moments, &found))
        return false;
    omo_colour_map_apply(map, contrast.core[0], contrast.core[1], found.core);
    omo_colour_map_apply(map, contrast.ground[0], contrast.ground[1], found.ground);
    double size = omo_colour_magnitude(found.core);
    double difference[2] = {found.core[0] - found.ground[0],
                            found.core[1] - found.ground[1]};
    found.contrast = size > 0 ? omo_colour_magnitude(difference) / size : 0;
    *spot = found;
    return true;
}
