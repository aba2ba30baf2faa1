#include "fit.h"

#include <math.h>
#include <string.h>

#include "lanes.h"
#include "length.h"

/* Weights chosen on painted discs of 8 to 20 px with linear blending, shading of 0 to
 * 12 %, noise and JPEG quality 85 (tests/test_vision.c shows the errors they give). */
#define NOISE_VARIANCE 200.0 /* of one sample as the priors see it, JPEG included */
#define ROBUST_SHARE   0.30  /* a residual of this share of the step counts half */
#define GROSS_SHARE    0.35  /* one above this does not fit at all */
#define SIGMA_FLOOR_PX 0.03
/* A limb's outline against what is behind it: light and taper shift the ends of a band
 * by about this much, the same in every frame, which no residual shows. */
#define SIGMA_FLOOR_BAR_PX 0.10
#define SIGMA_PER_FIT      1.6  /* neighbouring samples share their noise */
#define NEAR_ENOUGH_PX     0.03 /* what is left after such a step is a tenth of it */
/* A band on a limb, shares of the step: how the light may change across it and the ground
 * beyond its ends, and how much that ground may differ from end to end. */
#define BAR_SIGMA      0.5
#define BAR_TILT_SIGMA 0.05

/* Parameters: x, y, step, ground, then radius, shade_x, shade_y of an ellipse or
 * half_long, half_wide, ends, tilt, shade_x, bow of a bar. An ellipse without shading has
 * five. */
#define MOST_PARAMETERS 10

struct normal {
    double matrix[MOST_PARAMETERS][MOST_PARAMETERS];
    double right[MOST_PARAMETERS];
    double residual2, weight; /* weighted sum of squares, sum of weights */
};

/* Level (0..1) of the cubic step at t and its slope in t. */
static inline omo_f4 level4(omo_f4 t)
{
    return t * t * (omo_all4(3) - omo_all4(2) * t);
}

static inline omo_f4 slope4(omo_f4 t)
{
    return omo_all4(6) * t * (omo_all4(1) - t);
}

/* Constants of a model in four lanes. */
struct lanes {
    omo_f4 x, y, step, ground, per_edge;
    omo_f4 a, b, c, radius, per_radius, shade_x, shade_y;
    omo_f4 cosine, sine, half_long, half_wide, per_long, ends, tilt, bow;
};

static void spread(const struct omo_model *m, struct lanes *l)
{
    *l = (struct lanes){.x = omo_all4(m->x),
                        .y = omo_all4(m->y),
                        .step = omo_all4(m->step),
                        .ground = omo_all4(m->ground),
                        .per_edge = omo_all4(1 / m->edge_px),
                        .a = omo_all4(m->a),
                        .b = omo_all4(m->b),
                        .c = omo_all4(m->c),
                        .radius = omo_all4(m->radius),
                        .per_radius = omo_all4(1 / m->radius),
                        .shade_x = omo_all4(m->shade_x),
                        .shade_y = omo_all4(m->shade_y),
                        .cosine = omo_all4(m->cosine),
                        .sine = omo_all4(m->sine),
                        .half_long = omo_all4(m->half_long),
                        .half_wide = omo_all4(m->half_wide),
                        .per_long = omo_all4(m->half_long > 0 ? 1 / m->half_long : 0),
                        .ends = omo_all4(m->ends),
                        .tilt = omo_all4(m->tilt),
                        .bow = omo_all4(m->bow)};
}

