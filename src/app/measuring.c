#include "app/measuring.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/lens_plan.h"
#include "app/measuring_stage.h"
#include "app/measuring_still.h"
#include "app/placement_page.h"
#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* A light-dark change at most once a second, and this long. */
#define FLASH_EVERY_NS 1000000000
#define FLASH_NS       150000000

static volatile sig_atomic_t interrupted;

static void on_signal(int number)
{
    (void)number;
    interrupted = 1;
}

void omo_measuring_catch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal, .sa_flags = (int)SA_RESETHAND};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    sigaction(SIGHUP, &action, NULL);
}

bool omo_measuring_interrupted(void)
{
    return interrupted != 0;
}

static void wake(void *user)
{
    struct omo_stage *stage = user;
    if (stage->m->screen) {
        omo_screen_wake(stage->m->screen);
        return;
    }
    g_mutex_lock(&stage->lock);
    stage->fresh = true;
    g_cond_signal(&stage->changed);
    g_mutex_unlock(&stage->lock);
}

/** Highest angle of the same movement the last time, NAN none. */
static double last_time(const struct omo_measuring *m)
{
    const struct omo_session_row *want = &m->plan->row;
    for (size_t i = omo_record_count(m->record); i-- > 0;) {
        const struct omo_session_row *row = omo_record_row(m->record, i);
        if (row && !strcmp(row->status, "ok") && !strcmp(row->person, want->person) &&
            !strcmp(row->movement, want->movement) && !strcmp(row->side, want->side) &&
            !strcmp(row->mode, want->mode))
            return row->max_deg;
    }
    return NAN;
}

/** A signal for the ear, or a light-dark change for the eye. */
static void signal_person(struct omo_stage *stage, enum omo_signal signal)
{
    int64_t now_ns = omo_clock_ns();
    if (stage->m->sound && stage->m->sound_on)
        omo_sound_signal(stage->m->sound, signal);
    if (stage->m->flash_on && now_ns - stage->flashed_ns >= FLASH_EVERY_NS) {
        stage->flashed_ns = now_ns;
        stage->flash_ns = now_ns + FLASH_NS;
    }
}

static void follow_events(struct omo_stage *stage, const struct omo_live_view *view)
{
    static const struct {
        unsigned event;
        enum omo_signal signal;
    } signals[] = {
        {OMO_EVENT_NEUTRAL, OMO_SIGNAL_NEUTRAL},
        {OMO_EVENT_RAISE_CLOSED, OMO_SIGNAL_CLOSED},
        {OMO_EVENT_PAIN_ONSET, OMO_SIGNAL_MARK},
        {OMO_EVENT_PAIN_END, OMO_SIGNAL_MARK},
        {OMO_EVENT_WARNED, OMO_SIGNAL_WARN},
        {OMO_EVENT_ENDED, OMO_SIGNAL_ENDED},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(signals); i++)
        if (view->events & signals[i].event)
            signal_person(stage, signals[i].signal);
    if (!stage->m->screen && !stage->m->quiet)
        omo_says_print(&stage->says, stage->fault, view);
}

/** The tone follows the arm that is higher. */
static double highest_now(const struct omo_stage *stage)
{
    double angle_deg = NAN;
    for (int i = 0; i < stage->arms; i++)
        angle_deg = fmax(angle_deg, stage->now->view[i].angle_deg);
    return angle_deg;
}

static void take_newest(struct omo_stage *stage)
{
    const struct omo_live_now *now;
    if (!omo_live_run_take(stage->live, &now))
        return;
    stage->stale = true;
    stage->now = now;
    omo_stage_look_after_light(stage);
    omo_says_follow(&stage->says, now);
    follow_events(stage, now->view);
    if (stage->m->sound && stage->m->sound_on) {
        bool moving =
            now->view->phase == OMO_PHASE_RAISE || now->view->phase == OMO_PHASE_LOWER;
        omo_sound_angle(stage->m->sound, moving ? highest_now(stage) : (double)NAN);
    }
}

