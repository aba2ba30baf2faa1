/** The form of a bench check: which clip shows which angle at which turn. */
#ifndef OMO_APP_BENCH_FORM_H
#define OMO_APP_BENCH_FORM_H

#include <stdbool.h>
#include <stddef.h>

struct omo_bench_row {
    size_t line; /**< of the form, 1-based */
    double set_deg, yaw_deg;
    char *clip; /**< owned */
    /* What is measured. */
    bool measured;
    double image_deg, expected_deg, angle_deg, u95_deg;
};

struct omo_bench_form {
    struct omo_bench_row *row;
    size_t count;
};

/** Reads the rows that name a clip; one sentence and false when there is none, or a cell
 *  is wrong. */
bool omo_bench_form_read(const char *path, struct omo_bench_form *form);
void omo_bench_form_finish(struct omo_bench_form *form);

#endif
