/* Reach and rest, watched through the camera. */
#include <math.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

/* A person whose arm is down for so long has ended the reaches (our choice). */
#define DOWN_OVER_S 25
/* Once far enough, it stays said until the arm is clearly lower. */
#define FAR_BACK_DEG 3
/* A stop is named when it has been read for so long. */
#define NAMED_S 1
/* An arm at rest may sink by so much. */
#define WAY_DOWN_DEG 5

/* ---- reach and rest -------------------------------------------------------------- */

static const struct omo_movement *movement_of(const struct omo_session *s)
{
    const struct omo_step *step = omo_session_current_run(s)->step;
    return s->settings.movements
               ? omo_movement_find(s->settings.movements, step->movement)
               : NULL;
}

static double excess_hike(const struct omo_session *s, const struct omo_live_view *live)
{
    struct omo_measure_settings settings = {.movement = movement_of(s)};
    return settings.movement
               ? omo_excess_hike_ratio(&settings, live->angle_deg, live->hike_ratio)
               : (double)NAN;
}

static void stay_enter(struct omo_session *s)
{
    struct omo_stay_settings settings;
    const struct omo_movement *movement = movement_of(s);
    omo_stay_settings_default(&settings);
    settings.held_at_start = movement && movement->geometry != OMO_GEOMETRY_ELEVATION;
    if (movement && movement->allowances.hike_ratio > 0)
        settings.excess_hike_ratio = movement->allowances.hike_ratio;
    if (omo_stay_create(&settings, &s->stay) != OMO_OK)
        omo_session_enter(s, STAGE_REACH);
}

/** Whether another easing up may be invited: never on a sore day, never near a limit. */
static bool may_ease(const struct omo_session *s)
{
    return s->eased < s->offer.ease_ups && !s->offer.comfort_only && !s->far_enough;
}

/** A stop well below the first one is a pause on the way down. */
static bool comes_down(const struct omo_stay_view *view)
{
    return view->phase == OMO_STAY_LOWERING || view->gain_deg < -WAY_DOWN_DEG;
}

static bool rests_at_stop(const struct omo_stay_view *view)
{
    return view->phase == OMO_STAY_STOPPED && !comes_down(view);
}

static bool rested(const struct omo_session *s)
{
    return rests_at_stop(&s->stayed) && s->stayed.held_s >= omo_session_hold_s(s);
}

static const char *stay_words(struct omo_session *s, char *text, size_t size)
{
    const struct omo_stay_view *view = &s->stayed;
    text[0] = '\0';
    if (s->far_enough)
        return omo_word("Far enough. Lower slowly.");
    if (comes_down(view))
        return omo_word("Lower slowly");
    switch (view->phase) {
    case OMO_STAY_STOPPED:
        if (view->held_s < NAMED_S) /* its angle is read more exactly by then */
            return omo_word("Rest here");
        if (!rested(s))
            omo_text_add(text, size, omo_word("%.0f degrees. Rest here."),
                         view->stop_deg);
        else if (s->invited)
            return omo_word("If it is comfortable: up a little");
        else
            return omo_word("Lower slowly");
        return text;
    case OMO_STAY_LOWERING:
        return omo_word("Lower slowly");
    case OMO_STAY_RISING:
        return s->offer.comfort_only ? omo_word("As far as is comfortable")
                                     : omo_word("Slowly, to where it stops");
    case OMO_STAY_DOWN:
        break;
    }
    if (s->reaches > 0)
        return omo_word("Rest. When you are ready, once more");
    return s->offer.comfort_only ? omo_word("Reach up as far as is comfortable")
                                 : omo_word("Reach up to where it stops");
}

static void stay_page(struct omo_session *s, struct omo_session_page *page)
{
    const struct omo_step *step = omo_session_current_run(s)->step;
    const struct omo_stay_view *view = &s->stayed;
    char text[160];
    omo_page_step_title(s, page);
    omo_page_say(page, stay_words(s, text, sizeof text));
    if (rests_at_stop(view) && !s->far_enough) {
        page->total_s = omo_session_hold_s(s);
        page->left_s = fmax(0, page->total_s - view->held_s);
        page->breaths_wanted = s->offer.breaths;
        if (!view->settled)
            omo_page_line(page, omo_word("Let the shoulder sink."));
        if (s->offer.pace == OMO_PACE_PACED && step->breaths_per_min > 0) {
            page->breath =
                omo_breath_line(view->held_s, step->breaths_per_min, OMO_BREATH_IN_SHARE);
            page->breaths = omo_breaths_done(view->held_s, step->breaths_per_min);
            omo_page_line(page,
                          omo_word("Breathe with the line if you like. Stop if you feel "
                                   "light-headed."));
        } else {
            omo_page_line(page, omo_word("Breathe at your own pace."));
        }
    }
    if (isfinite(view->gain_deg) && view->gain_deg >= 1 && !s->far_enough) {
        text[0] = '\0';
        omo_text_add(text, sizeof text, omo_word("%.0f degrees more than the first stop"),
                     view->gain_deg);
        omo_page_line(page, text);
    }
    if (isfinite(s->offer.target_deg) && !s->far_enough && s->reaches == 0 &&
        view->phase == OMO_STAY_DOWN)
        omo_page_line(page, s->offer.why);
    omo_text_copy(page->caution, sizeof page->caution,
                  omo_word("Stop at pain: lower slowly and rest."));
    page->angle_deg = s->eye_deg;
    page->far_enough = s->far_enough;
    page->stay = *view;
}

