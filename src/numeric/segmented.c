#include "omogon/segmented.h"

#include <math.h>
#include <stdbool.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>

#define COURSE      3  /* coefficients of the course */
#define BREAKS      4  /* what the stretch adds: from, width, rise, soft */
#define FROM_STEPS  64 /* places and widths of the grid */
#define WIDTH_STEPS 8
#define SOFT_STEPS  2
#define HALVINGS    6   /* of the steps, from the grid's on */
#define MOVES_MAX   200 /* a descent that has not settled by then will not */
#define NOTHING     1e-12

/** The problem with the course's part taken off by an orthogonal turn: what is left of a
 *  vector lies in its components from COURSE on. */
struct reduced {
    const double *x;
    size_t count;
    gsl_matrix *qr;
    gsl_vector *tau, *y, *ramp;
    double course_rss; /* of the course alone */
};

/** One place that was tried. */
struct trial {
    double from, width, soft, rise, rss; /* rss INFINITY: no rise there */
};

static double ramp_at(double x, double from, double width, double soft)
{
    double v = fmin(fmax((x - from) / width, 0.0), 1.0);
    return (1.0 - soft) * v + soft * v * v * (3.0 - 2.0 * v);
}

static void turn_ramp(struct reduced *r, double from, double width, double soft)
{
    for (size_t i = 0; i < r->count; i++)
        gsl_vector_set(r->ramp, i, ramp_at(r->x[i], from, width, soft));
    gsl_linalg_QR_QTvec(r->qr, r->tau, r->ramp);
}

static struct trial try_place(struct reduced *r, double from, double width, double soft)
{
    struct trial trial = {from, width, soft, NAN, INFINITY};
    double ramp2 = 0, both = 0;
    turn_ramp(r, from, width, soft);
    for (size_t i = COURSE; i < r->count; i++) {
        double one = gsl_vector_get(r->ramp, i);
        ramp2 += one * one;
        both += one * gsl_vector_get(r->y, i);
    }
    if (!(ramp2 > NOTHING) || !(both > 0.0))
        return trial;
    trial.rise = both / ramp2;
    trial.rss = fmax(0.0, r->course_rss - trial.rise * both);
    return trial;
}

/** Where the search may go. */
struct room {
    double from_low, from_high, width_low, width_high;
};

static double within(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

static struct trial search_grid(struct reduced *r, const struct room *room, double soft)
{
    struct trial best = {.rss = INFINITY};
    for (int i = 0; i <= FROM_STEPS; i++) {
        for (int j = 0; j <= WIDTH_STEPS; j++) {
            struct trial one = try_place(
                r, room->from_low + i * (room->from_high - room->from_low) / FROM_STEPS,
                room->width_low + j * (room->width_high - room->width_low) / WIDTH_STEPS,
                soft);
            if (one.rss < best.rss)
                best = one;
        }
    }
    return best;
}

/** The best of the eight neighbours, or where it stands. */
static struct trial step_once(struct reduced *r, const struct room *room,
                              const struct trial *from, double step, double widen)
{
    struct trial best = *from;
    for (int i = -1; i <= 1; i++) {
        for (int j = -1; j <= 1; j++) {
            struct trial one =
                try_place(r,
                          within(from->from + i * step, room->from_low, room->from_high),
                          within(from->width + j * widen, room->width_low,
                                 room->width_high),
                          from->soft);
            if (one.rss < best.rss)
                best = one;
        }
    }
    return best;
}

static struct trial search_near(struct reduced *r, const struct room *room,
                                struct trial best)
{
    double step = (room->from_high - room->from_low) / FROM_STEPS;
    double widen = (room->width_high - room->width_low) / WIDTH_STEPS;
    int halved = 0;
    for (int move = 0; move < MOVES_MAX && halved < HALVINGS; move++) {
        struct trial next = step_once(r, room, &best, step, widen);
        if (!(next.rss < best.rss)) {
            step /= 2;
            widen /= 2;
            halved++;
        }
        best = next;
    }
    return best;
}

static struct trial search_all(struct reduced *r, const struct room *room)
{
    struct trial best = {.rss = INFINITY};
    for (int i = 0; i <= SOFT_STEPS; i++) {
        struct trial one = search_grid(r, room, (double)i / SOFT_STEPS);
        if (isfinite(one.rss))
            one = search_near(r, room, one);
        if (one.rss < best.rss)
            best = one;
    }
    return best;
}

static double p_of(const struct reduced *r, const struct trial *best)
{
    double left = (double)(r->count - COURSE - BREAKS);
    if (!(best->rss > 0.0))
        return 0.0;
    return gsl_cdf_fdist_Q((r->course_rss - best->rss) / BREAKS / (best->rss / left),
                           BREAKS, left);
}

static void fill(struct reduced *r, const struct trial *best, struct omo_stretch_fit *fit)
{
    gsl_matrix_view upper = gsl_matrix_submatrix(r->qr, 0, 0, COURSE, COURSE);
    gsl_vector_view course = gsl_vector_view_array(fit->course, COURSE);
    turn_ramp(r, best->from, best->width, best->soft);
    for (size_t i = 0; i < COURSE; i++)
        fit->course[i] =
            gsl_vector_get(r->y, i) - best->rise * gsl_vector_get(r->ramp, i);
    gsl_linalg_R_svx(&upper.matrix, &course.vector);
    fit->from = best->from;
    fit->width = best->width;
    fit->soft = best->soft;
    fit->rise = best->rise;
    fit->rise_seen =
        best->rise * ramp_at(r->x[r->count - 1], best->from, best->width, best->soft);
    fit->rms = sqrt(best->rss / (double)r->count);
    fit->chance = p_of(r, best);
}

static void reduce(struct reduced *r, const double *y, const struct omo_stretch_fit *fit)
{
    r->course_rss = 0;
    for (size_t i = 0; i < r->count; i++) {
        double u = (r->x[i] - fit->middle) / fit->half;
        gsl_matrix_set(r->qr, i, 0, 1.0);
        gsl_matrix_set(r->qr, i, 1, u);
        gsl_matrix_set(r->qr, i, 2, u * u);
        gsl_vector_set(r->y, i, y[i]);
    }
    gsl_linalg_QR_decomp(r->qr, r->tau);
    gsl_linalg_QR_QTvec(r->qr, r->tau, r->y);
    for (size_t i = COURSE; i < r->count; i++)
        r->course_rss += gsl_vector_get(r->y, i) * gsl_vector_get(r->y, i);
}

static bool ascending(const double *x, const double *y, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(x[i]) || !isfinite(y[i]) || (i > 0 && !(x[i] > x[i - 1])))
            return false;
    }
    return true;
}

