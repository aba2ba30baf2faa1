/* Whole sessions, from the first page to the last row, on a clock of the test's own. Each
 * drives into one rule and looks at what is, and is not, offered. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/session.h"
#include "omogon/text.h"

#define ROWS_MOST 200

struct drive {
    struct omo_programme programme;
    struct omo_care care;
    struct omo_person_state person;
    struct omo_movement_table *movements;
    struct omo_session_settings settings;
    struct omo_session *session;
    double now_s;
    struct omo_step_row step[ROWS_MOST];
    int step_count;
    struct omo_note_row note[ROWS_MOST];
    int note_count;
};

static const char whole[] =
    "[programme]\ntitle=Of the tests\npain_limit=4\narms=one\n"
    "[press]\ngroup=settle\nkind=press\narea=blade-back\nhold_s=30\nguidance=Lean.\n"
    "[swing]\ngroup=swing\nkind=pendulum\ncircles=10\nguidance=Hang.\n"
    "[up]\ngroup=reach\nkind=stay\nmovement=flexion\nhold_s=20\nrepetitions=2\n"
    "ease_ups=1\nguidance=Up.\n"
    "[far]\ngroup=reach\nkind=measure\nmovement=flexion\nrepetitions=2\n"
    "[far-other]\ngroup=reach\nkind=measure\nmovement=flexion\nside=other\n"
    "repetitions=2\n"
    "[behind]\ngroup=use\nkind=finding\nfinding=hand-behind-back\n"
    "[word]\ngroup=use\nkind=note\n";

static void begin(struct drive *d, const char *text)
{
    memset(d, 0, sizeof *d);
    ck_assert_int_eq(omo_care_load(NULL, &d->care), OMO_OK);
    ck_assert_int_eq(omo_movement_table_load(NULL, &d->movements), OMO_OK);
    ck_assert_int_eq(omo_programme_parse(text, strlen(text), "test.ini", &d->programme),
                     OMO_OK);
    d->person.affected = OMO_RIGHT;
    d->person.affected_known = true;
    d->person.told_mark_deg = NAN;
    omo_text_copy(d->person.today, sizeof d->person.today, "2026-03-10");
    d->settings = (struct omo_session_settings){
        .care = &d->care,
        .programme = &d->programme,
        .person = &d->person,
        .movements = d->movements,
        .pseudonym = "P01",
        .last_date = "2026-03-09",
        .camera = true,
        .id = "0123456789abcdef0123456789abcdef",
        .told = {NAN, NAN, -1, -1, -1},
        .u95_deg = 3,
    };
}

static void start(struct drive *d)
{
    ck_assert_int_eq(omo_session_create(&d->settings, &d->session), OMO_OK);
}

static void finish(struct drive *d)
{
    omo_session_destroy(d->session);
    omo_movement_table_destroy(d->movements);
}

static const struct omo_session_page *page(struct drive *d)
{
    return omo_session_page(d->session);
}

static void take(struct drive *d)
{
    double began_s;
    while (d->step_count < ROWS_MOST &&
           omo_session_take_step(d->session, &d->step[d->step_count], &began_s)) {
        ck_assert(began_s >= 0 && began_s <= d->now_s);
        d->step_count++;
    }
    while (d->note_count < ROWS_MOST &&
           omo_session_take_note(d->session, &d->note[d->note_count]))
        d->note_count++;
}

static void wait_s(struct drive *d, double seconds)
{
    for (double left_s = seconds; left_s > 1e-9; left_s -= 0.1) {
        d->now_s += 0.1;
        omo_session_time(d->session, d->now_s);
        take(d);
    }
}

static void press(struct drive *d, enum omo_session_press what)
{
    omo_session_press(d->session, what);
    take(d);
}

static void answer(struct drive *d, double value)
{
    ck_assert_msg(omo_session_answer(d->session, value), "%g is no answer to \"%s\"",
                  value, page(d)->instruction);
    take(d);
}

/** Cautions, nothing new, the morning, and how sore: up to the first step. */
static void tell(struct drive *d, double now, double worst, bool woken, bool constant,
                 bool before_end)
{
    press(d, OMO_SESSION_GO_ON);
    answer(d, 0); /* nothing new */
    answer(d, 0); /* the morning after */
    answer(d, now);
    answer(d, worst);
    answer(d, woken ? 0 : 1);
    if (now > 0 || worst > 0) {
        answer(d, constant ? 0 : 1);
        answer(d, before_end ? 0 : 1);
    }
    press(d, OMO_SESSION_GO_ON); /* what kind of day */
}

