#include "omogon/most_probable.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "numeric/cholesky.h"

/* In standard deviations of what is known: far below anything that is reported. */
#define STEP_DONE 1e-8
/* Costs nearer than this share cannot be told apart: sums of many squares are rounded. */
#define COST_ROUNDING 1e-13
#define DAMPING_FIRST 1e-4
#define DAMPING_LEAST 1e-12
#define DAMPING_MOST  1e12
#define LOG_2PI       1.8378770664093454836

/** Where the search stands. Costs and normal equations belong to `at`. */
struct search {
    const struct omo_probable_task *task;
    double *residual, *jacobian, *spare;
    double at[OMO_UNKNOWNS];
    double scale[OMO_UNKNOWNS]; /**< unit of each unknown for difference steps */
    double cost;
    double normal[OMO_UNKNOWNS][OMO_UNKNOWNS]; /**< J'WJ + 1/sd^2 */
    double unit[OMO_UNKNOWNS];                 /**< roots of its diagonal */
    double gradient[OMO_UNKNOWNS];
    double damping, growth;
};

size_t omo_most_probable_room(size_t residuals, int unknowns)
{
    return residuals * (size_t)(unknowns + 2);
}

/* ---- cost ---- */

static double loss(double residual, double huber)
{
    double size = fabs(residual);
    if (huber > 0.0 && size > huber)
        return huber * (size - 0.5 * huber);
    return 0.5 * residual * residual;
}

static double weight(double residual, double huber)
{
    double size = fabs(residual);
    return huber > 0.0 && size > huber ? huber / size : 1.0;
}

static double data_cost(const struct omo_probable_task *task, const double *residual)
{
    double sum = 0.0;
    for (size_t i = 0; i < task->residuals; i++)
        sum += loss(residual[i], task->huber);
    return sum;
}

static double prior_cost(const struct omo_probable_task *task, const double *at)
{
    double sum = 0.0;
    for (int j = 0; j < task->unknowns; j++) {
        double off = (at[j] - task->prior[j].mean) / task->prior[j].sd;
        sum += 0.5 * off * off;
    }
    return sum;
}

/* ---- derivatives ---- */

/** One unknown's column by central differences; the step balances the rounding of the
 *  residuals against the curve's third derivative. */
static void difference_column(struct search *s, int j)
{
    const struct omo_probable_task *task = s->task;
    int n = task->unknowns;
    double point[OMO_UNKNOWNS];
    memcpy(point, s->at, sizeof point);
    double step = cbrt(DBL_EPSILON) * fmax(fabs(s->at[j]), s->scale[j]);
    point[j] = s->at[j] + step;
    double above = point[j];
    task->residuals_at(task->context, point, s->spare, NULL);
    for (size_t i = 0; i < task->residuals; i++)
        s->jacobian[i * (size_t)n + (size_t)j] = s->spare[i];
    point[j] = s->at[j] - step;
    /* What was really stepped, after rounding. */
    double apart = above - point[j];
    task->residuals_at(task->context, point, s->spare, NULL);
    for (size_t i = 0; i < task->residuals; i++) {
        double *cell = &s->jacobian[i * (size_t)n + (size_t)j];
        *cell = (*cell - s->spare[i]) / apart;
    }
}

/** Adds each residual's share to the lower triangle and the gradient. */
static void add_rows(struct search *s)
{
    const struct omo_probable_task *task = s->task;
    int n = task->unknowns;
    for (size_t i = 0; i < task->residuals; i++) {
        const double *row = s->jacobian + i * (size_t)n;
        double w = weight(s->residual[i], task->huber);
        for (int j = 0; j < n; j++) {
            double weighted = w * row[j];
            s->gradient[j] += weighted * s->residual[i];
            for (int k = 0; k <= j; k++)
                s->normal[j][k] += weighted * row[k];
        }
    }
}

/** Residuals, derivatives and normal equations at s->at; false when a value there is not
 *  finite or an unknown touches nothing. */
