#include "omogon/components.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define ITERATIONS 500
#define SETTLED    1e-11 /* of the restricted log-likelihood */
#define NOTHING    1e-9  /* share of all variance that is none */
#define TERMS      (OMO_COMPONENT_FACTORS + 1)

/** A fit on its way. V = sum of variance times Z Z' and the residual's identity. */
struct fit {
    const double *y;
    const int *const *group;
    size_t count, factors, terms;
    size_t groups[OMO_COMPONENT_FACTORS];
    double variance[TERMS]; /* the residual's is the last */
    gsl_matrix *v;          /* inverse of V */
    size_t *part, *order;   /* of each value, see find_parts(); values part by part */
    double *p;              /* projection P, count * count */
    double *sum;            /* room for P V_k, count * count */
    double *py;             /* P y */
    double mean, mean_variance, likelihood;
};

static bool same_group(const struct fit *f, size_t term, size_t i, size_t j)
{
    return term < f->factors ? f->group[term][i] == f->group[term][j] : i == j;
}

/** Values that share a group, by whatever way round, are a part: V has nothing between
 *  parts and can be inverted one by one. With raters all is one part; pairs of people are
 *  one each. */
static void find_parts(struct fit *f)
{
    size_t *least = f->order, at = 0; /* of each group, for the time being */
    bool moved = true;
    for (size_t i = 0; i < f->count; i++)
        f->part[i] = i;
    while (moved) {
        moved = false;
        for (size_t k = 0; k < f->factors; k++) {
            for (size_t g = 0; g < f->groups[k]; g++)
                least[g] = f->count;
            for (size_t i = 0; i < f->count; i++)
                if (f->part[i] < least[f->group[k][i]])
                    least[f->group[k][i]] = f->part[i];
            for (size_t i = 0; i < f->count; i++) {
                moved |= f->part[i] != least[f->group[k][i]];
                f->part[i] = least[f->group[k][i]];
            }
        }
    }
    for (size_t first = 0; first < f->count; first++)
        for (size_t i = first; f->part[first] == first && i < f->count; i++)
            if (f->part[i] == first)
                f->order[at++] = i;
}

/** The inverse of V's part with these values. False: it has none. */
static bool invert_part(struct fit *f, const double variance[TERMS], const size_t *at,
                        size_t count, double *log_det)
{
    /* P is made anew afterwards. */
    gsl_matrix_view part = gsl_matrix_view_array(f->p, count, count);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j <= i; j++) {
            double sum = 0;
            for (size_t k = 0; k < f->terms; k++)
                sum += same_group(f, k, at[i], at[j]) ? variance[k] : 0;
            gsl_matrix_set(&part.matrix, i, j, sum);
            gsl_matrix_set(&part.matrix, j, i, sum);
        }
    if (gsl_linalg_cholesky_decomp1(&part.matrix) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < count; i++)
        *log_det += 2 * log(gsl_matrix_get(&part.matrix, i, i));
    if (gsl_linalg_cholesky_invert(&part.matrix) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            gsl_matrix_set(f->v, at[i], at[j], gsl_matrix_get(&part.matrix, i, j));
    return true;
}