static const struct omo_step_row *row_of(const struct drive *d, const char *step)
{
    for (int i = d->step_count - 1; i >= 0; i--)
        if (!strcmp(d->step[i].step, step))
            return &d->step[i];
    return NULL;
}

static const struct omo_note_row *note_of(const struct drive *d, const char *item)
{
    for (int i = d->note_count - 1; i >= 0; i--)
        if (!strcmp(d->note[i].item, item))
            return &d->note[i];
    return NULL;
}

static void see_result(const struct drive *d, const char *step, const char *result)
{
    const struct omo_step_row *row = row_of(d, step);
    ck_assert_msg(row != NULL, "\"%s\" has no row", step);
    ck_assert_msg(!strcmp(row->result, result), "\"%s\" is %s (%s), not %s", step,
                  row->result, row->reason, result);
}

/** Goes on until the named step's first page is shown, or the session is over. */
static bool skip_to(struct drive *d, const char *name)
{
    for (int i = 0; i < 100; i++) {
        const struct omo_session_page *p = page(d);
        if (p->need == OMO_NEED_NOTHING)
            return false;
        if (p->step && !strcmp(p->step->name, name))
            return true;
        if (p->step)
            press(d, p->offer.offered ? OMO_SESSION_SKIP : OMO_SESSION_GO_ON);
        else
            press(d, OMO_SESSION_GO_ON);
    }
    return false;
}

static void measured(struct drive *d, double deg)
{
    struct omo_session_measured m = {.status = OMO_OK,
                                     .id = "00112233445566778899aabbccddeeff",
                                     .mean_of_maxima_deg = deg,
                                     .max_deg = deg,
                                     .u95_deg = 3,
                                     .pain_onset_deg = NAN,
                                     .repetitions = 2};
    omo_session_measured(d->session, &m);
    take(d);
}

/* ---- a whole session -------------------------------------------------------------- */

/** A frame of a course that has taken neutral. */
static void frame(struct drive *d, double angle_deg, double u95_deg)
{
    struct omo_track_frame f = {.time_s = d->now_s};
    struct omo_live_view v = {.time_s = d->now_s,
                              .phase = OMO_PHASE_RAISE,
                              .angle_deg = angle_deg,
                              .angle_image_deg = angle_deg,
                              .angle_u95_deg = u95_deg,
                              .hike_ratio = 0,
                              .pain_onset_deg = NAN,
                              .pain_end_deg = NAN};
    omo_session_frame(d->session, &f, &v);
}

/** The arm goes from one angle to another at 30 degrees a second, or stays. */
static void move(struct drive *d, double from_deg, double to_deg, double seconds)
{
    for (double t_s = 0; t_s < seconds - 1e-9; t_s += 1.0 / 30) {
        double share = seconds > 0 ? t_s / seconds : 1;
        d->now_s += 1.0 / 30;
        frame(d, from_deg + (to_deg - from_deg) * share, 3);
        omo_session_time(d->session, d->now_s);
        take(d);
    }
}