static bool linearise(struct search *s)
{
    const struct omo_probable_task *task = s->task;
    task->residuals_at(task->context, s->at, s->residual,
                       task->differences ? NULL : s->jacobian);
    for (int j = 0; task->differences && j < task->unknowns; j++)
        difference_column(s, j);
    s->cost = data_cost(task, s->residual) + prior_cost(task, s->at);
    memset(s->normal, 0, sizeof s->normal);
    for (int j = 0; j < task->unknowns; j++) {
        const struct omo_prior *prior = &task->prior[j];
        s->normal[j][j] = 1.0 / (prior->sd * prior->sd);
        s->gradient[j] = (s->at[j] - prior->mean) * s->normal[j][j];
    }
    add_rows(s);
    bool finite = isfinite(s->cost);
    for (int j = 0; j < task->unknowns; j++) {
        s->unit[j] = sqrt(s->normal[j][j]);
        finite = finite && isfinite(s->unit[j]) && isfinite(s->gradient[j]);
    }
    return finite;
}

/** Factor of the normal equations in units of `unit`, so that its diagonal is
 *  1 + damping. */
static bool factorise(const struct search *s, double damping,
                      double factor[OMO_UNKNOWNS][OMO_UNKNOWNS])
{
    int n = s->task->unknowns;
    for (int j = 0; j < n; j++) {
        if (!(s->unit[j] > 0.0))
            return false;
        for (int k = 0; k < j; k++)
            factor[j][k] = s->normal[j][k] / (s->unit[j] * s->unit[k]);
        factor[j][j] = 1.0 + damping;
    }
    return omo_cholesky(n, factor);
}

/** Step that the damped equations ask for; returns the fall of the cost it promises. */
static double step_of(const struct search *s, double damping,
                      double factor[OMO_UNKNOWNS][OMO_UNKNOWNS], double *step)
{
    int n = s->task->unknowns;
    double promised = 0.0;
    for (int j = 0; j < n; j++)
        step[j] = -s->gradient[j] / s->unit[j];
    omo_cholesky_solve(n, factor, step);
    for (int j = 0; j < n; j++) {
        promised += 0.5 * step[j] * (damping * step[j] - s->gradient[j] / s->unit[j]);
        step[j] /= s->unit[j];
    }
    return promised;
}

/* ---- the search ---- */

/** How far the minimum still is, in standard deviations; INFINITY when that is open. */
static double distance_left(const struct search *s)
{
    double factor[OMO_UNKNOWNS][OMO_UNKNOWNS], step[OMO_UNKNOWNS];
    if (!factorise(s, 0.0, factor))
        return INFINITY;
    return sqrt(fmax(0.0, 2.0 * step_of(s, 0.0, factor, step)));
}

static double cost_blur(const struct search *s)
{
    return COST_ROUNDING * (1.0 + s->cost);
}

static void damp_more(struct search *s)
{
    s->damping = fmin(s->damping * s->growth, DAMPING_MOST);
    s->growth *= 2.0;
}

/** Tries one step; true when it was taken. */
static bool try_step(struct search *s)
{
    const struct omo_probable_task *task = s->task;
    double factor[OMO_UNKNOWNS][OMO_UNKNOWNS], step[OMO_UNKNOWNS];
    if (!factorise(s, s->damping, factor)) {
        damp_more(s);
        return false;
    }
    double promised = step_of(s, s->damping, factor, step);
    double point[OMO_UNKNOWNS] = {0};
    for (int j = 0; j < task->unknowns; j++)
        point[j] = s->at[j] + step[j];
    task->residuals_at(task->context, point, s->spare, NULL);
    double cost = data_cost(task, s->spare) + prior_cost(task, point);
    double blur = cost_blur(s);
    double fall = s->cost - cost;
    if (!(fall > 0.0 || (promised < blur && fall > -blur))) {
        damp_more(s);
        return false;
    }
    double before[OMO_UNKNOWNS];
    memcpy(before, s->at, sizeof before);
    memcpy(s->at, point, sizeof s->at);
    if (!linearise(s)) {
        /* The cost exists there, its slope does not: back. */
        memcpy(s->at, before, sizeof s->at);
        (void)linearise(s);
        damp_more(s);
        return false;
    }
    double quality = promised < blur ? 1.0 : fall / promised;
    double shrink = fmax(1.0 / 3.0, 1.0 - pow(2.0 * quality - 1.0, 3.0));
    s->damping = fmax(s->damping * shrink, DAMPING_LEAST);
    s->growth = 2.0;
    return true;
}

