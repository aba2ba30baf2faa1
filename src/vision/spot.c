#include "spot.h"

#include <math.h>

#include "fit.h"
#include "length.h"
#include "window.h"

/* Chosen on painted discs, see fit.c. */
#define BLUR_PX             0.9  /* of an ordinary lens and sensor, standard deviation */
#define PITCH_BLUR          0.55 /* share of the squared chroma pitch that blurs */
#define MARGIN_PX           5.0  /* ground needed around the marker */
#define SHADE_SIGMA         0.06 /* likely gradient over a radius, share of contrast */
#define SHADE_SIGMA_SMEARED 0.25 /* its ends lie over different grounds */
#define SHADE_SAMPLES       70
#define BITTEN_SHARE        0.06 /* more gross residuals than this: a second look */
/* Residuals that agree with their neighbours are no noise but a ground or light that the
 * model does not know, and do not average out: the stated sigma grows by itself for every
 * UNEVEN_STEP above what good light leaves. And of the samples that do not fit at all a
 * share g can have moved the centre by up to pi / 2 g radii; GROSS_SHIFT g is usual.
 * Measured on glossy stickers and on sleeves of nearly their colour. */
#define UNEVEN_FROM 0.035
#define UNEVEN_STEP 0.03
#define GROSS_SHIFT 0.2
/* A form that is rounder than this is round, but for noise. */
#define ROUND_RATIO 0.85

double omo_outline_axis_ratio(const struct omo_outline *outline)
{
    double mean = 0.5 * (outline->a + outline->c);
    double half = omo_length(0.5 * (outline->a - outline->c), outline->b);
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
    double half = omo_length(0.5 * (outline->a - outline->c), outline->b);
    double low = mean - half;
    return low > 1e-6 ? outline->radius_px / sqrt(low) : outline->radius_px;
}

/* ---- core and ground ---- */

struct contrast {
    double core[2], ground[2]; /* raw chroma */
    struct omo_axis axis;
};

static bool set_axis(struct contrast *c)
{
    double u = c->core[0] - c->ground[0], v = c->core[1] - c->ground[1];
    c->axis.step = omo_length(u, v);
    if (c->axis.step < OMO_SMALLEST_STEP)
        return false;
    c->axis.u = u / c->axis.step;
    c->axis.v = v / c->axis.step;
    c->axis.zero = c->ground[0] * c->axis.u + c->ground[1] * c->axis.v;
    return true;
}

/* Highlights and bites are left out of the core in a second look, and whatever is more
 * like the core out of the ground: a band goes on beyond the ring. */
static bool find_contrast(const struct omo_window *window, double inside, double from,
                          double to, struct contrast *c)
{
    if (!omo_window_mean(window, 0, inside, NULL, 0, 0, c->core) ||
        !omo_window_mean(window, from, to, NULL, 0, 0, c->ground) || !set_axis(c))
        return false;
    double half = 0.5 * c->axis.step, most = 0.75 * c->axis.step;
    omo_window_mean(window, 0, inside, &c->axis, most, 1e6, c->core);
    omo_window_mean(window, from, to, &c->axis, -1e6, half, c->ground);
    return set_axis(c);
}

/* Radius of the largest circle that fits into the marker, for its core and ground. */
static double inner_radius(const struct omo_spot_start *start, double reach)
{
    double r = start->outline.radius_px;
    return start->shape == OMO_BAND ? fmin(r, M_PI * r * r / (4 * reach)) : r;
}

/* ---- forms ---- */

static double mean_pitch2(const struct omo_planes *planes)
{
    return 0.5 * (planes->scale_x * planes->scale_x + planes->scale_y * planes->scale_y);
}

static double edge_width(const struct omo_planes *planes, double radius)
{
    double sigma = sqrt(BLUR_PX * BLUR_PX + PITCH_BLUR * mean_pitch2(planes));
    /* the cubic step with the slope of a Gaussian edge; large ones may be out of focus */
    return fmax(3.76 * sigma, 0.25 * radius);
}

/* Variance that blur adds to the soft moments. */
static double moment_blur2(const struct omo_planes *planes)
{
    return 0.4 * (BLUR_PX * BLUR_PX + PITCH_BLUR * mean_pitch2(planes));
}

/* The ellipse of these moments; a uniform ellipse has a quarter of its squared half axes
 * as variances. */