/* Expected place at (x, y) from the centre and its derivatives. */
static inline __attribute__((always_inline)) omo_f4 ellipse_at(const struct lanes *l,
                                                               omo_f4 x, omo_f4 y, int n,
                                                               omo_f4 *j)
{
    omo_f4 gx = l->a * x + l->b * y, gy = l->b * x + l->c * y;
    omo_f4 d = omo_sqrt4(gx * x + gy * y + omo_all4(1e-4));
    omo_f4 t = omo_unit4((l->radius - d) * l->per_edge + omo_all4(0.5));
    omo_f4 level = level4(t), slope = slope4(t) * l->per_edge, top = l->step;
    omo_f4 rx = x * l->per_radius, ry = y * l->per_radius;
    if (n > 5)
        top += l->shade_x * rx + l->shade_y * ry;
    omo_f4 steep = top * slope, over_d = steep / d;
    j[0] = over_d * gx;
    j[1] = over_d * gy;
    j[2] = level;
    j[3] = omo_all4(1);
    j[4] = steep;
    if (n > 5) {
        j[5] = level * rx;
        j[6] = level * ry;
    }
    return l->ground + top * level;
}

/* Light at place u / half_long across a limb, against that in its middle: what is lit
 * from one side falls off towards the other, and a round thing falls off towards both
 * edges. */
static inline omo_f4 bar_light(const struct lanes *l, omo_f4 place, omo_f4 *round)
{
    const omo_f4 one = omo_all4(1);
    *round = one - omo_sqrt4(one - omo_unit4(place * place));
    return l->shade_x * place + l->bow * *round;
}

static inline __attribute__((always_inline)) omo_f4 bar_at(const struct lanes *l,
                                                           omo_f4 x, omo_f4 y, omo_f4 *j)
{
    omo_f4 u = l->cosine * x + l->sine * y, v = l->cosine * y - l->sine * x;
    omo_f4 tu = omo_unit4((l->half_long - omo_abs4(u)) * l->per_edge + omo_all4(0.5));
    omo_f4 tv = omo_unit4((l->half_wide - omo_abs4(v)) * l->per_edge + omo_all4(0.5));
    omo_f4 su = level4(tu), sv = level4(tv);
    omo_f4 du = slope4(tu) * l->per_edge, dv = slope4(tv) * l->per_edge;
    const omo_f4 one = omo_all4(1), zero = omo_all4(0);
    omo_f4 place = u * l->per_long, round, top = l->step + bar_light(l, place, &round);
    omo_f4 end = omo_pick4(u > zero, one, -one), ends = l->ends + end * l->tilt;
    omo_f4 along = du * (top * sv - ends), wide = top * su * dv;
    omo_f4 at_u = omo_pick4(u > zero, along, -along);
    omo_f4 at_v = omo_pick4(v > zero, wide, -wide);
    j[0] = l->cosine * at_u - l->sine * at_v;
    j[1] = l->sine * at_u + l->cosine * at_v;
    j[2] = su * sv;
    j[3] = one;
    j[4] = along;
    j[5] = wide;
    j[6] = one - su;
    j[7] = end * j[6];
    j[8] = place * j[2];
    j[9] = round * j[2];
    return l->ground + top * j[2] + ends * j[6];
}

/* Beside a band's ends the limb goes on, narrower or wider than the band: not looked at.
 */
static inline omo_i4 beside_ends(const struct lanes *l, omo_f4 edge, omo_f4 x, omo_f4 y)
{
    omo_f4 u = omo_abs4(l->cosine * x + l->sine * y);
    omo_f4 v = omo_abs4(l->cosine * y - l->sine * x);
    return (u > l->half_long - edge) & (v > l->half_wide);
}

