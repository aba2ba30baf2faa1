/* Fits for test_probable.py, numbers on standard input and output.
 *   circle COUNT, then x y each        -> x y radius of the geometric fit
 *   decay HUBER DIFFERENCES COUNT, three lines "mean sd", then x y each (SD 1):
 *       y = a exp(-b x) + c
 *   path HUBER DIFFERENCES COUNT, five lines "mean sd", then phase x y each (SD 1): a
 *       point on an arm of length L, turned out of the picture, about an offset pivot
 * The last two give: converged, the unknowns, their covariance row by row, chi square,
 * log of the evidence. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/circle.h"
#include "omogon/most_probable.h"

#define MOST 5000

struct series {
    size_t count;
    double a[MOST], x[MOST], y[MOST];
};

static void decay(void *context, const double *at, double *residual, double *jacobian)
{
    const struct series *s = context;
    for (size_t i = 0; i < s->count; i++) {
        double fall = exp(-at[1] * s->x[i]);
        residual[i] = at[0] * fall + at[2] - s->y[i];
        if (jacobian == NULL)
            continue;
        jacobian[3 * i] = fall;
        jacobian[3 * i + 1] = -at[0] * s->x[i] * fall;
        jacobian[3 * i + 2] = 1;
    }
}

/** Unknowns: pivot x, y, length, plane (rad), phase lag (rad). */
static void path(void *context, const double *at, double *residual, double *jacobian)
{
    const struct series *s = context;
    for (size_t i = 0; i < s->count; i++) {
        double a = s->a[i] + at[4], c = cos(at[3]);
        residual[2 * i] = at[0] + at[2] * sin(a) * c - s->x[i];
        residual[2 * i + 1] = at[1] + at[2] * cos(a) - s->y[i];
        if (jacobian == NULL)
            continue;
        const double rows[10] = {
            1,
            0,
            sin(a) * c,
            -at[2] * sin(a) * sin(at[3]),
            at[2] * cos(a) * c,
            0,
            1,
            cos(a),
            0,
            -at[2] * sin(a),
        };
        memcpy(jacobian + 10 * i, rows, sizeof rows);
    }
}

static bool read_series(struct series *s, bool phases)
{
    for (size_t i = 0; i < s->count; i++) {
        if (phases && scanf("%lf", &s->a[i]) != 1)
            return false;
        if (scanf("%lf %lf", &s->x[i], &s->y[i]) != 2)
            return false;
    }
    return true;
}

static int run_circle(void)
{
    static struct omo_point point[MOST];
    size_t count;
    struct omo_circle c;
    if (scanf("%zu", &count) != 1 || count > MOST)
        return EXIT_FAILURE;
    for (size_t i = 0; i < count; i++)
        if (scanf("%lf %lf", &point[i].x, &point[i].y) != 2)
            return EXIT_FAILURE;
    if (omo_circle_geometric(point, count, &c) != OMO_OK)
        return EXIT_FAILURE;
    printf("%.17g %.17g %.17g\n", c.centre.x, c.centre.y, c.radius);
    return EXIT_SUCCESS;
}

static void print_found(const struct omo_probable *p)
{
    printf("%d\n", p->converged);
    for (int i = 0; i < p->unknowns; i++)
        printf("%.17g ", p->parameter[i]);
    for (int i = 0; i < p->unknowns; i++)
        for (int j = 0; j < p->unknowns; j++)
            printf("%.17g ", p->covariance[i][j]);
    printf("%.17g %.17g\n", p->chi_square, p->log_evidence);
}

static int run_fit(bool is_path)
{
    static struct series s;
    struct omo_prior prior[5];
    struct omo_probable p;
    int differences;
    struct omo_probable_task task = {.unknowns = is_path ? 5 : 3,
                                     .prior = prior,
                                     .residuals_at = is_path ? path : decay,
                                     .context = &s};
    if (scanf("%lf %d %zu", &task.huber, &differences, &s.count) != 3 || s.count > MOST)
        return EXIT_FAILURE;
    for (int j = 0; j < task.unknowns; j++)
        if (scanf("%lf %lf", &prior[j].mean, &prior[j].sd) != 2)
            return EXIT_FAILURE;
    if (!read_series(&s, is_path))
        return EXIT_FAILURE;
    task.residuals = is_path ? 2 * s.count : s.count;
    task.differences = differences != 0;
    double *room = malloc((omo_most_probable_room(task.residuals, task.unknowns) + 1) *
                          sizeof *room);
    enum omo_status status =
        room == NULL ? OMO_ERR_MEMORY : omo_most_probable(&task, room, &p);
    free(room);
    if (status != OMO_OK)
        return EXIT_FAILURE;
    print_found(&p);
    return EXIT_SUCCESS;
}

int main(void)
{
    char model[16];
    if (scanf("%15s", model) != 1)
        return EXIT_FAILURE;
    return !strcmp(model, "circle") ? run_circle() : run_fit(!strcmp(model, "path"));
}
