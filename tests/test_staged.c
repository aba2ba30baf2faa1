/* Situations staged before the simulated camera, through tracker, course and cues: each
 * brings its own cue in time, and good scenes bring none. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "cue_stage.h"

/* A cue comes and goes within this of its cause (include/omogon/live.h). */
#define CUE_LATE_S 2.0
/* and stays for at least this, less a frame. */
#define CUE_LEAST_S 1.5
#define FPS         "15"
#define FRAME_S     (1.0 / 15)

static const struct cue_plan flexion = {"flexion", OMO_RIGHT, OMO_STANDING, false, NULL};
static const struct cue_plan abduction_left = {"abduction", OMO_LEFT, OMO_STANDING, false,
                                               NULL};
static const struct cue_plan scaption_seated = {"scaption", OMO_RIGHT, OMO_SEATED, false,
                                                NULL};
static const struct cue_plan banded = {"flexion", OMO_RIGHT, OMO_STANDING, false,
                                       "bands"};
/* The person faces right; it was said that a left side is measured. */
static const struct cue_plan wrong_side = {"flexion", OMO_LEFT, OMO_STANDING, true, NULL};

/* Half the usual picture, so that rendering does not take most of the time; the stickers
 * are as large on it as usual ones are on a whole one. */
#define SMALL                                                                            \
    "width", "640", "height", "360", "fps", FPS, "sticker_mm", "50", "rest_s", "7.5"

/* How many of so many stages are played. */
#define STAGED(count) (((count) + OMO_STAGE_STEP - 1) / OMO_STAGE_STEP)

/** True while the cause is there. */
typedef bool cause(const struct cue_stage *stage);

static bool at_once(const struct cue_stage *stage)
{
    (void)stage;
    return true;
}

static bool after_3_s(const struct cue_stage *stage)
{
    return stage->time_s >= 3.0 - 1e-9;
}

static bool hidden(const struct cue_stage *stage)
{
    return stage->time_s >= 10.0 - 1e-9 && stage->time_s < 13.0 - 1e-9;
}

/* 1.4 s after the knock it stands still again, exactly. */
static bool shaking(const struct cue_stage *stage)
{
    return stage->time_s >= 3.0 - 1e-9 && stage->time_s < 4.4;
}

/* Truth, not what was measured. */
static bool leaning(const struct cue_stage *stage)
{
    return fabs(stage->truth.trunk_lean_deg) > 6.0;
}

static bool hitching(const struct cue_stage *stage)
{
    double natural = 0.10 * fmax(stage->truth.angle_deg - 30.0, 0.0) / 120.0;
    return stage->truth.hike_ratio - natural > 0.08;
}

/* By the closed form for an arm in a plane turned by 38 degrees: shorter than 0.85. */
static bool foreshortened(const struct cue_stage *stage)
{
    double a = stage->truth.angle_deg * M_PI / 180.0, p = 38.0 * M_PI / 180.0;
    return hypot(cos(a), sin(a) * cos(p)) < 0.85;
}

static bool arm_is_out(const struct cue_stage *stage)
{
    return stage->truth.angle_deg > 25.0;
}