/** A movement that reached the disk: its figures are kept for the caller and said. */
static void take_saved(struct omo_stage *stage)
{
    struct omo_measuring *m = stage->m;
    struct omo_saved saved;
    while (omo_saver_take(stage->saver, &saved)) {
        if (saved.status == OMO_OK) {
            g_array_append_val(m->saved, saved);
            stage->last_time_deg = stage->arms > 1 ? (double)NAN : saved.row.max_deg;
        } else if (saved.status != OMO_ERR_EMPTY) {
            stage->code = OMO_EXIT_FAILED;
            stage->leave = true;
        }
        stage->any_saved |= saved.status == OMO_OK;
        omo_says_saved(&stage->says, &saved);
        stage->rest_until_ns = omo_clock_ns() + (int64_t)(m->rest_s * 1e9);
        if (!saved.last)
            continue;
        stage->movements += stage->any_saved;
        if (stage->any_saved && stage->movements >= m->movements)
            stage->leave = true;
        stage->any_saved = false;
    }
}

/** Between two movements: the pause, then neutral again. */
static void rest(struct omo_stage *stage)
{
    if (!stage->rest_until_ns)
        return;
    int64_t left_ns = stage->rest_until_ns - omo_clock_ns();
    omo_says_rest(&stage->says, (double)left_ns / 1e9);
    if (left_ns > 0)
        return;
    stage->rest_until_ns = 0;
    omo_says_rest(&stage->says, NAN);
    omo_live_run_again(stage->live);
}

static void keep_still(struct omo_stage *stage)
{
    char path[4300];
    if (!stage->now || !stage->now->planes.y)
        return;
    enum omo_status status =
        omo_measuring_still(stage->m, stage->now, ++stage->stills, path, sizeof path);
    if (status == OMO_OK)
        omo_info(omo_word("kept: %s"), path);
    omo_says_still(&stage->says, status);
}

static void act(struct omo_stage *stage, const struct omo_input *input)
{
    struct omo_measuring *m = stage->m;
    switch (input->action) {
    case OMO_ACTION_QUIT:
    case OMO_ACTION_BACK:
        m->left = input->action == OMO_ACTION_QUIT;
        stage->leave = true;
        break;
    case OMO_ACTION_MARK:
        omo_live_run_press(stage->live, OMO_PRESS_MARK);
        break;
    case OMO_ACTION_HOLD_STOP:
        omo_live_run_press(stage->live, OMO_PRESS_STOP);
        break;
    case OMO_ACTION_ENOUGH:
        m->enough = true;
        stage->leave = true;
        omo_live_run_press(stage->live, OMO_PRESS_ENOUGH);
        break;
    case OMO_ACTION_BEGIN:
        if (stage->rest_until_ns)
            stage->rest_until_ns = omo_clock_ns();
        else
            omo_live_run_press(stage->live, OMO_PRESS_BEGIN);
        break;
    case OMO_ACTION_STILL:
        keep_still(stage);
        break;
    case OMO_ACTION_SOUND: /* sound, light-dark changes, neither */
        if (m->sound_on) {
            m->sound_on = false;
            m->flash_on = true;
        } else if (m->flash_on) {
            m->flash_on = false;
        } else {
            m->sound_on = true;
        }
        if (m->sound)
            omo_sound_on(m->sound, m->sound_on);
        break;
    case OMO_ACTION_MIRROR:
        m->mirror = !m->mirror;
        break;
    case OMO_ACTION_HELP:
        /* Measuring goes on behind it. */
        if (omo_placement_help(m->screen, &m->plan->measure, &m->plan->tracker.set))
            m->left = stage->leave = true;
        break;
    case OMO_ACTION_NONE:
    case OMO_ACTION_FULL: /* the window does it itself */
    case OMO_ACTION_CHOOSE:
    case OMO_ACTION_TYPED:
    case OMO_ACTION_COUNT:
        break;
    }
}

/** Waits for an input, a picture or a tick. */
static void wait_for_something(struct omo_stage *stage)
{
    struct omo_input input;
    if (stage->m->screen) {
        if (omo_screen_input(stage->m->screen, OMO_STAGE_TICK_MS, &input)) {
            act(stage, &input);
            stage->stale = true;
        }
        return;
    }
    gint64 until_us = g_get_monotonic_time() + OMO_STAGE_TICK_MS * 1000;
    g_mutex_lock(&stage->lock);
    while (!stage->fresh && g_cond_wait_until(&stage->changed, &stage->lock, until_us))
        ;
    stage->fresh = false;
    g_mutex_unlock(&stage->lock);
}