START_TEST(a_calm_day_goes_through_every_step_and_writes_each_down)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    ck_assert(strstr(page(&d)->line[0], "not a medical device") != NULL);
    tell(&d, 1, 2, false, false, false);
    ck_assert_str_eq(page(&d)->step->name, "press");
    press(&d, OMO_SESSION_GO_ON);
    answer(&d, 5); /* tender before */
    ck_assert_int_eq(page(&d)->need, OMO_NEED_TIME);
    wait_s(&d, 4 + 30 + 1);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_SCALE);
    answer(&d, 3); /* tender after */
    see_result(&d, "press", "done");
    ck_assert_double_eq(row_of(&d, "press")->tenderness_before, 5);
    ck_assert_double_eq(row_of(&d, "press")->tenderness_after, 3);
    ck_assert_double_eq_tol(row_of(&d, "press")->held_s, 30, 0.3);

    ck_assert_str_eq(page(&d)->step->name, "swing");
    press(&d, OMO_SESSION_GO_ON);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_SWING);
    press(&d, OMO_SESSION_GO_ON); /* enough circles */
    answer(&d, 1);
    see_result(&d, "swing", "part"); /* no circle was seen */

    ck_assert_str_eq(page(&d)->step->name, "up");
    press(&d, OMO_SESSION_GO_ON);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_STAY);
    for (int reach = 0; reach < 2; reach++) {
        move(&d, 4, 4, 1);
        move(&d, 4, 90, 4);
        move(&d, 90, 90, 23); /* a rest of 20 s */
        ck_assert(strstr(page(&d)->instruction, "up a little") != NULL);
        move(&d, 90, 95, 1);
        move(&d, 95, 95, 22);
        ck_assert(strstr(page(&d)->instruction, "Lower") != NULL);
        move(&d, 95, 4, 4);
        move(&d, 4, 4, 2);
    }
    answer(&d, 2); /* sore at most */
    see_result(&d, "up", "done");
    ck_assert_double_eq_tol(row_of(&d, "up")->stop_deg, 95, 1);
    ck_assert_double_eq_tol(row_of(&d, "up")->gain_deg, 5, 1);
    ck_assert_int_eq(row_of(&d, "up")->repetitions, 2);

    /* The better side first. */
    press(&d, OMO_SESSION_GO_ON);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_MEASURE);
    ck_assert_int_eq(page(&d)->side, OMO_LEFT);
    measured(&d, 160);
    answer(&d, 0);
    press(&d, OMO_SESSION_GO_ON);
    ck_assert_int_eq(page(&d)->side, OMO_RIGHT);
    measured(&d, 110);
    answer(&d, 2);
    ck_assert_str_eq(row_of(&d, "far")->side, "right");
    ck_assert_str_eq(row_of(&d, "far")->measured, "00112233445566778899aabbccddeeff");

    ck_assert_int_eq(page(&d)->need, OMO_NEED_CHOICE);
    answer(&d, 2);
    ck_assert_ptr_nonnull(note_of(&d, "hand-behind-back"));
    ck_assert_int_eq(page(&d)->need, OMO_NEED_TEXT);
    ck_assert(omo_session_text(d.session, "slept well"));
    take(&d);
    ck_assert_str_eq(note_of(&d, "note")->text, "slept well");
    answer(&d, 2); /* after */
    ck_assert_int_eq(page(&d)->need, OMO_NEED_NOTHING);
    ck_assert_int_eq(omo_session_end(d.session), OMO_SESSION_DONE);
    ck_assert_str_eq(d.step[d.step_count - 1].result, "done");
    ck_assert_str_eq(d.step[d.step_count - 1].step, "");
    ck_assert_str_eq(d.step[0].result, "begun");
    finish(&d);
}
END_TEST

/* ---- how sore --------------------------------------------------------------------- */

START_TEST(a_sore_day_offers_comfort_alone)
{
    const struct {
        double now, worst;
        bool woken, constant, before_end;
    } sore[] = {{7, 7, false, false, false},
                {1, 8, false, false, false},
                {2, 3, false, true, false},
                {2, 3, false, false, true}};
    for (size_t i = 0; i < sizeof sore / sizeof sore[0]; i++) {
        struct drive d;
        begin(&d, whole);
        start(&d);
        tell(&d, sore[i].now, sore[i].worst, sore[i].woken, sore[i].constant,
             sore[i].before_end);
        ck_assert(skip_to(&d, "up") || row_of(&d, "up") != NULL);
        const struct omo_session_page *p = page(&d);
        if (p->step && !strcmp(p->step->name, "up") && p->offer.offered) {
            ck_assert(p->offer.comfort_only);
            ck_assert_int_eq(p->offer.ease_ups, 0);
            ck_assert(isnan(p->offer.target_deg));
        } else {
            see_result(&d, "up", "not-offered");
        }
        ck_assert(skip_to(&d, "far"));
        ck_assert(page(&d)->offer.comfort_only);
        ck_assert(isnan(page(&d)->offer.target_deg));
        finish(&d);
    }
}
END_TEST

START_TEST(what_is_not_answered_counts_as_sore)
{
    struct drive d;
    begin(&d, whole);
    d.settings.hands_free = true;
    d.settings.nothing_new = true;
    start(&d);
    wait_s(&d, 8 + 6 * 26 + 10);
    ck_assert_ptr_nonnull(page(&d)->step);
    ck_assert_int_eq(page(&d)->offer.sore, OMO_SORE_SORE);
    finish(&d);
}
END_TEST