static const struct situation {
    const char *name, *scene;
    const struct cue_plan *plan;
    enum omo_cue cue;
    cause *there;
    const char *settings[32];
} situations[] = {
    {"too near: only the shoulder is in the picture",
     "-",
     &flexion,
     OMO_CUE_STEP_BACK,
     at_once,
     {SMALL, "distance_m", "1.1", "seconds", "5", NULL}},
    {"too near: the raised hand will not fit",
     "-",
     &flexion,
     OMO_CUE_STEP_BACK,
     at_once,
     {SMALL, "distance_m", "1.9", "camera_height_m", "1.2", "seconds", "5", NULL}},
    {"too far",
     "-",
     &flexion,
     OMO_CUE_STEP_CLOSER,
     at_once,
     {SMALL, "width", "960", "height", "540", "sticker_mm", "32", "distance_m", "4.2",
      "seconds", "5", NULL}},
    {"too dark",
     "-",
     &flexion,
     OMO_CUE_TOO_DARK,
     after_3_s,
     {SMALL, "switch_s", "3", "switch_stops", "-4", "noise", "6", "seconds", "6", NULL}},
    {"over-exposed",
     "-",
     &flexion,
     OMO_CUE_TOO_BRIGHT,
     after_3_s,
     {SMALL, "switch_s", "3", "switch_stops", "2", "seconds", "6", NULL}},
    {"wrist hidden",
     "-",
     &flexion,
     OMO_CUE_WRIST_HIDDEN,
     hidden,
     {SMALL, "hold_s", "6", "hide", "wrist 10-13", "seconds", "15.5", NULL}},
    {"elbow hidden",
     "-",
     &flexion,
     OMO_CUE_ELBOW_HIDDEN,
     hidden,
     {SMALL, "hold_s", "6", "hide", "elbow 10-13", "seconds", "15.5", NULL}},
    {"hip hidden, the arm raised",
     "-",
     &flexion,
     OMO_CUE_HIP_HIDDEN,
     hidden,
     {SMALL, "hold_s", "6", "hide", "hip 10-13", "seconds", "15.5", NULL}},
    {"arm out of plane",
     "-",
     &flexion,
     OMO_CUE_OUT_OF_PLANE,
     foreshortened,
     {SMALL, "plane_deg", "38", "arc_deg", "95", "hold_s", "4", "speed_deg_per_s", "40",
      "seconds", "17", NULL}},
    {"trunk leaning",
     "-",
     &flexion,
     OMO_CUE_LEANING,
     leaning,
     {SMALL, "lean_deg", "14", "hold_s", "4", "seconds", "18", NULL}},
    {"shoulder hitching",
     "-",
     &flexion,
     OMO_CUE_HITCHING,
     hitching,
     {SMALL, "hike_ratio", "0.2", "hold_s", "4", "seconds", "18", NULL}},
    {"wrong side",
     "-",
     &wrong_side,
     OMO_CUE_WRONG_SIDE,
     arm_is_out,
     {SMALL, "hold_s", "4", "seconds", "18", NULL}},
    {"look-alike beside the arm",
     "look-alikes",
     &flexion,
     OMO_CUE_LOOK_ALIKE,
     at_once,
     {SMALL, "seconds", "5", NULL}},
    {"second person",
     "second-person",
     &flexion,
     OMO_CUE_SECOND_PERSON,
     at_once,
     {SMALL, "seconds", "5", NULL}},
    {"camera moved",
     "-",
     &flexion,
     OMO_CUE_CAMERA_MOVED,
     shaking,
     {SMALL, "bump_s", "3", "bump_px", "16", "seconds", "7", NULL}},
};
#define SITUATION_COUNT ((int)(sizeof situations / sizeof situations[0]))

/** When cause and cue were there. */
struct course_of_cue {
    double cause_s, end_s; /**< first and last frame with the cause */
    double shown_s, gone_s;
    double last_s;      /**< the clip's last frame */
    enum omo_cue other; /**< another one before it */
    double other_s;
};

static struct course_of_cue run(const struct situation *s)
{
    struct course_of_cue c = {NAN, NAN, NAN, NAN, NAN, OMO_CUE_NONE, NAN};
    struct cue_stage stage;
    cue_stage_open(&stage, s->plan, s->scene, s->settings);
    while (cue_stage_step(&stage)) {
        double t = c.last_s = stage.time_s;
        bool mine = stage.cue == s->cue;
        if (s->there(&stage)) {
            c.cause_s = isnan(c.cause_s) ? t : c.cause_s;
            c.end_s = t;
        }
        if (mine && isnan(c.shown_s))
            c.shown_s = t;
        if (!mine && !isnan(c.shown_s) && isnan(c.gone_s))
            c.gone_s = t;
        if (!mine && stage.cue != OMO_CUE_NONE && isnan(c.shown_s)) {
            c.other = stage.cue;
            c.other_s = t;
        }
    }
    cue_stage_close(&stage);
    return c;
}