/* Sums of the normal equations over the window, n parameters. */
static inline __attribute__((always_inline)) void accumulate(
    const struct omo_window *window, const struct omo_model *m, int n, enum omo_form form,
    double robust, bool strict, struct normal *normal)
{
    omo_f4 sum[MOST_PARAMETERS][MOST_PARAMETERS], right[MOST_PARAMETERS];
    omo_f4 e2 = omo_all4(0), weight = e2;
    struct lanes l;
    spread(m, &l);
    for (int r = 0; r < n; r++) {
        right[r] = omo_all4(0);
        for (int c = r; c < n; c++)
            sum[r][c] = omo_all4(0);
    }
    const omo_f4 one = omo_all4(1), edge = omo_all4(0.5 * m->edge_px);
    const omo_f4 limit = omo_all4(robust > 0 ? 1 / (robust * robust) : 0);
    for (int i = 0; i < window->count; i += 4) {
        omo_f4 x = omo_load4(window->x + i) - l.x, y = omo_load4(window->y + i) - l.y;
        omo_f4 j[MOST_PARAMETERS];
        omo_f4 expected =
            form == OMO_FORM_BAR ? bar_at(&l, x, y, j) : ellipse_at(&l, x, y, n, j);
        omo_f4 e = omo_load4(window->p + i) - expected;
        omo_f4 w = one / (one + e * e * limit);
        w = omo_load4(window->w + i) * (strict ? w * w : w);
        if (form == OMO_FORM_BAR)
            w = omo_only4(~beside_ends(&l, edge, x, y), w);
#pragma GCC unroll 10
        for (int r = 0; r < n; r++) {
            omo_f4 wj = w * j[r];
            right[r] += wj * e;
#pragma GCC unroll 10
            for (int c = r; c < n; c++)
                sum[r][c] += wj * j[c];
        }
        e2 += w * e * e;
        weight += w;
    }
    for (int r = 0; r < n; r++) {
        normal->right[r] = omo_sum4(right[r]);
        for (int c = r; c < n; c++)
            normal->matrix[r][c] = normal->matrix[c][r] = omo_sum4(sum[r][c]);
    }
    normal->residual2 = omo_sum4(e2);
    normal->weight = omo_sum4(weight);
}

static __attribute__((noinline)) void ellipse5(const struct omo_window *window,
                                               const struct omo_model *m, double robust,
                                               bool strict, struct normal *normal)
{
    accumulate(window, m, 5, OMO_FORM_ELLIPSE, robust, strict, normal);
}

static __attribute__((noinline)) void ellipse7(const struct omo_window *window,
                                               const struct omo_model *m, double robust,
                                               bool strict, struct normal *normal)
{
    accumulate(window, m, 7, OMO_FORM_ELLIPSE, robust, strict, normal);
}

static __attribute__((noinline)) void bar10(const struct omo_window *window,
                                            const struct omo_model *m, double robust,
                                            bool strict, struct normal *normal)
{
    accumulate(window, m, 10, OMO_FORM_BAR, robust, strict, normal);
}