START_TEST(a_middling_day_rests_shortly)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 3, 5, false, false, false);
    ck_assert(skip_to(&d, "up"));
    ck_assert_double_le(page(&d)->offer.hold_s, 15);
    ck_assert_double_ge(page(&d)->offer.hold_s, 5);
    finish(&d);
}
END_TEST

START_TEST(pain_at_the_limit_ends_the_step_and_what_follows_is_gentle)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    press(&d, OMO_SESSION_GO_ON);
    move(&d, 4, 60, 3);
    press(&d, OMO_SESSION_PAIN);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_SCALE);
    answer(&d, 4);
    ck_assert_str_eq(page(&d)->instruction, "Lower slowly, support the elbow, rest.");
    ck_assert(strstr(page(&d)->line[0], "do less and tell your practitioner") != NULL);
    see_result(&d, "up", "pain");
    ck_assert_double_eq(row_of(&d, "up")->pain_most, 4);
    press(&d, OMO_SESSION_GO_ON);
    ck_assert(skip_to(&d, "far"));
    ck_assert(page(&d)->offer.comfort_only);
    finish(&d);
}
END_TEST

START_TEST(a_rise_of_two_points_ends_the_step_below_the_limit_too)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    press(&d, OMO_SESSION_GO_ON);
    press(&d, OMO_SESSION_PAIN);
    answer(&d, 2);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_STAY); /* goes on */
    press(&d, OMO_SESSION_PAIN);
    answer(&d, 3);
    see_result(&d, "up", "pain");
    finish(&d);
}
END_TEST

START_TEST(a_pain_that_nobody_rates_ends_the_step_hands_free)
{
    struct drive d;
    begin(&d, whole);
    d.settings.hands_free = true;
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    press(&d, OMO_SESSION_GO_ON);
    press(&d, OMO_SESSION_PAIN);
    wait_s(&d, 21);
    see_result(&d, "up", "pain");
    finish(&d);
}
END_TEST

START_TEST(starting_at_the_limit_offers_comfort_alone)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 4, 4, false, false, false);
    ck_assert(skip_to(&d, "far"));
    ck_assert(page(&d)->offer.comfort_only);
    finish(&d);
}
END_TEST

/* ---- limits ----------------------------------------------------------------------- */

static void limit(struct drive *d, struct omo_limit *l, double ceiling_deg,
                  enum omo_allowed allowed, const char *until)
{
    memset(l, 0, sizeof *l);
    omo_text_copy(l->movement, sizeof l->movement, "flexion");
    omo_text_copy(l->side, sizeof l->side, "right");
    omo_text_copy(l->set_by, sizeof l->set_by, "surgeon");
    omo_text_copy(l->valid_until, sizeof l->valid_until, until);
    l->ceiling_deg = ceiling_deg;
    l->allowed = allowed;
    l->load_kg = NAN;
    d->person.limits = l;
    d->person.limit_count = 1;
}

START_TEST(no_path_leads_past_a_ceiling)
{
    /* An expired limit holds as one that is not. */
    const char *const until[] = {"", "2027-01-01", "2026-01-01"};
    for (int i = 0; i < 3; i++) {
        struct drive d;
        struct omo_limit l;
        begin(&d, whole);
        limit(&d, &l, 90, OMO_ALLOWED_ACTIVE, until[i]);
        start(&d);
        tell(&d, 1, 2, false, false, false);
        ck_assert(skip_to(&d, "up"));
        ck_assert_double_eq(page(&d)->offer.ceiling_deg, 90);
        ck_assert_double_le(page(&d)->offer.warn_deg, 87);
        press(&d, OMO_SESSION_GO_ON);
        move(&d, 4, 4, 1);
        move(&d, 4, 80, 4);
        ck_assert(!page(&d)->far_enough);
        move(&d, 80, 88, 1);
        ck_assert(page(&d)->far_enough);
        ck_assert_str_eq(page(&d)->instruction, "Far enough. Lower slowly.");
        /* Neither waiting nor any key brings an invitation to go up. */
        move(&d, 88, 88, 30);
        ck_assert_str_eq(page(&d)->instruction, "Far enough. Lower slowly.");
        press(&d, OMO_SESSION_BACK);
        ck_assert_str_eq(page(&d)->instruction, "Far enough. Lower slowly.");
        move(&d, 88, 4, 4);
        move(&d, 4, 4, 1);
        ck_assert(!page(&d)->far_enough);
        finish(&d);
    }
}
END_TEST