/** The ceiling, less what the angle is good to, is as far as anything here goes. */
static void watch_ceiling(struct omo_session *s, double angle_deg, double u95_deg)
{
    double warn_deg = s->offer.warn_deg;
    if (isnan(warn_deg) || isnan(angle_deg))
        return;
    if (s->offer.ceiling_deg - u95_deg < warn_deg) /* known now, and worse than thought */
        warn_deg = s->offer.ceiling_deg - u95_deg;
    bool was = s->far_enough;
    if (angle_deg >= warn_deg)
        s->far_enough = true;
    else if (angle_deg < warn_deg - FAR_BACK_DEG)
        s->far_enough = false;
    if (s->far_enough && !was) {
        s->invited = false;
        omo_text_copy(s->row.note, sizeof s->row.note,
                      "told that it is far enough at the ceiling");
    }
}

/** The highest stop, the largest gain and the longest rest so far. While a stop lasts its
 *  angle is read anew with every frame. */
static void keep_stop(struct omo_session *s, double u95_deg)
{
    const struct omo_stay_view *view = &s->stayed;
    if (!(s->row.stop_deg > view->stop_deg) || s->stop == view->stops) {
        s->row.stop_deg = view->stop_deg;
        s->row.stop_u95_deg = u95_deg;
        s->stop = view->stops;
    }
    if (view->gain_deg > 0 && !(s->row.gain_deg >= view->gain_deg))
        s->row.gain_deg = view->gain_deg;
    if (!(s->row.held_s >= view->held_s))
        s->row.held_s = view->held_s;
}

static void stay_frame(struct omo_session *s, const struct omo_track_frame *frame,
                       const struct omo_live_view *live)
{
    struct omo_stay_view *view = &s->stayed;
    struct omo_stay_view before = *view;
    bool far_before = s->far_enough, invited_before = s->invited;
    /* Before neutral there is no trunk to measure against. */
    bool known = live->phase >= OMO_PHASE_READY && live->phase != OMO_PHASE_ENDED;
    s->eye_deg = known ? live->angle_deg : (double)NAN;
    omo_stay_step(s->stay, frame->time_s, s->eye_deg, excess_hike(s, live), view);
    watch_ceiling(s, s->eye_deg, live->angle_u95_deg);
    if (view->stop_began && s->invited) {
        s->row.ease_ups = s->eased;
        s->invited = false;
    }
    if (rests_at_stop(view) && view->held_s >= NAMED_S)
        keep_stop(s, live->angle_u95_deg);
    if (rested(s) && !s->invited && may_ease(s) && view->settled) {
        s->invited = true;
        s->eased++;
    }
    if (comes_down(view))
        s->invited = false;
    if (view->reaches > s->reaches) {
        s->reaches = s->row.repetitions = view->reaches;
        s->eased = s->stop = 0;
        s->still_since_s = s->now_s;
    }
    s->dose_met = s->reaches >= s->offer.repetitions;
    bool named = view->held_s >= NAMED_S && before.held_s < NAMED_S;
    if (view->phase != before.phase || view->stop_began || named ||
        s->far_enough != far_before || s->invited != invited_before)
        s->serial++;
    bool idle = view->phase == OMO_STAY_DOWN && s->reaches > 0 &&
                s->now_s - s->still_since_s > DOWN_OVER_S;
    if (s->dose_met || idle)
        omo_session_finish_asked(s);
}

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_STAY] = {OMO_NEED_STAY, 0, false, stay_enter, stay_page,
                    .go_on = omo_session_finish_asked, .frame = stay_frame},
};

const struct stage_ops *omo_stage_stay(enum stage stage)
{
    return stage == STAGE_STAY ? &stages[stage] : NULL;
}
