#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "programme/session_private.h"

static const struct stage_ops *ops_of(enum stage stage)
{
    const struct stage_ops *ops = omo_stage_ask(stage);
    if (!ops)
        ops = omo_stage_flags(stage);
    if (!ops)
        ops = omo_stage_step(stage);
    if (!ops)
        ops = omo_stage_hold(stage);
    if (!ops)
        ops = omo_stage_stay(stage);
    if (!ops)
        ops = omo_stage_watch(stage);
    if (!ops)
        ops = omo_stage_entry(stage);
    return ops;
}

void omo_session_touch(struct omo_session *s)
{
    s->page_stale = true;
}

bool omo_session_whole(double value, double least, double most)
{
    return value >= least && value <= most && value == floor(value);
}

void omo_session_enter(struct omo_session *s, enum stage stage)
{
    s->stage = stage;
    s->stage_s = s->now_s;
    s->hold_s = NAN;
    s->serial++;
    omo_session_touch(s);
    const struct stage_ops *ops = ops_of(stage);
    if (ops->enter)
        ops->enter(s); /* may enter another one */
}

enum omo_status omo_session_create(const struct omo_session_settings *settings,
                                   struct omo_session **out)
{
    if (!settings->care || !settings->programme || !settings->person ||
        !settings->pseudonym || !settings->id || settings->programme->step_count < 1 ||
        settings->programme->step_count > OMO_STEPS_MOST)
        return OMO_ERR_ARG;
    struct omo_session *s = calloc(1, sizeof *s);
    if (!s)
        return OMO_ERR_MEMORY;
    s->settings = *settings;
    s->soreness = settings->told;
    s->person = *settings->person;
    s->past = calloc(settings->person->past_count + RUNS_MOST, sizeof *s->past);
    if (!s->past) {
        free(s);
        return OMO_ERR_MEMORY;
    }
    if (settings->person->past_count > 0)
        memcpy(s->past, settings->person->past,
               settings->person->past_count * sizeof *s->past);
    s->person.past = s->past;
    s->hold_s = s->eye_deg = s->morning = s->worst_during = NAN;
    omo_session_enter(s, STAGE_CAUTION);
    *out = s;
    return OMO_OK;
}

void omo_session_destroy(struct omo_session *s)
{
    if (!s)
        return;
    omo_stay_destroy(s->stay);
    omo_pendulum_destroy(s->pendulum);
    free(s->past);
    free(s);
}

const struct omo_session_page *omo_session_page(struct omo_session *s)
{
    if (!s->page_stale)
        return &s->page;
    const struct stage_ops *ops = ops_of(s->stage);
    struct omo_session_page *page = &s->page;
    memset(page, 0, sizeof *page);
    page->serial = s->serial;
    page->need = ops->need;
    page->least = page->most = page->total_s = page->left_s = NAN;
    page->breath = page->angle_deg = NAN;
    if (ops->need == OMO_NEED_SCALE) {
        page->least = 0;
        page->most = 10;
    }
    const struct run *run = omo_session_current_run(s);
    if (run) {
        page->step = run->step;
        page->side = run->side;
        page->both = run->both;
        page->offer = s->offer;
        page->place = s->at + 1;
        page->places = s->run_count;
    }
    if (ops->page)
        ops->page(s, page);
    s->page_stale = false;
    return page;
}

bool omo_session_answer(struct omo_session *s, double value)
{
    const struct stage_ops *ops = ops_of(s->stage);
    if (!ops->answer)
        return false;
    enum stage before = s->stage;
    const struct omo_session_page *page = omo_session_page(s);
    if ((page->need == OMO_NEED_SCALE || page->need == OMO_NEED_NUMBER) &&
        !omo_session_whole(value, page->least, page->most))
        return false;
    if ((page->need == OMO_NEED_CHOICE || page->need == OMO_NEED_TICKS) &&
        !omo_session_whole(value, 0, page->item_count - 1))
        return false;
    int backs = s->back_count;
    bool taken = ops->answer(s, value);
    omo_session_touch(s);
    if (taken && ops->question && s->stage != before && backs == s->back_count &&
        backs < (int)(sizeof s->back / sizeof s->back[0]))
        s->back[s->back_count++] = before;
    return taken;
}