START_TEST(an_angle_that_is_good_to_less_is_warned_of_earlier)
{
    struct drive d;
    struct omo_limit l;
    begin(&d, whole);
    limit(&d, &l, 90, OMO_ALLOWED_ACTIVE, "");
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    press(&d, OMO_SESSION_GO_ON);
    frame(&d, 83, 8);
    ck_assert(page(&d)->far_enough);
    finish(&d);
}
END_TEST

START_TEST(what_a_surgeon_has_not_allowed_is_not_offered)
{
    struct drive d;
    struct omo_limit l;
    begin(&d, whole);
    limit(&d, &l, NAN, OMO_ALLOWED_NONE, "");
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(!skip_to(&d, "up") || !page(&d)->offer.offered);
    see_result(&d, "up", "not-offered");
    ck_assert(row_of(&d, "up")->reason[0] != '\0');
    finish(&d);
}
END_TEST

START_TEST(what_is_allowed_assisted_is_offered_assisted)
{
    struct drive d;
    struct omo_limit l;
    begin(&d, whole);
    limit(&d, &l, 100, OMO_ALLOWED_ASSISTED, "");
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    ck_assert(page(&d)->offer.assisted || !page(&d)->offer.offered);
    finish(&d);
}
END_TEST

START_TEST(after_surgery_a_movement_without_a_limit_is_not_offered)
{
    const unsigned history[] = {OMO_HISTORY_SURGERY, OMO_HISTORY_FRACTURE,
                                OMO_HISTORY_DISLOCATION, OMO_HISTORY_DEVICE_NEW};
    for (size_t i = 0; i < sizeof history / sizeof history[0]; i++) {
        struct drive d;
        begin(&d, whole);
        d.person.history = history[i];
        start(&d);
        tell(&d, 1, 2, false, false, false);
        skip_to(&d, "behind");
        see_result(&d, "up", "not-offered");
        finish(&d);
    }
}
END_TEST

START_TEST(pressing_is_not_offered_with_a_history_that_forbids_it)
{
    const unsigned history[] = {OMO_HISTORY_BLOOD_THINNERS, OMO_HISTORY_NODES_REMOVED,
                                OMO_HISTORY_RADIOTHERAPY,   OMO_HISTORY_CLOT,
                                OMO_HISTORY_LINE_ARM,       OMO_HISTORY_FRACTURE,
                                OMO_HISTORY_FRAGILE_BONE};
    for (size_t i = 0; i < sizeof history / sizeof history[0]; i++) {
        struct drive d;
        begin(&d, whole);
        d.person.history = history[i];
        start(&d);
        tell(&d, 1, 2, false, false, false);
        ck_assert(!page(&d)->offer.offered);
        see_result(&d, "press", "not-offered");
        finish(&d);
    }
}
END_TEST

START_TEST(a_sign_ends_pressing)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 1, 2, false, false, false);
    press(&d, OMO_SESSION_GO_ON);
    answer(&d, 3);
    wait_s(&d, 10);
    press(&d, OMO_SESSION_SIGN);
    answer(&d, 0);
    see_result(&d, "press", "sign");
    ck_assert_str_eq(row_of(&d, "press")->reason, "tingling");
    ck_assert_ptr_nonnull(note_of(&d, "sign"));
    finish(&d);
}
END_TEST

/* ---- red flags --------------------------------------------------------------------- */

static int flag_index(enum omo_urgency urgency)
{
    const struct omo_red_flag *flag;
    for (int i = 0; (flag = omo_red_flag_at(i)) != NULL; i++)
        if (flag->urgency == urgency)
            return i;
    return -1;
}