static struct omo_outline outline_of(const struct omo_moments *m, double area_px2,
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

/* A part does not fit at all: once more without it, as an ellipse and as a circle,
 * since what is missing has bent the form too. The better one stays. */
static void fit_bitten(const struct omo_window *window, const struct omo_fit_rules *rules,
                       struct omo_model *m, double *sigma_px, struct omo_spot *spot)
{
    const struct omo_model first = *m;
    struct omo_fit_rules strict = *rules;
    strict.strict = true;
    strict.shade_sigma = 0;
    bool round_already = first.a == 1 && first.c == 1;
    for (int round = round_already; round < 2; round++) {
        struct omo_model again = first;
        struct omo_spot judged = *spot;
        double sigma;
        again.shade_x = again.shade_y = 0;
        if (round) {
            again.a = again.c = 1;
            again.b = 0;
        }
        if (!omo_fit(window, &strict, &again, &sigma))
            continue;
        omo_fit_judge(window, &again, &judged);
        if (judged.misfit >= spot->misfit)
            continue;
        *m = again;
        *sigma_px = sigma;
        *spot = judged;
    }
}

static double honest_sigma(double sigma_px, const struct omo_spot *spot, double radius)
{
    double uneven = fmax(spot->uneven - UNEVEN_FROM, 0) / UNEVEN_STEP;
    return omo_length(sigma_px * (1 + uneven), GROSS_SHIFT * spot->gross * radius);
}

static bool measure_disc(const struct omo_planes *planes,
                         const struct omo_spot_start *start,
                         const struct omo_window *window, double step,
                         const struct omo_moments *moments, struct omo_spot *spot)
{
    bool known = start->outline_known;
    /* Few samples cannot tell shading from a shift. */
    double samples = M_PI * start->outline.radius_px * start->outline.radius_px /
                     (planes->scale_x * planes->scale_y);
    bool plain = known || samples < SHADE_SAMPLES;
    const struct omo_outline *form = known ? &start->outline : &spot->seen;
    /* With a known outline the start is the better guess: moments follow what is left. */
    struct omo_model m = {.form = OMO_FORM_ELLIPSE,
                          .x = known ? 0 : moments->x,
                          .y = known ? 0 : moments->y,
                          .step = step,
                          .radius = form->radius_px,
                          .a = 1,
                          .c = 1,
                          .edge_px = edge_width(planes, start->outline.radius_px)};
    struct omo_fit_rules rules = {.strict = known,
                                  .shade_sigma = start->smeared ? SHADE_SIGMA_SMEARED
                                                 : plain        ? 0
                                                                : SHADE_SIGMA,
                                  .radius_px = start->outline.radius_px,
                                  .radius_sigma = start->radius_sigma};
    if (known || omo_outline_axis_ratio(form) < ROUND_RATIO) {
        m.a = form->a;
        m.b = form->b;
        m.c = form->c;
    }
    double sigma_px;
    if (!omo_fit(window, &rules, &m, &sigma_px))
        return false;
    omo_fit_judge(window, &m, spot);
    if (!known && !start->smeared && spot->gross > BITTEN_SHARE)
        fit_bitten(window, &rules, &m, &sigma_px, spot);
    spot->x_px = start->x_px + m.x;
    spot->y_px = start->y_px + m.y;
    /* What covers a known one or drew it out is allowed for elsewhere. */
    spot->sigma_px =
        known || start->smeared ? sigma_px : honest_sigma(sigma_px, spot, m.radius);
    spot->outline = (struct omo_outline){m.radius, m.a, m.b, m.c};
    spot->width_px = 2 * m.radius;
    return true;
}

/* The long way of a band lies across the limb. A bar has a third of its squared half
 * lengths as variances. */
static bool measure_band(const struct omo_planes *planes,
                         const struct omo_spot_start *start,
                         const struct omo_window *window, double step,
                         const struct omo_moments *moments, struct omo_spot *spot)
{
    double blur2 = moment_blur2(planes);
    double mean = 0.5 * (moments->xx + moments->yy) - blur2;
    double half = omo_length(0.5 * (moments->xx - moments->yy), moments->xy);
    double turn = 0.5 * atan2(2 * moments->xy, moments->xx - moments->yy);
    struct omo_model m = {.form = OMO_FORM_BAR,
                          .x = moments->x,
                          .y = moments->y,
                          .step = step,
                          .cosine = cos(turn),
                          .sine = sin(turn),
                          .half_long = sqrt(3 * fmax(mean + half, 1)),
                          .half_wide = sqrt(3 * fmax(mean - half, 1)),
                          .radius = 1,
                          .edge_px = edge_width(planes, start->outline.radius_px)};
    struct omo_fit_rules rules = {.radius_sigma = NAN};
    double sigma_px;
    if (!omo_fit(window, &rules, &m, &sigma_px))
        return false;
    omo_fit_judge(window, &m, spot);
    spot->x_px = start->x_px + m.x;
    spot->y_px = start->y_px + m.y;
    spot->sigma_px = sigma_px;
    spot->outline = spot->seen;
    spot->width_px = 2 * m.half_wide;
    return true;
}

/* The picture's border may have cut off what reaches it: its middle cannot be known. */
static bool cut(const struct omo_planes *planes, const struct omo_spot *spot)
{
    double across =
        spot->outline.radius_px * sqrt(spot->outline.c) + 0.25 * planes->scale_x;
    double down =
        spot->outline.radius_px * sqrt(spot->outline.a) + 0.25 * planes->scale_y;
    return spot->x_px < across || spot->x_px > planes->width - 1 - across ||
           spot->y_px < down || spot->y_px > planes->height - 1 - down;
}

bool omo_spot_measure(const struct omo_planes *planes, const struct omo_colour_map *map,
                      const struct omo_spot_start *start, struct omo_spot *spot)
{
    double radius = start->outline.radius_px;
    if (!(radius > 0) || !isfinite(start->x_px) || !isfinite(start->y_px))
        return false;
    double reach = fmax(start->reach_px, omo_outline_reach_px(&start->outline));
    double margin = fmax(MARGIN_PX, 0.35 * radius);
    struct omo_window window;
    omo_window_fill(&window, planes, start->x_px, start->y_px, reach + margin);
    if (window.count < 12)
        return false;
    struct contrast contrast;
    double inner = inner_radius(start, reach);
    double inside =
        fmax(0.55 * inner, 0.71 * omo_length(planes->scale_x, planes->scale_y));
    if (!find_contrast(&window, inside, inner + 0.4 * margin, inner + margin, &contrast))
        return false;
    omo_window_project(&window, &contrast.axis);
    struct omo_moments moments;
    double step = contrast.axis.step;
    if (!omo_window_moments(&window, step, &moments))
        return false;
    struct omo_spot found = {.seen = outline_of(&moments, moments.mass * window.unit_px2,
                                                moment_blur2(planes))};
    bool good =
        (start->shape == OMO_BAND ? measure_band : measure_disc)(planes, start, &window,
                                                                 step, &moments, &found);
    if (!good || cut(planes, &found))
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