bool omo_session_text(struct omo_session *s, const char *text)
{
    const struct stage_ops *ops = ops_of(s->stage);
    bool taken = ops->text && ops->text(s, text);
    omo_session_touch(s);
    return taken;
}

/** "Enough for today" ends whatever is on; what was done of it counts. */
static void enough(struct omo_session *s)
{
    if (omo_session_current_run(s) && s->stage >= STAGE_INTRO && s->stage < STAGE_AFTER) {
        omo_session_close(s, s->stage == STAGE_INTRO ? "skipped" : "part",
                          "enough for today");
    }
    s->end = OMO_SESSION_WAS_ENOUGH;
    s->at = s->run_count;
    omo_session_enter(s, STAGE_AFTER);
}

void omo_session_press(struct omo_session *s, enum omo_session_press press)
{
    const struct stage_ops *ops = ops_of(s->stage);
    omo_session_touch(s);
    if (s->stage == STAGE_OVER)
        return;
    switch (press) {
    case OMO_SESSION_GO_ON:
        if (ops->go_on) {
            enum stage before = s->stage;
            ops->go_on(s);
            if (ops->question && s->stage != before &&
                s->back_count < (int)(sizeof s->back / sizeof s->back[0]))
                s->back[s->back_count++] = before;
        }
        break;
    case OMO_SESSION_BACK:
        if (ops->question && s->back_count > 0)
            omo_session_enter(s, s->back[--s->back_count]);
        break;
    case OMO_SESSION_SKIP:
        if (omo_session_current_run(s) && s->stage >= STAGE_INTRO &&
            s->stage < STAGE_AFTER && s->stage != STAGE_LOWER && s->stage != STAGE_SIGN)
            omo_session_finish(s, "skipped", "");
        break;
    case OMO_SESSION_PAIN:
        if (omo_session_can_hurt(s)) {
            s->before_pain = s->stage;
            s->before_hold_s = s->hold_s;
            s->before_s = s->now_s;
            omo_session_enter(s, STAGE_HOW_MUCH);
        }
        break;
    case OMO_SESSION_SIGN:
        if (omo_session_can_hurt(s))
            omo_session_enter(s, STAGE_SIGN);
        break;
    case OMO_SESSION_ENOUGH:
        if (s->stage >= STAGE_DAY && s->stage < STAGE_AFTER)
            enough(s);
        else if (s->stage < STAGE_DAY)
            omo_session_press(s, OMO_SESSION_LEAVE); /* nothing was begun */
        break;
    case OMO_SESSION_LEAVE:
        if (s->stage == STAGE_URGENT && s->urgency >= OMO_URGENCY_TODAY) {
            ops->go_on(s); /* that is not left in order to go on later */
            break;
        }
        s->end = OMO_SESSION_LEFT;
        omo_session_enter(s, STAGE_OVER);
        break;
    }
}

void omo_session_time(struct omo_session *s, double now_s)
{
    const struct stage_ops *ops = ops_of(s->stage);
    if (!(now_s >= s->now_s))
        return;
    s->now_s = now_s;
    if (ops->time) {
        ops->time(s);
        omo_session_touch(s);
        return;
    }
    if (!s->settings.hands_free || ops->alone_s <= 0 || now_s - s->stage_s < ops->alone_s)
        return;
    if (ops->unanswered)
        ops->unanswered(s);
    else if (ops->go_on)
        ops->go_on(s);
}

void omo_session_frame(struct omo_session *s, const struct omo_track_frame *frame,
                       const struct omo_live_view *view)
{
    const struct stage_ops *ops = ops_of(s->stage);
    if (!ops->frame)
        return;
    ops->frame(s, frame, view);
    omo_session_touch(s);
}

enum omo_session_end omo_session_end(const struct omo_session *s)
{
    return s->stage == STAGE_OVER ? s->end : OMO_SESSION_GOES_ON;
}