START_TEST(red_flags_end_the_session_or_make_it_gentle)
{
    const struct {
        enum omo_urgency urgency;
        int lists; /* pages that are passed before its own */
        bool stops;
    } flag[] = {{OMO_URGENCY_NOW, 0, true},
                {OMO_URGENCY_TODAY, 1, true},
                {OMO_URGENCY_DAYS, 2, false}};
    for (int i = 0; i < 3; i++) {
        struct drive d;
        ck_assert_int_ge(flag_index(flag[i].urgency), 0);
        begin(&d, whole);
        start(&d);
        press(&d, OMO_SESSION_GO_ON);
        ck_assert(strstr(page(&d)->instruction, "Anything new") != NULL);
        answer(&d, 2); /* show me the list */
        for (int list = 0; list < flag[i].lists; list++)
            press(&d, OMO_SESSION_GO_ON);
        ck_assert_int_eq(page(&d)->need, OMO_NEED_TICKS);
        answer(&d, 0);
        ck_assert_uint_eq(page(&d)->ticked, 1);
        press(&d, OMO_SESSION_GO_ON);
        ck_assert_int_eq(page(&d)->need, OMO_NEED_GO_ON);
        ck_assert(page(&d)->line_count > 0);
        ck_assert_ptr_nonnull(note_of(&d, "red-flag"));
        press(&d, OMO_SESSION_GO_ON);
        if (flag[i].stops) {
            ck_assert_int_eq(omo_session_end(d.session), OMO_SESSION_STOPPED);
            ck_assert_int_eq(d.step_count, 1);
            ck_assert_str_eq(d.step[0].result, "stopped");
        } else {
            for (int q = 0; q < 3; q++)
                answer(&d, 1);
            answer(&d, 1);
            answer(&d, 1);
            answer(&d, 1);
            press(&d, OMO_SESSION_GO_ON);
            ck_assert(skip_to(&d, "far"));
            ck_assert(page(&d)->offer.comfort_only);
        }
        finish(&d);
    }
}
END_TEST

START_TEST(the_whole_list_comes_first_and_after_a_gap_of_two_weeks)
{
    const struct {
        const char *last;
        bool whole;
    } gap[] = {{"", true}, {"2026-02-20", true}, {"2026-03-09", false}};
    for (int i = 0; i < 3; i++) {
        struct drive d;
        begin(&d, whole);
        d.settings.last_date = gap[i].last;
        start(&d);
        press(&d, OMO_SESSION_GO_ON);
        ck_assert_int_eq(page(&d)->need, gap[i].whole ? OMO_NEED_TICKS : OMO_NEED_CHOICE);
        finish(&d);
    }
}
END_TEST

START_TEST(a_fall_an_injection_or_an_operation_brings_the_whole_list)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    press(&d, OMO_SESSION_GO_ON);
    answer(&d, 1);
    ck_assert_int_eq(page(&d)->need, OMO_NEED_TICKS);
    finish(&d);
}
END_TEST

START_TEST(the_list_waits_for_an_answer_hands_free_too)
{
    struct drive d;
    begin(&d, whole);
    d.settings.hands_free = true;
    start(&d);
    wait_s(&d, 200);
    ck_assert(strstr(page(&d)->instruction, "Anything new") != NULL);
    finish(&d);
}
END_TEST

/* ---- the past ---------------------------------------------------------------------- */

static void past_of(struct omo_past *p, const char *date, const char *side,
                    const char *mode, double deg)
{
    memset(p, 0, sizeof *p);
    omo_text_copy(p->date, sizeof p->date, date);
    omo_text_copy(p->movement, sizeof p->movement, "flexion");
    omo_text_copy(p->side, sizeof p->side, side);
    omo_text_copy(p->mode, sizeof p->mode, mode);
    p->mean_of_maxima_deg = p->max_deg = deg;
    p->u95_deg = 3;
    p->pain_at_max = p->pain_after = 1;
    p->sore = OMO_SORE_CALM;
    p->comfortable = true;
}