/* Cholesky factor of the symmetric matrix in place (lower part). */
static bool factor(double a[MOST_PARAMETERS][MOST_PARAMETERS], int n)
{
    for (int i = 0; i < n; i++) {
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

static void solve(double a[MOST_PARAMETERS][MOST_PARAMETERS], int n, double *b)
{
    for (int i = 0; i < n; i++) {
        for (int k = 0; k < i; k++)
            b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++)
            b[i] -= a[k][i] * b[k];
        b[i] /= a[i][i];
    }
}

static double bounded(double v, double limit)
{
    return v > limit ? limit : v < -limit ? -limit : v;
}

/* What is known before the picture speaks: shading is slight, the radius may be known. */
static void add_priors(struct normal *normal, const struct omo_model *m, int n,
                       const struct omo_fit_rules *rules)
{
    if (m->form == OMO_FORM_ELLIPSE && n > 5) {
        double shade = rules->shade_sigma * m->step, k = NOISE_VARIANCE / (shade * shade);
        normal->matrix[5][5] += k;
        normal->matrix[6][6] += k;
        normal->right[5] -= k * m->shade_x;
        normal->right[6] -= k * m->shade_y;
    }
    if (m->form == OMO_FORM_ELLIPSE && isfinite(rules->radius_sigma)) {
        double doubt = rules->radius_sigma * rules->radius_px;
        double k = NOISE_VARIANCE / (doubt * doubt);
        normal->matrix[4][4] += k;
        normal->right[4] -= k * (m->radius - rules->radius_px);
    }
    if (m->form == OMO_FORM_BAR) {
        const double now[] = {m->ends, m->tilt, m->shade_x, m->bow};
        for (int i = 0; i < 4; i++) {
            double doubt = (i == 1 ? BAR_TILT_SIGMA : BAR_SIGMA) * m->step;
            normal->matrix[6 + i][6 + i] += NOISE_VARIANCE / (doubt * doubt);
            normal->right[6 + i] -= NOISE_VARIANCE / (doubt * doubt) * now[i];
        }
    }
    for (int i = 0; i < n; i++)
        normal->matrix[i][i] += 1e-6;
}

/* False when the model has become something else. */
static bool apply(struct omo_model *m, const double *change, int n, double first_size)
{
    m->x += bounded(change[0], 1.5);
    m->y += bounded(change[1], 1.5);
    m->step += change[2];
    m->ground += change[3];
    double size;
    if (m->form == OMO_FORM_BAR) {
        m->half_long += bounded(change[4], 0.2 * m->half_long);
        m->half_wide += bounded(change[5], 0.2 * m->half_wide);
        m->ends += change[6];
        m->tilt += change[7];
        m->shade_x += change[8];
        m->bow += change[9];
        size = m->half_long;
        if (!(m->half_wide > 1))
            return false;
    } else {
        m->radius += bounded(change[4], 0.3 * m->radius);
        m->shade_x += n > 5 ? change[5] : 0;
        m->shade_y += n > 5 ? change[6] : 0;
        size = m->radius;
    }
    return m->step > OMO_SMALLEST_STEP && size > 0.3 * first_size &&
           size < 2.5 * first_size && omo_length(m->x, m->y) < first_size + 3;
}

bool omo_fit(const struct omo_window *window, const struct omo_fit_rules *rules,
             struct omo_model *m, double *sigma_px)
{
    enum { PASSES = 4, PLAIN_PASSES = 2 };
    struct normal normal;
    bool bar = m->form == OMO_FORM_BAR;
    double first_size = bar ? m->half_long : m->radius;
    int n = 5;
    for (int pass = 0; pass < PASSES; pass++) {
        /* Shading is small: it joins when the centre is nearly right. */
        bool last_kind = bar || rules->shade_sigma <= 0 || pass >= PLAIN_PASSES;
        double robust = pass == 0 && !rules->strict ? 0 : ROBUST_SHARE * m->step;
        n = bar ? 10 : rules->shade_sigma > 0 && last_kind ? 7 : 5;
        (bar      ? bar10
         : n == 7 ? ellipse7
                  : ellipse5)(window, m, robust, rules->strict, &normal);
        add_priors(&normal, m, n, rules);
        double change[MOST_PARAMETERS];
        memcpy(change, normal.right, sizeof change);
        if (!factor(normal.matrix, n))
            return false;
        solve(normal.matrix, n, change);
        if (!apply(m, change, n, first_size))
            return false;
        bool near = fabs(change[0]) < NEAR_ENOUGH_PX && fabs(change[1]) < NEAR_ENOUGH_PX;
        if (pass > 0 && near && last_kind)
            break;
        if (near && !last_kind)
            pass = PLAIN_PASSES - 1;
    }
    double inverse[2][MOST_PARAMETERS] = {{1}, {0, 1}};
    solve(normal.matrix, n, inverse[0]);
    solve(normal.matrix, n, inverse[1]);
    double noise2 = normal.residual2 / fmax(normal.weight - 5, 1);
    double per_axis2 = 0.5 * noise2 * (inverse[0][0] + inverse[1][1]);
    *sigma_px = omo_length(bar ? SIGMA_FLOOR_BAR_PX : SIGMA_FLOOR_PX,
                           SIGMA_PER_FIT * sqrt(per_axis2));
    return true;
}

/* ---- what the fit says about the thing ---- */

/* Signed distance to the outline, inside negative, px. */
static inline omo_f4 distance4(const struct lanes *l, enum omo_form form, omo_f4 x,
                               omo_f4 y)
{
    if (form == OMO_FORM_BAR) {
        omo_f4 u = omo_abs4(l->cosine * x + l->sine * y) - l->half_long;
        omo_f4 v = omo_abs4(l->cosine * y - l->sine * x) - l->half_wide;
        return omo_pick4(u > v, u, v);
    }
    return omo_sqrt4(l->a * x * x + omo_all4(2) * l->b * x * y + l->c * y * y) -
           l->radius;
}

void omo_fit_judge(const struct omo_window *window, const struct omo_model *m,
                   struct omo_spot *spot)
{
    struct lanes l;
    spread(m, &l);
    bool bar = m->form == OMO_FORM_BAR;
    const omo_f4 zero = omo_all4(0), one = omo_all4(1), edge = omo_all4(0.5 * m->edge_px);
    const omo_f4 rim_from =
        omo_all4(-0.5 * m->edge_px - 0.2 * (bar ? m->half_wide : m->radius));
    const omo_f4 per_step = omo_all4(1 / m->step);
    const omo_f4 soft2 = omo_all4(ROBUST_SHARE * ROBUST_SHARE);
    const omo_f4 gross2 = omo_all4(GROSS_SHARE * GROSS_SHARE);
    omo_f4 inside = zero, alike = zero, rim = zero, rim_alike = zero, ring = zero;
    omo_f4 agree = zero, ring_alike = zero, n = zero, e2 = zero, soft = zero,
           gross = zero;
    for (int i = 0; i < window->count; i += 4) {
        omo_f4 x = omo_load4(window->x + i) - l.x, y = omo_load4(window->y + i) - l.y;
        omo_f4 d = distance4(&l, m->form, x, y);
        omo_f4 t = omo_unit4(omo_all4(0.5) - d * l.per_edge);
        omo_f4 level = level4(t);
        omo_f4 seen = (omo_load4(window->p + i) - l.ground) * per_step;
        if (bar) {
            /* the other ground begins where the ends do */
            omo_f4 u = l.cosine * x + l.sine * y, round;
            omo_f4 beyond =
                one - level4(omo_unit4((l.half_long - omo_abs4(u)) * l.per_edge +
                                       omo_all4(0.5)));
            omo_f4 ends = l.ends + omo_pick4(u > zero, l.tilt, -l.tilt);
            seen -= ends * per_step * beyond;
            level *= one + bar_light(&l, u * l.per_long, &round) * per_step;
        }
        omo_i4 there = omo_load4(window->w + i) > zero;
        omo_i4 out = there & (d > edge), in = there & (d <= edge);
        omo_i4 core = in & (d < zero), border = core & (d > rim_from);
        omo_i4 like = seen > omo_all4(0.6) * level;
        omo_f4 miss = seen - level, e = miss * miss;
        omo_f4 fits = omo_only4(in & (e < gross2), miss);
        agree += fits * (omo_f4){fits[1], fits[2], fits[3], 0};
        ring += omo_only4(out, one);
        ring_alike += omo_only4(out & (seen > omo_all4(0.55)), one);
        inside += omo_only4(core, one);
        alike += omo_only4(core & like, one);
        rim += omo_only4(border, one);
        rim_alike += omo_only4(border & like, one);
        n += omo_only4(in, one);
        soft += omo_only4(in, e / (e + soft2));
        e2 += omo_only4(in & (e < gross2), e);
        gross += omo_only4(in & (e >= gross2), one);
    }
    double all = omo_sum4(n), bad = omo_sum4(gross);
    spot->cover = omo_sum4(alike) / fmax(omo_sum4(inside), 1);
    spot->rim = omo_sum4(rim_alike) / fmax(omo_sum4(rim), 1);
    spot->outside = omo_sum4(ring_alike) / fmax(omo_sum4(ring), 1);
    spot->roughness = all > bad ? sqrt(omo_sum4(e2) / (all - bad)) : 1;
    /* three of four samples have their neighbour in the same lanes */
    spot->uneven = sqrt(fmax(omo_sum4(agree), 0) / 0.75 / fmax(all - bad, 1));
    spot->gross = all > 0 ? bad / all : 1;
    spot->misfit = all > 0 ? omo_sum4(soft) / all : 1;
}
