#include "omogon/circle.h"

#include <math.h>
#include <stdlib.h>

#include "omogon/most_probable.h"

#define NEWTON_STEPS 50
/* Share of the spread along a line that the spread across it has to reach: less is
 * rounding. */
#define LINE_SHARE 1e-13

/** Moments about the mean in units of the points' spread, z = x^2 + y^2: sums divided by
 *  the count. In these units z has the mean 1, whatever the points' unit. */
struct moments {
    struct omo_point mean;
    double unit;
    double xx, xy, yy, xz, yz, zz;
    double determinant; /**< xx yy - xy^2 */
};

static enum omo_status moments_of(const struct omo_point *point, size_t count,
                                  struct moments *m)
{
    *m = (struct moments){.unit = 0.0};
    if (count < 3)
        return OMO_ERR_ARG;
    double n = (double)count;
    for (size_t i = 0; i < count; i++) {
        m->mean.x += point[i].x / n;
        m->mean.y += point[i].y / n;
    }
    for (size_t i = 0; i < count; i++) {
        double x = point[i].x - m->mean.x, y = point[i].y - m->mean.y;
        m->unit += (x * x + y * y) / n;
    }
    m->unit = sqrt(m->unit);
    if (!isfinite(m->unit))
        return OMO_ERR_ARG;
    if (!(m->unit > 0.0))
        return OMO_ERR_EMPTY;
    for (size_t i = 0; i < count; i++) {
        double x = (point[i].x - m->mean.x) / m->unit;
        double y = (point[i].y - m->mean.y) / m->unit;
        double z = x * x + y * y;
        m->xx += x * x / n;
        m->xy += x * y / n;
        m->yy += y * y / n;
        m->xz += x * z / n;
        m->yz += y * z / n;
        m->zz += z * z / n;
    }
    m->determinant = m->xx * m->yy - m->xy * m->xy;
    return m->determinant > LINE_SHARE ? OMO_OK : OMO_ERR_EMPTY;
}

static double rms_of(const struct omo_point *point, size_t count,
                     const struct omo_circle *circle)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double off = omo_point_distance(point[i], circle->centre) - circle->radius;
        sum += off * off;
    }
    return sqrt(sum / (double)count);
}

/** The circle that belongs to a root of the characteristic polynomial: its centre solves
 *  (M - root I) c = half the third moments, and r^2 = c^2 + 1 + more, all in units. */
static enum omo_status circle_at(const struct omo_point *point, size_t count,
                                 const struct moments *m, double root, double more,
                                 struct omo_circle *out)
{
    double det = root * root - root * (m->xx + m->yy) + m->determinant;
    if (!(fabs(det) > 0.0))
        return OMO_ERR_EMPTY;
    double x = 0.5 * (m->xz * (m->yy - root) - m->yz * m->xy) / det;
    double y = 0.5 * (m->yz * (m->xx - root) - m->xz * m->xy) / det;
    double square = x * x + y * y + m->xx + m->yy + more;
    struct omo_circle found = {
        .centre = {m->mean.x + m->unit * x, m->mean.y + m->unit * y},
        .radius = m->unit * sqrt(square),
    };
    if (!isfinite(found.centre.x) || !isfinite(found.centre.y) || !isfinite(found.radius))
        return OMO_ERR_EMPTY;
    found.rms = rms_of(point, count, &found);
    *out = found;
    return OMO_OK;
}

enum omo_status omo_circle_kasa(const struct omo_point *point, size_t count,
                                struct omo_circle *out)
{
    struct moments m;
    enum omo_status status = moments_of(point, count, &m);
    return status == OMO_OK ? circle_at(point, count, &m, 0.0, 0.0, out) : status;
}

/** Smallest root >= 0 of a0 + a1 x + a2 x^2 + a4 x^4 (or a3 x^3), where Newton's method
 *  from zero climbs to it without overshooting: Chernov, Circular and Linear Regression,
 *  2010 (from memory). */
