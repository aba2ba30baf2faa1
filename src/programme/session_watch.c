/* Steps that are watched through the camera: circles, and what is measured. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

/* A set of circles that has come to rest for so long is over (our choice).
 */
#define SWING_OVER_S   15
#define BLIND_CIRCLE_S 4

/* ---- circles --------------------------------------------------------------------- */

static void swing_enter(struct omo_session *s)
{
    struct omo_pendulum_settings settings;
    omo_pendulum_settings_default(&settings);
    s->still_since_s = NAN;
    if (omo_pendulum_create(&settings, &s->pendulum) != OMO_OK)
        omo_session_enter(
            s, STAGE_SWING_BLIND); /* without memory it is still a good swing */
}

void omo_session_pictures(struct omo_session *s,
                          const struct omo_pendulum_settings *settings)
{
    struct omo_pendulum *pendulum = NULL;
    if (s->stage != STAGE_SWING || omo_pendulum_create(settings, &pendulum) != OMO_OK)
        return;
    omo_pendulum_destroy(s->pendulum);
    s->pendulum = pendulum;
}

static int laps(const struct omo_pendulum_view *view)
{
    return view->clockwise + view->counter_clockwise + view->unknown;
}

static void swing_page(struct omo_session *s, struct omo_session_page *page)
{
    const struct omo_pendulum_view *view = &s->swing;
    int wanted = s->offer.circles;
    bool one_way_done = view->clockwise >= wanted || view->counter_clockwise >= wanted;
    char text[160] = "";
    omo_page_step_title(s, page);
    if (laps(view) == 0)
        omo_text_copy(text, sizeof text, omo_word("Let it circle, small and loose"));
    else if (view->way == OMO_SWING_CLOCKWISE && view->clockwise < wanted)
        omo_text_add(text, sizeof text, omo_word("%d of %d clockwise"), view->clockwise,
                     wanted);
    else if (view->way == OMO_SWING_COUNTER_CLOCKWISE && view->counter_clockwise < wanted)
        omo_text_add(text, sizeof text, omo_word("%d of %d counter-clockwise"),
                     view->counter_clockwise, wanted);
    else if (view->way == OMO_SWING_UNKNOWN)
        omo_text_add(text, sizeof text, omo_word("%d of %d circles"), laps(view),
                     2 * wanted);
    else if (one_way_done)
        omo_text_copy(text, sizeof text, omo_word("Enough this way: now the other way"));
    omo_page_say(page, text);
    if (isfinite(view->diameter_cm)) {
        text[0] = '\0';
        omo_text_add(text, sizeof text, omo_word("%.0f cm wide"), view->diameter_cm);
        omo_page_line(page, text);
    }
    if (isfinite(view->loose_ratio) && !view->loose)
        omo_page_line(page, omo_word("Let the arm hang; the body moves it."));
    if (view->way == OMO_SWING_UNKNOWN && laps(view) > 0)
        omo_page_line(page,
                      omo_word("Which way it turns is not seen from here: put the camera "
                               "higher or lower."));
    omo_text_copy(page->caution, sizeof page->caution,
                  omo_word("Stop at pain, or if you feel dizzy."));
    page->swing = *view;
}

static void keep_swing(struct omo_session *s)
{
    const struct omo_pendulum_view *view = &s->swing;
    int wanted = s->offer.circles;
    s->row.clockwise = view->clockwise;
    s->row.counter_clockwise = view->counter_clockwise;
    s->row.unknown_way = view->unknown;
    s->row.repetitions = laps(view);
    s->row.diameter_cm = view->mean_diameter_cm;
    s->row.diameter_growth_cm = view->growth_cm;
    s->row.loose_ratio = view->loose_ratio;
    s->dose_met = (view->clockwise >= wanted && view->counter_clockwise >= wanted) ||
                  (view->unknown > 0 && laps(view) >= 2 * wanted);
}

static void swing_frame(struct omo_session *s, const struct omo_track_frame *frame,
                        const struct omo_live_view *live)
{
    (void)live;
    int before = laps(&s->swing);
    enum omo_swing_way way = s->swing.way;
    omo_pendulum_step(s->pendulum, frame, &s->swing);
    keep_swing(s);
    if (laps(&s->swing) != before || s->swing.way != way)
        s->serial++;
    if (s->swing.swinging || laps(&s->swing) == 0)
        s->still_since_s = NAN;
    else if (isnan(s->still_since_s))
        s->still_since_s = s->now_s;
    if (s->dose_met || s->now_s - s->still_since_s > SWING_OVER_S)
        omo_session_finish_asked(s);
}

