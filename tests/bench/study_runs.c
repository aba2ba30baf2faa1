#include "study_runs.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

enum { JOBS_MAX = 64 };

void study_plan_add(struct study_plan *plan, const struct study_case *of, size_t count)
{
    if (study_plan_find(plan, of) != NULL || plan->cell_count == STUDY_CELLS_MAX)
        return;
    plan->cell[plan->cell_count++] = (struct study_cell){.of = *of, .count = count};
    plan->row_count += count;
}

const struct study_cell *study_plan_find(const struct study_plan *plan,
                                         const struct study_case *of)
{
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_case *c = &plan->cell[i].of;
        if (c->visit == of->visit && c->movement == of->movement && c->set == of->set &&
            c->placement == of->placement && c->trunk == of->trunk &&
            c->girdle == of->girdle)
            return &plan->cell[i];
    }
    return NULL;
}

/** Every jobs-th session, so that all processes end together. */
static void run_sessions(const struct study_plan *plan, struct study_work *work,
                         const struct omo_movement_table *table,
                         const struct study_eye *eye, size_t job, size_t jobs)
{
    size_t number = 0;
    for (size_t i = 0; i < plan->cell_count; i++) {
        const struct study_cell *cell = &plan->cell[i];
        for (size_t k = 0; k < cell->count; k++, number++) {
            struct study_case of = cell->of;
            of.seed += k;
            if (number % jobs == job)
                study_session_run(work, table, &of, eye, &cell->rows[k]);
        }
    }
}

static bool run_share(const struct study_plan *plan, int job, int jobs)
{
    struct study_eye eye;
    struct study_work *work = study_work_create();
    struct omo_movement_table *table = NULL;
    bool fine = work != NULL && omo_movement_table_load(NULL, &table) == OMO_OK;
    bool looks = fine && plan->open_eye != NULL;
    fine = fine && (!looks || plan->open_eye(table, &eye));
    if (fine) {
        run_sessions(plan, work, table, looks ? &eye : NULL, (size_t)job, (size_t)jobs);
        if (looks)
            plan->close_eye(&eye);
    }
    omo_movement_table_destroy(table);
    study_work_destroy(work);
    return fine;
}

static bool all_ended_well(const pid_t *child, int count)
{
    bool well = true;
    for (int job = 0; job < count; job++) {
        int how;
        well &= waitpid(child[job], &how, 0) == child[job] && WIFEXITED(how) &&
                WEXITSTATUS(how) == 0;
    }
    return well;
}

static bool run_jobs(const struct study_plan *plan, int jobs)
{
    pid_t child[JOBS_MAX];
    int started = 0;
    fflush(NULL);
    for (; started < jobs; started++) {
        child[started] = fork();
        if (child[started] == 0)
            _exit(run_share(plan, started, jobs) ? 0 : 1);
        if (child[started] < 0)
            break;
    }
    bool well = all_ended_well(child, started);
    if (started < jobs || !well)
        fprintf(stderr, "study: a part of the sessions could not be run; look for what "
                        "was said before, and try --jobs 1.\n");
    return started == jobs && well;
}

bool study_plan_run(struct study_plan *plan, int jobs)
{
    size_t size = plan->row_count * sizeof *plan->rows;
    plan->rows =
        mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (plan->rows == MAP_FAILED) {
        plan->rows = NULL;
        fprintf(stderr, "study: no memory for %zu sessions; ask for fewer.\n",
                plan->row_count);
        return false;
    }
    struct study_row *rows = plan->rows;
    for (size_t i = 0; i < plan->cell_count; i++) {
        plan->cell[i].rows = rows;
        rows += plan->cell[i].count;
    }
    return run_jobs(plan, jobs < JOBS_MAX ? jobs : JOBS_MAX);
}

void study_plan_finish(struct study_plan *plan)
{
    if (plan->rows != NULL)
        munmap(plan->rows, plan->row_count * sizeof *plan->rows);
    plan->rows = NULL;
}