static void release(struct reduced *r)
{
    gsl_matrix_free(r->qr);
    gsl_vector_free(r->tau);
    gsl_vector_free(r->y);
    gsl_vector_free(r->ramp);
}

static enum omo_status search(const double *x, const double *y, size_t count,
                              const struct room *room, struct omo_stretch_fit *fit)
{
    struct reduced r = {.x = x,
                        .count = count,
                        .qr = gsl_matrix_alloc(count, COURSE),
                        .tau = gsl_vector_alloc(COURSE),
                        .y = gsl_vector_alloc(count),
                        .ramp = gsl_vector_alloc(count)};
    enum omo_status status = OMO_ERR_MEMORY;
    if (r.qr != NULL && r.tau != NULL && r.y != NULL && r.ramp != NULL) {
        struct omo_stretch_fit found = {.middle = (x[0] + x[count - 1]) / 2,
                                        .half = (x[count - 1] - x[0]) / 2};
        reduce(&r, y, &found);
        struct trial best = search_all(&r, room);
        status = isfinite(best.rss) ? OMO_OK : OMO_ERR_EMPTY;
        if (status == OMO_OK) {
            fill(&r, &best, &found);
            *fit = found;
        }
    }
    release(&r);
    return status;
}

enum omo_status omo_stretch_fit(const double *x, const double *y, size_t count,
                                const struct omo_stretch_limits *limits,
                                struct omo_stretch_fit *fit)
{
    if (!(limits->width_least > 0.0) || !(limits->width_most >= limits->width_least) ||
        !(limits->margin >= 0.0) || !ascending(x, y, count))
        return OMO_ERR_ARG;
    if (count < OMO_STRETCH_POINTS_MIN)
        return OMO_ERR_EMPTY;
    struct room room = {.from_low = fmax(limits->from_least, x[0] + limits->margin),
                        .from_high = x[count - 1] - limits->margin,
                        .width_low = limits->width_least,
                        .width_high = limits->width_most};
    if (!(room.from_high > room.from_low))
        return OMO_ERR_EMPTY;
    return search(x, y, count, &room, fit);
}

double omo_stretch_course(const struct omo_stretch_fit *fit, double x)
{
    double u = (x - fit->middle) / fit->half;
    return fit->course[0] + u * (fit->course[1] + u * fit->course[2]);
}