static void loop(struct omo_stage *stage)
{
    struct omo_measuring *m = stage->m;
    while (!stage->leave && !interrupted) {
        wait_for_something(stage);
        take_newest(stage);
        take_saved(stage);
        rest(stage);
        omo_stage_watch_camera(stage);
        if (m->sound && m->sound_on)
            omo_says_aloud(&stage->says, stage->fault, m->sound);
        omo_stage_show(stage);
        if (omo_pace_spent_s(&m->pace) > m->most_s)
            stage->leave = true;
    }
}

static enum omo_status start(struct omo_stage *stage)
{
    struct omo_measuring *m = stage->m;
    enum omo_camera_fault fault;
    enum omo_status status = omo_feed_open(&m->feed, &stage->feed, &fault);
    if (status != OMO_OK) {
        if (fault != OMO_CAMERA_FINE)
            omo_error("%s", omo_word(omo_camera_fault_text(fault)));
        m->fault = fault;
        return status;
    }
    omo_feed_state(stage->feed, &stage->camera);
    if (stage->camera.got.path[0])
        omo_plan_camera_lens(&stage->plan[0], stage->camera.got.name);
    if (stage->arms > 1) {
        stage->plan[1] = stage->plan[0];
        omo_plan_take_side(&stage->plan[1], OMO_LEFT);
    }
    omo_says_begin(&stage->says, stage->plan, &stage->camera.got);
    stage->says.ceiling_deg = m->ceiling_deg;
    struct omo_saver_settings saver = {stage->plan,       stage->arms,
                                       m->record,         m->source,
                                       stage->camera.got, m->feed.wish.lock_light,
                                       m->real_time};
    stage->saver = omo_saver_create(&saver);
    struct omo_live_run_settings live = {.plan = stage->plan,
                                         .arms = stage->arms,
                                         .width = stage->camera.got.width,
                                         .height = stage->camera.got.height,
                                         .feed = stage->feed,
                                         .saver = stage->saver,
                                         .raises_most = m->raises_most,
                                         .need_luma = true,
                                         .wake = wake,
                                         .user = stage};
    return omo_live_run_start(&live, &stage->live);
}

/** Ends what is in progress; everything is on disk when this returns. */
static void finish(struct omo_stage *stage)
{
    struct omo_measuring *m = stage->m;
    if (stage->live) {
        omo_live_run_count(stage->live, &m->count);
        omo_live_run_finish(stage->live);
    }
    if (stage->feed)
        omo_feed_state(stage->feed, &m->camera);
    omo_feed_close(stage->feed);
    if (stage->saver) {
        omo_saver_wait(stage->saver);
        take_saved(stage);
        if (omo_saver_status(stage->saver) != OMO_OK)
            stage->code = OMO_EXIT_FAILED;
        omo_saver_destroy(stage->saver);
    }
    if (!m->sound)
        return;
    omo_sound_angle(m->sound, NAN);
    if (m->sound_on && stage->says.passing[0])
        omo_sound_say(m->sound, stage->says.passing);
}

int omo_measuring_run(struct omo_measuring *m)
{
    struct omo_stage stage = {.m = m,
                              .arms = m->plan->both_sides ? 2 : 1,
                              .code = OMO_EXIT_DONE,
                              .flashed_ns = -FLASH_EVERY_NS,
                              .frame_shown = -1};
    g_mutex_init(&stage.lock);
    g_cond_init(&stage.changed);
    /* Of both arms the plan is the right one's. */
    stage.plan[0] = *m->plan;
    stage.last_time_deg = stage.arms > 1 ? (double)NAN : last_time(m);
    omo_pace_begin(&m->pace);
    if (m->sound)
        omo_sound_on(m->sound, m->sound_on);
    if (start(&stage) == OMO_OK)
        loop(&stage);
    else
        stage.code = OMO_EXIT_FAILED;
    finish(&stage);
    g_mutex_clear(&stage.lock);
    g_cond_clear(&stage.changed);
    return stage.code;
}
