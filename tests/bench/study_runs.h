/** Many sessions at once, over several processes. */
#ifndef STUDY_RUNS_H
#define STUDY_RUNS_H

#include <stddef.h>

#include "study_session.h"

/** Sessions that are alike but for the seed: seeds first_seed ... first_seed + count - 1.
 */
struct study_cell {
    struct study_case of; /**< seed is the first one */
    size_t count;
    struct study_row *rows; /**< `count` of them, lent by the plan */
};

enum { STUDY_CELLS_MAX = STUDY_MOVEMENTS * STUDY_SETS * STUDY_PLACEMENTS * 4 };

struct study_plan {
    /** Each process opens its own eye; NULL: true places and noise. */
    bool (*open_eye)(const struct omo_movement_table *table, struct study_eye *eye);
    void (*close_eye)(struct study_eye *eye);
    size_t cell_count;
    struct study_cell cell[STUDY_CELLS_MAX];
    struct study_row *rows; /**< of all cells, shared between processes */
    size_t row_count;
};

/** Adds a cell; its rows come with study_plan_run. */
void study_plan_add(struct study_plan *plan, const struct study_case *of, size_t count);
/** Runs everything, the same for any number of jobs; false with a sentence when a process
 *  or memory could not be had. */
bool study_plan_run(struct study_plan *plan, int jobs);
void study_plan_finish(struct study_plan *plan);
/** NULL when there is none. The seed does not count. */
const struct study_cell *study_plan_find(const struct study_plan *plan,
                                         const struct study_case *of);

/** Writes one line a session; false with a sentence. */
bool study_plan_write(const struct study_plan *plan, const char *path);

#endif