START_TEST(a_situation_brings_its_own_cue_in_time_and_takes_it_away_in_time)
{
    const struct situation *s = &situations[_i * OMO_STAGE_STEP];
    struct course_of_cue c = run(s);
    ck_assert_msg(!isnan(c.cause_s), "%s: the cause never came", s->name);
    ck_assert_msg(isnan(c.other_s), "%s: %s came first, at %.2f s", s->name,
                  omo_cue_name(c.other), c.other_s);
    ck_assert_msg(c.shown_s >= c.cause_s && c.shown_s <= c.cause_s + CUE_LATE_S,
                  "%s: cause at %.2f s, %s at %.2f s", s->name, c.cause_s,
                  omo_cue_name(s->cue), c.shown_s);
    if (isnan(c.gone_s)) {
        ck_assert_msg(c.last_s < c.end_s + CUE_LATE_S, "%s: ended at %.2f s, never gone",
                      s->name, c.end_s);
        return;
    }
    ck_assert_msg(c.gone_s >= c.shown_s + CUE_LEAST_S - FRAME_S,
                  "%s: shown from %.2f to %.2f s", s->name, c.shown_s, c.gone_s);
    ck_assert_msg(c.gone_s > c.end_s && c.gone_s <= c.end_s + CUE_LATE_S,
                  "%s: ended at %.2f s, gone at %.2f s", s->name, c.end_s, c.gone_s);
}
END_TEST

static const struct {
    const char *scene;
    const struct cue_plan *plan;
} good[] = {
    {"plain", &flexion},
    {"good-light-420", &flexion},
    {"abduction-left", &abduction_left},
    {"seated", &scaption_seated},
    {"bands", &banded},
};
#define GOOD_COUNT ((int)(sizeof good / sizeof good[0]))

START_TEST(a_minute_of_a_good_scene_brings_no_cue)
{
    static const char *const minute[] = {"width",   "640", "height",      "360",
                                         "fps",     "10",  "sticker_mm",  "50",
                                         "rest_s",  "7.5", "repetitions", "20",
                                         "seconds", "60",  NULL};
    struct cue_stage stage;
    int raises = 0;
    int k = _i * OMO_STAGE_STEP;
    cue_stage_open(&stage, good[k].plan, good[k].scene, minute);
    while (cue_stage_step(&stage)) {
        ck_assert_msg(stage.cue == OMO_CUE_NONE, "%s: %s at %.2f s", good[k].scene,
                      omo_cue_name(stage.cue), stage.time_s);
        raises = stage.view.raises;
    }
    cue_stage_close(&stage);
    /* Seven or eight raises fit: the course was really there. */
    ck_assert_int_ge(raises, 6);
}
END_TEST

/* ---- what is asked about the surroundings ---- */

static const char *const crowded[] = {"second-person", "look-alikes", "mirror"};

START_TEST(asking_for_the_surroundings_changes_nothing_that_is_found)
{
    static const char *const short_one[] = {SMALL, "seconds", "3", "rest_s", "0.5", NULL};
    struct cue_stage asked, not_asked;
    cue_stage_open(&asked, &flexion, crowded[_i], short_one);
    cue_stage_open(&not_asked, &flexion, crowded[_i], short_one);
    not_asked.leave_surroundings = true;
    int found = 0;
    while (cue_stage_step(&asked)) {
        ck_assert(cue_stage_step(&not_asked));
        ck_assert_mem_eq(&asked.view.markers, &not_asked.view.markers,
                         sizeof asked.view.markers);
        found += asked.around.other_bodies + asked.around.look_alikes;
    }
    ck_assert_int_gt(found, 0);
    cue_stage_close(&asked);
    cue_stage_close(&not_asked);
}
END_TEST

START_TEST(the_own_other_arm_is_no_second_person)
{
    static const struct cue_plan abduction = {"abduction", OMO_RIGHT, OMO_STANDING, false,
                                              NULL};
    static const char *const settings[] = {SMALL, "seconds", "14", NULL};
    struct cue_stage stage;
    cue_stage_open(&stage, &abduction, "both-arms", settings);
    while (cue_stage_step(&stage))
        ck_assert_msg(stage.around.other_bodies == 0, "at %.2f s", stage.time_s);
    cue_stage_close(&stage);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("staged");
    TCase *staged = tcase_create("staged");
    tcase_set_timeout(staged, 240);
    tcase_add_loop_test(staged,
                        a_situation_brings_its_own_cue_in_time_and_takes_it_away_in_time,
                        0, STAGED(SITUATION_COUNT));
    tcase_add_loop_test(staged, a_minute_of_a_good_scene_brings_no_cue, 0,
                        STAGED(GOOD_COUNT));
    tcase_add_loop_test(staged, asking_for_the_surroundings_changes_nothing_that_is_found,
                        0, (int)(sizeof crowded / sizeof crowded[0]));
    tcase_add_test(staged, the_own_other_arm_is_no_second_person);
    suite_add_tcase(suite, staged);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