/** log of the integral of exp(-loss): what one residual's density is divided by. */
static double log_normaliser(double huber)
{
    if (!(huber > 0.0))
        return 0.5 * LOG_2PI;
    return log(sqrt(2.0 * M_PI) * erf(huber * M_SQRT1_2) +
               2.0 / huber * exp(-0.5 * huber * huber));
}

/** Fills out from where the search ended; false when a direction is free. */
static bool conclude(const struct search *s, struct omo_probable *out)
{
    const struct omo_probable_task *task = s->task;
    int n = task->unknowns;
    double factor[OMO_UNKNOWNS][OMO_UNKNOWNS];
    if (!factorise(s, 0.0, factor))
        return false;
    double log_evidence = -s->cost - 0.5 * omo_cholesky_log_det(n, factor) -
                          (double)task->residuals * log_normaliser(task->huber);
    for (int j = 0; j < n; j++) {
        double column[OMO_UNKNOWNS] = {0};
        column[j] = 1.0;
        omo_cholesky_solve(n, factor, column);
        for (int k = 0; k < n; k++)
            out->covariance[k][j] = column[k] / (s->unit[j] * s->unit[k]);
        out->parameter[j] = s->at[j];
        log_evidence -= log(task->prior[j].sd) + log(s->unit[j]);
    }
    out->unknowns = n;
    out->chi_square = 2.0 * data_cost(task, s->residual);
    out->prior_chi_square = 2.0 * prior_cost(task, s->at);
    out->log_evidence = isfinite(log_evidence) ? log_evidence : (double)NAN;
    return true;
}

static bool task_sound(const struct omo_probable_task *task)
{
    if (task->unknowns < 1 || task->unknowns > OMO_UNKNOWNS || !(task->huber >= 0.0) ||
        task->iterations_max < 0)
        return false;
    for (int j = 0; j < task->unknowns; j++)
        if (!isfinite(task->prior[j].mean) || !(task->prior[j].sd > 0.0))
            return false;
    return true;
}

static void search_begin(struct search *s, const struct omo_probable_task *task,
                         double *room)
{
    *s = (struct search){.task = task, .damping = DAMPING_FIRST, .growth = 2.0};
    s->residual = room;
    s->spare = s->residual + task->residuals;
    s->jacobian = s->spare + task->residuals;
    for (int j = 0; j < task->unknowns; j++) {
        s->at[j] = task->start != NULL ? task->start[j] : task->prior[j].mean;
        s->scale[j] = isfinite(task->prior[j].sd) ? task->prior[j].sd : 1.0;
    }
}

enum omo_status omo_most_probable(const struct omo_probable_task *task, double *room,
                                  struct omo_probable *out)
{
    struct search s;
    if (!task_sound(task))
        return OMO_ERR_ARG;
    search_begin(&s, task, room);
    if (!linearise(&s))
        return OMO_ERR_ARG;
    int most = task->iterations_max > 0 ? task->iterations_max : OMO_PROBABLE_ITERATIONS;
    int tried = 0;
    double left = distance_left(&s);
    bool converged = left < STEP_DONE;
    while (!converged && tried < most) {
        tried++;
        if (!try_step(&s))
            continue;
        double before = left;
        left = distance_left(&s);
        /* Residuals far too large for their SD: rounding ends the descent earlier. */
        bool stuck = 0.5 * left * left < cost_blur(&s) && left > 0.5 * before;
        converged = left < STEP_DONE || stuck;
    }
    struct omo_probable found = {.converged = converged, .iterations = tried};
    if (!conclude(&s, &found))
        return OMO_ERR_EMPTY;
    *out = found;
    return OMO_OK;
}

double omo_probable_sd(const struct omo_probable *found, const double *gradient)
{
    double variance = 0.0;
    for (int j = 0; j < found->unknowns; j++)
        for (int k = 0; k < found->unknowns; k++)
            variance += gradient[j] * found->covariance[j][k] * gradient[k];
    return sqrt(fmax(0.0, variance));
}