START_TEST(a_range_that_fell_with_something_new_stops_the_programme)
{
    for (int new_sign = 0; new_sign < 2; new_sign++) {
        struct drive d;
        struct omo_past past[5];
        begin(&d, whole);
        for (int i = 0; i < 5; i++)
            past_of(&past[i], "2026-03-09", "right", "active", 120 + i);
        d.person.past = past;
        d.person.past_count = 5;
        start(&d);
        tell(&d, 1, 2, false, false, false);
        ck_assert(skip_to(&d, "far"));
        press(&d, OMO_SESSION_GO_ON);
        measured(&d, 90);
        ck_assert(strstr(page(&d)->instruction, "new pain, weakness or numbness") !=
                  NULL);
        answer(&d, new_sign ? 0 : 1);
        if (new_sign) {
            ck_assert_int_eq(page(&d)->need, OMO_NEED_TICKS);
            press(&d, OMO_SESSION_GO_ON);
            press(&d, OMO_SESSION_GO_ON);
            press(&d, OMO_SESSION_GO_ON);
            press(&d, OMO_SESSION_GO_ON);
            ck_assert_int_eq(omo_session_end(d.session), OMO_SESSION_STOPPED);
        } else {
            answer(&d, 1);
            ck_assert_int_ne(page(&d)->need, OMO_NEED_NOTHING);
        }
        see_result(&d, "far", "done");
        finish(&d);
    }
}
END_TEST

START_TEST(active_far_below_assisted_says_so)
{
    struct drive d;
    struct omo_past past;
    begin(&d, whole);
    past_of(&past, "2026-03-09", "right", "assisted", 140);
    d.person.past = &past;
    d.person.past_count = 1;
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "far"));
    press(&d, OMO_SESSION_GO_ON);
    measured(&d, 100);
    ck_assert(strstr(page(&d)->instruction, "Tell a clinician") != NULL);
    ck_assert(strstr(page(&d)->line[0], "assisted") != NULL);
    finish(&d);
}
END_TEST

START_TEST(todays_mark_is_the_median_and_gives_its_reason)
{
    struct drive d;
    struct omo_past past[3];
    begin(&d, whole);
    past_of(&past[0], "2026-03-09", "right", "active", 118);
    past_of(&past[1], "2026-03-08", "right", "active", 100);
    past_of(&past[2], "2026-03-07", "right", "active", 110);
    d.person.past = past;
    d.person.past_count = 3;
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    ck_assert_double_eq(page(&d)->offer.target_deg, 110);
    ck_assert(page(&d)->offer.why[0] != '\0');
    finish(&d);
}
END_TEST

/* ---- breaking off, and going on ---------------------------------------------------- */

START_TEST(enough_for_today_is_one_press_and_a_completed_day)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    press(&d, OMO_SESSION_GO_ON);
    press(&d, OMO_SESSION_ENOUGH);
    press(&d, OMO_SESSION_GO_ON);
    ck_assert_int_eq(omo_session_end(d.session), OMO_SESSION_WAS_ENOUGH);
    see_result(&d, "up", "part");
    ck_assert_str_eq(d.step[d.step_count - 1].result, "enough");
    finish(&d);
}
END_TEST

START_TEST(a_session_that_was_broken_off_goes_on_at_its_step)
{
    struct drive d;
    begin(&d, whole);
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "up"));
    press(&d, OMO_SESSION_GO_ON);
    move(&d, 4, 60, 2); /* and here the power goes */
    omo_session_destroy(d.session);
    int written = d.step_count;
    struct omo_step_row before[ROWS_MOST];
    memcpy(before, d.step, sizeof before);
    d.settings.begun = before;
    d.settings.begun_count = (size_t)written;
    d.settings.told = (struct omo_soreness){1, 2, 0, 0, 0};
    d.settings.nothing_new = true;
    d.step_count = 0;
    d.now_s = 0;
    start(&d);
    press(&d, OMO_SESSION_GO_ON);
    answer(&d, 0); /* the morning after */
    press(&d, OMO_SESSION_GO_ON);
    ck_assert_str_eq(page(&d)->step->name, "up");
    ck_assert_int_eq(d.step_count, 0); /* not begun a second time */
    finish(&d);
}
END_TEST

START_TEST(without_a_camera_it_goes_by_the_clock)
{
    struct drive d;
    begin(&d, whole);
    d.settings.camera = false;
    start(&d);
    tell(&d, 1, 2, false, false, false);
    ck_assert(skip_to(&d, "swing"));
    press(&d, OMO_SESSION_GO_ON);
    press(&d, OMO_SESSION_GO_ON); /* one way */
    press(&d, OMO_SESSION_GO_ON); /* the other */
    answer(&d, 1);
    see_result(&d, "swing", "done");
    press(&d, OMO_SESSION_GO_ON);
    for (int reach = 0; reach < 2; reach++) {
        ck_assert(strstr(page(&d)->instruction, "Reach") != NULL);
        press(&d, OMO_SESSION_GO_ON);
        wait_s(&d, 20.5);
        ck_assert(strstr(page(&d)->instruction, "up a little") != NULL);
        wait_s(&d, 20.5);
    }
    answer(&d, 1);
    see_result(&d, "up", "done");
    ck_assert_int_eq(row_of(&d, "up")->ease_ups, 2);
    see_result(&d, "far-other", "not-offered");
    finish(&d);
}
END_TEST

