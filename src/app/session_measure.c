/* A step of a session that is measured: the measuring page, and what it came to. */
#include <math.h>
#include <string.h>

#include "app/commands.h"
#include "app/session_run.h"
#include "omogon/log.h"
#include "omogon/text.h"

/* Scenes of an invented person for the kinds of steps, where no camera is wanted. */
#define SCENE_MEASURE "live"
#define SCENE_STAY    "stay"
#define SCENE_SWING   "pendulum-right"

static void step_words(const struct omo_session_run *run,
                       const struct omo_session_page *page,
                       struct omo_measure_words *words)
{
    const struct omo_measure_words *given = &run->words->measure;
    const struct omo_step *step = page->step;
    struct omo_option_words *common = &words->common;
    omo_measure_words_share(given, words);
    common->movement =
        g_strdup(step->kind == OMO_STEP_PENDULUM ? "pendulum" : step->movement);
    common->side = g_strdup(page->both ? "both" : omo_side_name(page->side));
    common->takes_both_sides = page->both;
    common->person = g_strdup(run->pseudonym);
    common->from = step->view[0] ? g_strdup(step->view) : NULL;
    if (step->position_told)
        common->position = g_strdup(omo_position_name(step->position));
    bool assisted = step->mode == OMO_MODE_ASSISTED || page->offer.assisted;
    common->mode = g_strdup(assisted ? "assisted" : "active");
    if (given->scene) {
        const char *scene = step->kind == OMO_STEP_PENDULUM ? SCENE_SWING
                            : step->kind == OMO_STEP_STAY   ? SCENE_STAY
                                                            : SCENE_MEASURE;
        words->scene = g_strdup(strcmp(given->scene, "session") ? given->scene : scene);
    }
}

bool omo_session_step_resolve(struct omo_session_run *run,
                              const struct omo_session_page *page,
                              struct omo_session_step_plan *out)
{
    struct omo_preferences preferences;
    *out = (struct omo_session_step_plan){0};
    step_words(run, page, &out->words);
    omo_preferences_load(&preferences);
    if (omo_plan_resolve(&out->words.common, true, &out->plan)) {
        out->resolved = true;
        if (omo_measure_resolve(&out->words, &out->plan, &preferences, &out->measuring,
                                &out->scene) &&
            omo_scene_dress(out->scene, out->words.common.movement, page->side,
                            &out->measuring.feed.wish))
            return true;
    }
    omo_session_step_plan_finish(out);
    return false;
}

void omo_session_step_plan_finish(struct omo_session_step_plan *plan)
{
    omo_scene_destroy(plan->scene);
    if (plan->resolved)
        omo_plan_finish(&plan->plan);
    omo_measure_words_finish(&plan->words);
    *plan = (struct omo_session_step_plan){0};
}

/** Of several movements the newest row counts; of both arms the affected one's. */
static void tell(struct omo_session_run *run, const struct omo_measuring *m)
{
    struct omo_session_measured told = {.status = OMO_ERR_EMPTY,
                                        .id = "",
                                        .mean_of_maxima_deg = NAN,
                                        .max_deg = NAN,
                                        .u95_deg = NAN,
                                        .pain_onset_deg = NAN,
                                        .enough = m->enough};
    for (guint i = 0; i < m->saved->len; i++) {
        const struct omo_session_row *row =
            &g_array_index(m->saved, struct omo_saved, i).row;
        if (m->saved->len > 1 &&
            strcmp(row->side, omo_side_name(run->person.affected)) != 0)
            continue;
        told.status = OMO_OK;
        told.id = row->id;
        told.mean_of_maxima_deg = row->mean_of_maxima_deg;
        told.max_deg = row->max_deg;
        told.u95_deg = row->max_u95_deg;
        told.pain_onset_deg = row->pain_onset_deg;
        told.repetitions = row->repetitions;
    }
    g_mutex_lock(&run->lock);
    omo_session_measured(run->session, &told);
    g_mutex_unlock(&run->lock);
    omo_session_run_keep(run);
}

int omo_session_run_measure(struct omo_session_run *run,
                            const struct omo_session_page *page)
{
    struct omo_session_step_plan step;
    if (!omo_session_step_resolve(run, page, &step))
        return OMO_EXIT_FAILED;
    struct omo_measuring *m = &step.measuring;
    m->record = run->record;
    m->directory = run->directory;
    m->screen = run->screen;
    m->sound = run->sound;
    m->movements = 1;
    m->raises_most = page->offer.repetitions;
    m->ceiling_deg = page->offer.ceiling_deg;
    m->saved = g_array_new(FALSE, FALSE, sizeof(struct omo_saved));
    int code = omo_measuring_run(m);
    run->left |= m->left;
    if (m->left || omo_measuring_interrupted())
        omo_session_run_press(run, OMO_SESSION_LEAVE);
    else
        tell(run, m);
    g_array_unref(m->saved);
    omo_session_step_plan_finish(&step);
    return code;
}