/** V's inverse for these variances, P, P y and the likelihood. False: V is none. */
static bool evaluate(struct fit *f, const double variance[TERMS])
{
    const size_t n = f->count;
    double log_det = 0, ones = 0, ys = 0, ypy = 0;
    for (size_t from = 0, to; from < n; from = to) {
        for (to = from; to < n && f->part[f->order[to]] == f->part[f->order[from]];)
            to++;
        if (!invert_part(f, variance, f->order + from, to - from, &log_det))
            return false;
    }
    double *column = f->py; /* V^-1 1, for the time being */
    for (size_t i = 0; i < n; i++) {
        column[i] = 0;
        for (size_t j = 0; j < n; j++)
            column[i] += gsl_matrix_get(f->v, i, j);
        ones += column[i];
        ys += column[i] * f->y[i];
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            f->p[i * n + j] = gsl_matrix_get(f->v, i, j) - column[i] * column[j] / ones;
    for (size_t i = 0; i < n; i++) {
        f->py[i] = 0;
        for (size_t j = 0; j < n; j++)
            f->py[i] += f->p[i * n + j] * f->y[j];
        ypy += f->py[i] * f->y[i];
    }
    f->mean = ys / ones;
    f->mean_variance = 1 / ones;
    f->likelihood = -0.5 * (log_det + log(ones) + ypy + (double)(n - 1) * log(2 * M_PI));
    memcpy(f->variance, variance, sizeof f->variance);
    return isfinite(f->likelihood);
}

/** Adds up columns of one group: out = P V_k. */
static void times_group(const struct fit *f, size_t term, double *out)
{
    const size_t n = f->count;
    if (term >= f->factors) {
        memcpy(out, f->p, n * n * sizeof *out);
        return;
    }
    double *sum = f->sum; /* of each group, a row at a time */
    for (size_t i = 0; i < n; i++) {
        memset(sum, 0, f->groups[term] * sizeof *sum);
        for (size_t j = 0; j < n; j++)
            sum[f->group[term][j]] += f->p[i * n + j];
        for (size_t j = 0; j < n; j++)
            out[i * n + j] = sum[f->group[term][j]];
    }
}

/** y' P V_k P y */
static double quadratic(const struct fit *f, size_t term)
{
    double total = 0;
    if (term >= f->factors) {
        for (size_t i = 0; i < f->count; i++)
            total += f->py[i] * f->py[i];
        return total;
    }
    memset(f->sum, 0, f->groups[term] * sizeof *f->sum);
    for (size_t i = 0; i < f->count; i++)
        f->sum[f->group[term][i]] += f->py[i];
    for (size_t g = 0; g < f->groups[term]; g++)
        total += f->sum[g] * f->sum[g];
    return total;
}

struct slopes {
    double gradient[TERMS], trace[TERMS], quadratic[TERMS], information[TERMS][TERMS];
};

/** First derivatives and the expected second ones. */
static bool slopes_of(const struct fit *f, struct slopes *s)
{
    const size_t n = f->count;
    double *pv[TERMS] = {NULL};
    bool good = true;
    for (size_t k = 0; k < f->terms; k++) {
        pv[k] = malloc(n * n * sizeof **pv);
        good &= pv[k] != NULL;
    }
    for (size_t k = 0; good && k < f->terms; k++) {
        times_group(f, k, pv[k]);
        s->trace[k] = 0;
        for (size_t i = 0; i < n; i++)
            s->trace[k] += pv[k][i * n + i];
        s->quadratic[k] = quadratic(f, k);
        s->gradient[k] = 0.5 * (s->quadratic[k] - s->trace[k]);
    }
    for (size_t k = 0; good && k < f->terms; k++)
        for (size_t l = 0; l <= k; l++) {
            double sum = 0;
            for (size_t i = 0; i < n; i++)
                for (size_t j = 0; j < n; j++)
                    sum += pv[k][i * n + j] * pv[l][j * n + i];
            s->information[k][l] = s->information[l][k] = 0.5 * sum;
        }
    for (size_t k = 0; k < f->terms; k++)
        free(pv[k]);
    return good;
}

/** A term at nothing whose likelihood would only fall is left out of a step. */
static bool is_free(const struct fit *f, const struct slopes *s, size_t term)
{
    return f->variance[term] > 0 || s->gradient[term] > 0;
}

/** Fisher's step for the free terms; false where the information has no inverse. */
static bool scoring_step(const struct fit *f, const struct slopes *s, double step[TERMS])
{
    size_t at[TERMS], free_terms = 0;
    for (size_t k = 0; k < f->terms; k++) {
        step[k] = 0;
        if (is_free(f, s, k))
            at[free_terms++] = k;
    }
    if (free_terms == 0)
        return false;
    gsl_matrix *information = gsl_matrix_alloc(free_terms, free_terms);
    gsl_vector *x = gsl_vector_alloc(free_terms);
    for (size_t i = 0; i < free_terms; i++) {
        gsl_vector_set(x, i, s->gradient[at[i]]);
        for (size_t j = 0; j < free_terms; j++)
            gsl_matrix_set(information, i, j, s->information[at[i]][at[j]]);
    }
    bool good = gsl_linalg_cholesky_decomp1(information) == GSL_SUCCESS &&
                gsl_linalg_cholesky_svx(information, x) == GSL_SUCCESS;
    for (size_t i = 0; good && i < free_terms; i++)
        step[at[i]] = gsl_vector_get(x, i);
    gsl_matrix_free(information);
    gsl_vector_free(x);
    return good;
}

/** One step uphill; false when there is none. */
static bool improve(struct fit *f, const struct slopes *s)
{
    double step[TERMS], before[TERMS], next[TERMS], least = f->likelihood;
    memcpy(before, f->variance, sizeof before);
    if (scoring_step(f, s, step))
        for (double share = 1; share > 1e-3; share /= 2) {
            for (size_t k = 0; k < f->terms; k++)
                next[k] = fmax(before[k] + share * step[k], 0);
            if (next[f->factors] > 0 && evaluate(f, next) && f->likelihood > least)
                return true;
        }
    /* Never downhill, and never below nothing. */
    for (size_t k = 0; k < f->terms; k++) {
        size_t rank = k < f->factors ? f->groups[k] : f->count;
        next[k] = before[k] + before[k] * before[k] * 2 * s->gradient[k] / (double)rank;
    }
    if (evaluate(f, next) && f->likelihood > least)
        return true;
    return evaluate(f, before) && false;
}

static enum omo_status search(struct fit *f, double total, int *iterations)
{
    double start[TERMS] = {0};
    for (size_t k = 0; k < f->terms; k++)
        start[k] = total / (double)f->terms;
    if (!evaluate(f, start))
        return OMO_ERR_FORMAT;
    for (*iterations = 1; *iterations <= ITERATIONS; ++*iterations) {
        struct slopes s;
        double before = f->likelihood;
        if (!slopes_of(f, &s))
            return OMO_ERR_MEMORY;
        if (!improve(f, &s) ||
            f->likelihood - before < SETTLED * (1 + fabs(f->likelihood)))
            return f->variance[f->factors] > NOTHING * total ? OMO_OK : OMO_ERR_EMPTY;
    }
    return OMO_ERR_FORMAT;
}

/** Satterthwaite's degrees of freedom of the variances' sum `value` with these weights.
 *  `root` is Cholesky's of their information, `x` room. */
static double freedom_of(const gsl_matrix *root, gsl_vector *x,
                         const double weight[TERMS], double value)
{
    double variance = 0;
    for (size_t k = 0; k < x->size; k++)
        gsl_vector_set(x, k, weight[k]);
    if (gsl_linalg_cholesky_svx(root, x) != GSL_SUCCESS)
        return NAN;
    for (size_t k = 0; k < x->size; k++)
        variance += weight[k] * gsl_vector_get(x, k);
    return variance > 0 ? 2 * value * value / variance : (double)NAN;
}

/** Both degrees of freedom where the search has ended; NAN where the information has no
 *  inverse. The fit is of no use afterwards. */
static enum omo_status find_freedom(struct fit *f, struct omo_components *out)
{
    struct slopes s;
    double one[TERMS], share[TERMS], total = 0;
    if (!slopes_of(f, &s))
        return OMO_ERR_MEMORY;
    gsl_matrix *root = gsl_matrix_alloc(f->terms, f->terms);
    gsl_vector *x = gsl_vector_alloc(f->terms);
    for (size_t i = 0; i < f->count; i++) {
        f->py[i] = 0; /* from here on V^-1 1 */
        for (size_t j = 0; j < f->count; j++)
            f->py[i] += gsl_matrix_get(f->v, i, j);
    }
    for (size_t k = 0; root && x && k < f->terms; k++) {
        one[k] = 1;
        total += f->variance[k];
        /* How the mean's variance, 1 / 1' V^-1 1, goes with this one. */
        share[k] = quadratic(f, k) * f->mean_variance * f->mean_variance;
        for (size_t l = 0; l < f->terms; l++)
            gsl_matrix_set(root, k, l, s.information[k][l]);
    }
    out->total_df = out->mean_df = NAN;
    if (root && x && gsl_linalg_cholesky_decomp1(root) == GSL_SUCCESS) {
        out->total_df = freedom_of(root, x, one, total);
        out->mean_df = freedom_of(root, x, share, f->mean_variance);
    }
    enum omo_status status = root && x ? OMO_OK : OMO_ERR_MEMORY;
    if (root)
        gsl_matrix_free(root);
    if (x)
        gsl_vector_free(x);
    return status;
}

static bool groups_fit(struct fit *f)
{
    for (size_t k = 0; k < f->factors; k++) {
        for (size_t i = 0; i < f->count; i++) {
            if (f->group[k][i] < 0 || (size_t)f->group[k][i] >= f->count)
                return false;
            if ((size_t)f->group[k][i] >= f->groups[k])
                f->groups[k] = (size_t)f->group[k][i] + 1;
        }
        if (f->groups[k] < 2 || f->groups[k] >= f->count)
            return false;
    }
    return true;
}

enum omo_status omo_components_fit(const double *y, const int *const *group, size_t count,
                                   size_t factors, struct omo_components *out)
{
    struct fit f = {
        .y = y, .group = group, .count = count, .factors = factors, .terms = factors + 1};
    double mean = 0, total = 0;
    int iterations = 0;
    struct omo_components found = {0};
    if (count < 3 || count > OMO_COMPONENT_MOST || factors > OMO_COMPONENT_FACTORS ||
        !groups_fit(&f))
        return OMO_ERR_ARG;
    for (size_t i = 0; i < count; i++)
        mean += y[i] / (double)count;
    for (size_t i = 0; i < count; i++)
        total += (y[i] - mean) * (y[i] - mean) / (double)(count - 1);
    if (!(total > 0) || !isfinite(total))
        return OMO_ERR_EMPTY;
    f.v = gsl_matrix_calloc(count, count);
    f.part = malloc(count * sizeof *f.part);
    f.order = malloc(count * sizeof *f.order);
    f.p = malloc(count * count * sizeof *f.p);
    f.sum = malloc(count * sizeof *f.sum);
    f.py = malloc(count * sizeof *f.py);
    enum omo_status status = OMO_ERR_MEMORY;
    /* A matrix that is none is an answer here, no reason to abort. */
    gsl_error_handler_t *handler = gsl_set_error_handler_off();
    if (f.v && f.p && f.sum && f.py && f.part && f.order) {
        find_parts(&f);
        status = search(&f, total, &iterations);
    }
    if (status == OMO_OK) {
        found = (struct omo_components){.residual = f.variance[factors],
                                        .mean = f.mean,
                                        .mean_se = sqrt(f.mean_variance),
                                        .log_likelihood = f.likelihood,
                                        .iterations = iterations};
        memcpy(found.variance, f.variance, factors * sizeof *found.variance);
        status = find_freedom(&f, &found);
    }
    gsl_set_error_handler(handler);
    if (status == OMO_OK)
        *out = found;
    if (f.v)
        gsl_matrix_free(f.v);
    free(f.p);
    free(f.part);
    free(f.order);
    free(f.sum);
    free(f.py);
    return status;
}