START_TEST(no_key_at_any_moment_breaks_it)
{
    /* Random presses and answers, thousands of them, from a fixed start. */
    unsigned random = 12345;
    for (int run = 0; run < 60; run++) {
        struct drive d;
        struct omo_limit l;
        begin(&d, whole);
        limit(&d, &l, 90, OMO_ALLOWED_ACTIVE, "");
        d.settings.hands_free = run % 2;
        d.settings.camera = run % 3;
        start(&d);
        for (int i = 0; i < 400 && page(&d)->need != OMO_NEED_NOTHING; i++) {
            random = random * 1664525u + 1013904223u;
            unsigned what = (random >> 16) % 12;
            if (what < 7 && what != OMO_SESSION_LEAVE && what != OMO_SESSION_ENOUGH)
                press(&d, (enum omo_session_press)what);
            else if (page(&d)->need == OMO_NEED_MEASURE)
                measured(&d, 80);
            else if (what < 10)
                omo_session_answer(d.session, (random >> 8) % 11);
            else
                wait_s(&d, 3);
            take(&d);
            const struct omo_session_page *p = page(&d);
            if (p->step && p->offer.offered && !strcmp(p->step->movement, "flexion") &&
                p->side == OMO_RIGHT) {
                ck_assert_double_le(p->offer.warn_deg, 87);
                ck_assert(isnan(p->offer.target_deg) || p->offer.target_deg <= 90);
            }
        }
        ck_assert_int_lt(d.step_count, ROWS_MOST);
        finish(&d);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("session");
    TCase *tests = tcase_create("session");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, a_calm_day_goes_through_every_step_and_writes_each_down);
    tcase_add_test(tests, a_sore_day_offers_comfort_alone);
    tcase_add_test(tests, what_is_not_answered_counts_as_sore);
    tcase_add_test(tests, a_middling_day_rests_shortly);
    tcase_add_test(tests, pain_at_the_limit_ends_the_step_and_what_follows_is_gentle);
    tcase_add_test(tests, a_rise_of_two_points_ends_the_step_below_the_limit_too);
    tcase_add_test(tests, a_pain_that_nobody_rates_ends_the_step_hands_free);
    tcase_add_test(tests, starting_at_the_limit_offers_comfort_alone);
    tcase_add_test(tests, no_path_leads_past_a_ceiling);
    tcase_add_test(tests, an_angle_that_is_good_to_less_is_warned_of_earlier);
    tcase_add_test(tests, what_a_surgeon_has_not_allowed_is_not_offered);
    tcase_add_test(tests, what_is_allowed_assisted_is_offered_assisted);
    tcase_add_test(tests, after_surgery_a_movement_without_a_limit_is_not_offered);
    tcase_add_test(tests, pressing_is_not_offered_with_a_history_that_forbids_it);
    tcase_add_test(tests, a_sign_ends_pressing);
    tcase_add_test(tests, red_flags_end_the_session_or_make_it_gentle);
    tcase_add_test(tests, the_whole_list_comes_first_and_after_a_gap_of_two_weeks);
    tcase_add_test(tests, a_fall_an_injection_or_an_operation_brings_the_whole_list);
    tcase_add_test(tests, the_list_waits_for_an_answer_hands_free_too);
    tcase_add_test(tests, a_range_that_fell_with_something_new_stops_the_programme);
    tcase_add_test(tests, active_far_below_assisted_says_so);
    tcase_add_test(tests, todays_mark_is_the_median_and_gives_its_reason);
    tcase_add_test(tests, enough_for_today_is_one_press_and_a_completed_day);
    tcase_add_test(tests, a_session_that_was_broken_off_goes_on_at_its_step);
    tcase_add_test(tests, without_a_camera_it_goes_by_the_clock);
    tcase_add_test(tests, no_key_at_any_moment_breaks_it);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