static double smallest_root(const double a[5])
{
    double x = 0.0, value = a[0];
    for (int i = 0; i < NEWTON_STEPS; i++) {
        double slope = a[1] + x * (2.0 * a[2] + x * (3.0 * a[3] + x * 4.0 * a[4]));
        double next = x - value / slope;
        if (!isfinite(next) || next == x)
            break;
        double there = a[0] + next * (a[1] + next * (a[2] + next * (a[3] + next * a[4])));
        /* At the root rounding alone moves it; never further from zero than before. */
        if (fabs(there) >= fabs(value))
            break;
        x = next;
        value = there;
    }
    return x;
}

enum omo_status omo_circle_pratt(const struct omo_point *point, size_t count,
                                 struct omo_circle *out)
{
    struct moments m;
    enum omo_status status = moments_of(point, count, &m);
    if (status != OMO_OK)
        return status;
    double z = m.xx + m.yy, det = m.determinant;
    const double a[5] = {
        m.xz * (m.xz * m.yy - m.yz * m.xy) + m.yz * (m.yz * m.xx - m.xz * m.xy) -
            (m.zz - z * z) * det,
        m.zz * z + 4.0 * det * z - m.xz * m.xz - m.yz * m.yz - z * z * z,
        4.0 * det - 3.0 * z * z - m.zz,
        0.0,
        4.0,
    };
    double root = smallest_root(a);
    return circle_at(point, count, &m, root, 2.0 * root, out);
}

enum omo_status omo_circle_taubin(const struct omo_point *point, size_t count,
                                  struct omo_circle *out)
{
    struct moments m;
    enum omo_status status = moments_of(point, count, &m);
    if (status != OMO_OK)
        return status;
    double z = m.xx + m.yy, det = m.determinant;
    const double a[5] = {
        m.xz * (m.xz * m.yy - m.yz * m.xy) + m.yz * (m.yz * m.xx - m.xz * m.xy) -
            (m.zz - z * z) * det,
        m.zz * z + 4.0 * det * z - m.xz * m.xz - m.yz * m.yz - z * z * z,
        -3.0 * z * z - m.zz,
        4.0 * z,
        0.0,
    };
    return circle_at(point, count, &m, smallest_root(a), 0.0, out);
}

/* ---- geometric ---- */

/** Points about Taubin's circle, which has the radius 1 and the middle (0, 0). */
struct about {
    const struct omo_point *point;
    size_t count;
    struct omo_circle unit;
};

static void distances(void *context, const double *at, double *residual, double *jacobian)
{
    const struct about *a = context;
    for (size_t i = 0; i < a->count; i++) {
        double x = (a->point[i].x - a->unit.centre.x) / a->unit.radius - at[0];
        double y = (a->point[i].y - a->unit.centre.y) / a->unit.radius - at[1];
        double d = hypot(x, y);
        residual[i] = d - at[2];
        if (jacobian == NULL)
            continue;
        /* A point on the centre pulls nowhere. */
        jacobian[3 * i] = d > 0.0 ? -x / d : 0.0;
        jacobian[3 * i + 1] = d > 0.0 ? -y / d : 0.0;
        jacobian[3 * i + 2] = -1.0;
    }
}

enum omo_status omo_circle_geometric(const struct omo_point *point, size_t count,
                                     struct omo_circle *out)
{
    struct about about = {.point = point, .count = count};
    enum omo_status status = omo_circle_taubin(point, count, &about.unit);
    if (status != OMO_OK)
        return status;
    const struct omo_prior prior[3] = {{0.0, INFINITY}, {0.0, INFINITY}, {1.0, INFINITY}};
    struct omo_probable_task task = {
        .unknowns = 3,
        .residuals = count,
        .prior = prior,
        .residuals_at = distances,
        .context = &about,
        .iterations_max = 500,
    };
    double *room = malloc(omo_most_probable_room(count, 3) * sizeof *room);
    if (room == NULL)
        return OMO_ERR_MEMORY;
    struct omo_probable found;
    status = omo_most_probable(&task, room, &found);
    free(room);
    if (status != OMO_OK)
        return status;
    if (!found.converged)
        return OMO_ERR_EMPTY;
    struct omo_circle circle = {
        .centre = {about.unit.centre.x + about.unit.radius * found.parameter[0],
                   about.unit.centre.y + about.unit.radius * found.parameter[1]},
        .radius = about.unit.radius * found.parameter[2],
    };
    circle.rms = rms_of(point, count, &circle);
    *out = circle;
    return OMO_OK;
}
