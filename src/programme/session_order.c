#include <string.h>

#include "omogon/text.h"
#include "programme/session_private.h"

static void add(struct omo_session *s, const struct omo_step *step, enum omo_side side,
                bool both)
{
    if (s->run_count < RUNS_MOST)
        s->run[s->run_count++] = (struct run){step, side, both};
}

/** Whether a step is one and the same for both arms: what is asked of the person, not of
 *  an arm. */
static bool has_no_side(const struct omo_step *step)
{
    if (step->kind == OMO_STEP_DESK || step->kind == OMO_STEP_NOTE ||
        step->kind == OMO_STEP_PAIN)
        return true;
    if (step->kind != OMO_STEP_FINDING)
        return false;
    const struct omo_finding *finding = omo_finding_find(step->finding);
    return finding && !finding->sided;
}

static void add_step(struct omo_session *s, const struct omo_step *step)
{
    enum omo_side other = s->person.affected == OMO_LEFT ? OMO_RIGHT : OMO_LEFT;
    if (has_no_side(step)) {
        add(s, step, s->person.affected, false);
        return;
    }
    switch (step->side) {
    case OMO_STEP_AFFECTED:
        add(s, step, s->person.affected, false);
        break;
    case OMO_STEP_OTHER:
        add(s, step, other, false);
        break;
    case OMO_STEP_LEFT:
        add(s, step, OMO_LEFT, false);
        break;
    case OMO_STEP_RIGHT:
        add(s, step, OMO_RIGHT, false);
        break;
    case OMO_STEP_BOTH:
        /* One protocol a course: where both are measured at once, they are never
           measured one after the other, and the other way about. */
        if (step->kind == OMO_STEP_MEASURE && s->settings.programme->arms_both &&
            !strstr(step->movement, "rotation")) {
            add(s, step, s->person.affected, true);
            break;
        }
        add(s, step, other, false);
        add(s, step, s->person.affected, false);
        break;
    }
}

/** Rotations last, active before assisted, the better side first: in that order of
 *  weight, so that within one movement the sides follow each other. (Common practice.) */
static int rank(const struct omo_session *s, const struct run *run)
{
    int rank = 0;
    if (strstr(run->step->movement, "rotation"))
        rank += 4;
    if (run->step->mode == OMO_MODE_ASSISTED)
        rank += 2;
    if (!run->both && run->side == s->person.affected)
        rank += 1;
    return rank;
}

/** Sorts neighbouring measurements of one movement by side and mode, and lets rotations
 *  go to the end of such a stretch; the order is otherwise the practitioner's. */
static void sort_measures(const struct omo_session *s, struct run *run, int count)
{
    for (int i = 1; i < count; i++) {
        struct run moving = run[i];
        int j = i;
        while (j > 0) {
            const struct run *before = &run[j - 1];
            bool same = !strcmp(before->step->movement, moving.step->movement);
            bool rotation_ends = strstr(before->step->movement, "rotation") &&
                                 !strstr(moving.step->movement, "rotation");
            if (!rotation_ends && !(same && rank(s, before) > rank(s, &moving)))
                break;
            run[j] = run[j - 1];
            j--;
        }
        run[j] = moving;
    }
}

void omo_session_order(struct omo_session *s)
{
    const struct omo_programme *programme = s->settings.programme;
    s->run_count = 0;
    for (int i = 0; i < programme->step_count; i++)
        add_step(s, &programme->step[i]);
    for (int i = 0; i < s->run_count;) {
        int end = i;
        while (end < s->run_count && s->run[end].step->kind == OMO_STEP_MEASURE)
            end++;
        sort_measures(s, s->run + i, end - i);
        i = end > i ? end : i + 1;
    }
}

/** Whether an earlier part of this session has closed this step. */
static bool closed(const struct omo_session *s, const struct run *run)
{
    const char *side = run->both ? "both" : omo_side_name(run->side);
    for (size_t i = 0; i < s->settings.begun_count; i++) {
        const struct omo_step_row *row = &s->settings.begun[i];
        if (!strcmp(row->session, s->settings.id) &&
            !strcmp(row->step, run->step->name) && !strcmp(row->side, side) &&
            strcmp(row->result, "begun"))
            return true;
    }
    return false;
}

void omo_session_resume(struct omo_session *s)
{
    while (s->at < s->run_count && closed(s, &s->run[s->at]))
        s->at++;
}