static void blind_page(struct omo_session *s, struct omo_session_page *page)
{
    char text[160] = "";
    omo_page_step_title(s, page);
    omo_text_add(text, sizeof text,
                 s->half == 0 ? omo_word("%d circles one way")
                              : omo_word("%d circles the other way"),
                 s->offer.circles);
    omo_page_say(page, text);
    omo_page_line(page,
                  omo_word("As wide as is comfortable. Count for yourself, then go on."));
    omo_page_line(page, omo_word("Let the arm hang; the body moves it."));
    omo_text_copy(page->caution, sizeof page->caution,
                  omo_word("Stop at pain, or if you feel dizzy."));
}

static void blind_go_on(struct omo_session *s)
{
    if (s->half++ == 0) {
        omo_session_enter(s, STAGE_SWING_BLIND);
        return;
    }
    s->dose_met = true;
    s->row.repetitions = 2 * s->offer.circles;
    omo_text_copy(s->row.note, sizeof s->row.note,
                  "counted by the person, ways not known");
    omo_session_finish_asked(s);
}

static void blind_time(struct omo_session *s)
{
    if (s->settings.hands_free &&
        s->now_s - s->stage_s >= BLIND_CIRCLE_S * s->offer.circles)
        blind_go_on(s);
}

/* ---- measuring ------------------------------------------------------------------- */

static void measure_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, s->offer.comfort_only
                           ? omo_word("Raise it as far as is comfortable")
                           : omo_word("Raise it as far as it goes today"));
    omo_page_line(page, s->offer.why);
}

static struct omo_past past_of(const struct omo_session *s,
                               const struct omo_session_measured *measured)
{
    const struct run *run = omo_session_current_run(s);
    struct omo_past now = {.mean_of_maxima_deg = measured->mean_of_maxima_deg,
                           .max_deg = measured->max_deg,
                           .u95_deg = measured->u95_deg,
                           .pain_at_max = NAN,
                           .pain_after = NAN,
                           .sore = omo_sore_of(s->settings.care, &s->soreness)};
    omo_text_copy(now.date, sizeof now.date, s->person.today);
    omo_text_copy(now.movement, sizeof now.movement, run->step->movement);
    omo_text_copy(now.side, sizeof now.side, omo_side_name(run->side));
    omo_text_copy(now.mode, sizeof now.mode, s->row.mode);
    now.comfortable = now.sore != OMO_SORE_SORE && isnan(measured->pain_onset_deg);
    return now;
}

void omo_session_measured(struct omo_session *s,
                          const struct omo_session_measured *measured)
{
    if (s->stage != STAGE_MEASURE)
        return;
    omo_session_touch(s);
    if (measured->status != OMO_OK) {
        if (measured->enough)
            omo_session_press(s, OMO_SESSION_ENOUGH);
        else
            omo_session_finish(s, "skipped", "nothing was measured");
        return;
    }
    omo_text_copy(s->row.measured, sizeof s->row.measured, measured->id);
    s->row.stop_deg = measured->max_deg;
    s->row.stop_u95_deg = measured->u95_deg;
    s->row.repetitions = measured->repetitions;
    s->dose_met = true;
    char why[256];
    const struct omo_past today = past_of(s, measured);
    bool fell = omo_range_fell(s->settings.care, &s->person, &today, true);
    /* From now on it is the newest of the past. */
    memmove(s->past + 1, s->past, s->person.past_count * sizeof *s->past);
    s->past[0] = today;
    s->person.past_count++;
    if (measured->enough)
        omo_session_press(s, OMO_SESSION_ENOUGH);
    else if (fell)
        omo_session_enter(s, STAGE_NEW_SIGN);
    else if (omo_active_lags(s->settings.care, &s->person, why, sizeof why))
        omo_session_enter(s, STAGE_LAGS);
    else
        omo_session_finish_asked(s);
}

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_SWING] = {OMO_NEED_SWING, 0, false, swing_enter, swing_page,
                     .go_on = omo_session_finish_asked, .frame = swing_frame},
    [STAGE_SWING_BLIND] = {OMO_NEED_GO_ON, 0, false, NULL, blind_page,
                           .go_on = blind_go_on, .time = blind_time},
    [STAGE_MEASURE] = {OMO_NEED_MEASURE, 0, false, NULL, measure_page},
};

const struct stage_ops *omo_stage_watch(enum stage stage)
{
    bool mine = stage >= STAGE_SWING && stage <= STAGE_MEASURE && stage != STAGE_STAY;
    return mine ? &stages[stage] : NULL;
}
