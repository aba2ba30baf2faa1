/* Both arms of one person, found at once in rendered scenes: which arm is which, and that
   neither takes what is the other's. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/vision.h"

#include "bench/score.h"
#include "scene_fixture.h"

/* 97 of a hundred visible markers are found, as in the accuracy table; our choice. */
#define LEAST_FOUND 0.97

/** Settings on top of a scene, ended by NULL. */
struct staged {
    const char *name, *scene;
    const char *change[12];
    const char *set;    /* NULL: the default colours */
    double least_found; /* 0: LEAST_FOUND */
};

/* The measured arm of a scene is the right one unless it says otherwise. */
static const struct staged stages[] = {
    {"to different heights", "both-raised", {NULL}, NULL, 0},
    {"one lags behind, with a chest", "both-lagging", {NULL}, NULL, 0},
    {"the left one is the measured one", "both-raised", {"side", "left", NULL}, NULL, 0},
    {"from behind", "both-raised", {"from_behind", "yes", NULL}, NULL, 0},
    {"mirrored", "both-raised", {"mirrored", "yes", NULL}, NULL, 0},
    {"from behind and mirrored",
     "both-raised",
     {"from_behind", "yes", "mirrored", "yes", NULL},
     NULL,
     0},
    {"one arm stays down", "both-arms", {NULL}, NULL, 0},
    {"seated", "both-raised", {"position", "seated", NULL}, NULL, 0},
    {"on the back", "both-raised", {"position", "supine", NULL}, NULL, 0},
    {"without a hip", "both-raised", {"markers", "shoulder elbow wrist", NULL}, NULL, 0},
    {"without wrists",
     "both-raised",
     {"markers", "shoulder elbow hip", "other_arm_markers", "shoulder elbow", NULL},
     NULL,
     0},
    {"a wrist on one side alone",
     "both-raised",
     {"other_arm_markers", "shoulder elbow", NULL},
     NULL,
     0},
    {"an elbow turned away on its way up",
     "both-raised",
     {"hide", "elbow 0.9-2.2", NULL},
     NULL,
     0},
    {"hands that meet over the head",
     "both-raised",
     {"arc_deg", "178", "other_arc_deg", "178", "elbow_deg", "50", NULL},
     NULL,
     0},
    {"lean to the other side", "both-raised", {"lean_deg", "15", NULL}, NULL, 0},
    /* Told apart by where each was a moment ago, and so by more pictures a second. */
    {"stickers in one colour",
     "both-raised",
     {"fps", "30", "one_colour", "40 170 70", NULL},
     "green",
     0},
    {"bands", "both-raised", {"shape", "band", NULL}, "bands", 0},
    {"someone else with the same stickers",
     "both-raised",
     {"second_person", "marked", NULL},
     NULL,
     0},
    {"a mirror", "both-raised", {"mirror", "yes", NULL}, NULL, 0},
    {"look-alikes", "both-raised", {"look_alikes", "4", NULL}, NULL, 0},
    {"fast",
     "both-raised",
     {"speed_deg_per_s", "200", "shutter_ratio", "0.5", NULL},
     NULL,
     0},
};
enum { STAGE_COUNT = sizeof stages / sizeof stages[0] };

static struct omo_tracker_settings settings_of(const struct staged *stage)
{
    struct omo_tracker_settings s = {.body = true,
                                     .view = OMO_VIEW_FRONT,
                                     .position = OMO_STANDING,
                                     .needed = 1u << OMO_SHOULDER | 1u << OMO_ELBOW};
    ck_assert_int_eq(omo_set_load(stage->set ? stage->set : "default", &s.set), OMO_OK);
    for (int i = 0; stage->change[i]; i += 2) {
        const char *value = stage->change[i + 1];
        if (strcmp(stage->change[i], "from_behind") == 0)
            s.from_behind = true;
        if (strcmp(stage->change[i], "mirrored") == 0)
            s.mirrored = true;
        if (strcmp(stage->change[i], "position") == 0)
            s.position = omo_position_from_name(value);
    }
    return s;
}

static bool left_measured(const struct staged *stage)
{
    for (int i = 0; stage->change[i]; i += 2)
        if (strcmp(stage->change[i], "side") == 0)
            return strcmp(stage->change[i + 1], "left") == 0;
    return false;
}

/* Runs a stage to its end; score[0] is the measured arm's. */
static void run_stage(const struct staged *stage, struct score score[2])
{
    struct scene_run run;
    const char *const brief[] = {"fps", "20", "rest_s", "0.6", "repetitions", "1", NULL};
    struct omo_tracker_settings settings = settings_of(stage);
    struct omo_pair *pair = NULL;
    int measured = left_measured(stage) ? OMO_LEFT : OMO_RIGHT;
    scene_run_open(&run, stage->scene, brief);
    scene_run_set(&run, stage->change);
    ck_assert_int_eq(omo_pair_create(&settings, &pair), OMO_OK);
    for (int i = 0; i < 2; i++)
        score_begin(&score[i], false);
    while (omo_source_next(run.source, false, &run.frame) == OMO_OK) {
        struct omo_markers found[2];
        ck_assert_int_eq(omo_pair_step(pair, &run.frame, found), OMO_OK);
        omo_simulated_truth(run.source, &run.truth);
        score_frame(&score[0], &found[measured], &run.truth);
        memcpy(run.truth.marker, run.truth.other_marker, sizeof run.truth.marker);
        score_frame(&score[1], &found[1 - measured], &run.truth);
    }
    omo_pair_destroy(pair);
    scene_run_close(&run);
}

START_TEST(each_arm_has_its_own_markers_and_none_of_the_others)
{
    const struct staged *stage = &stages[_i * OMO_STAGE_STEP];
    double least = stage->least_found > 0 ? stage->least_found : LEAST_FOUND;
    struct score score[2];
    run_stage(stage, score);
    for (int i = 0; i < 2; i++) {
        double found = score_found_ratio(&score[i]);
        const char *arm = i == 0 ? "measured" : "other";
        if (getenv("OMO_TEST_TELL"))
            printf("%s, %s arm: found %.4f, wrong %lld, %.3f deg\n", stage->name, arm,
                   found, (long long)score[i].wrong, score_angle_rms_deg(&score[i]));
        ck_assert_msg(score[i].wrong == 0, "%s, %s arm: %lld wrong", stage->name, arm,
                      (long long)score[i].wrong);
        ck_assert_msg(found >= least, "%s, %s arm: found %.4f", stage->name, arm, found);
        score_free(&score[i]);
    }
}
END_TEST

START_TEST(only_the_front_view_of_someone_upright_on_the_picture_has_two_arms)
{
    struct omo_pair *pair = NULL;
    struct omo_tracker_settings settings = settings_of(&stages[0]), wrong = settings;
    wrong.view = OMO_VIEW_SIDE;
    ck_assert_int_eq(omo_pair_create(&wrong, &pair), OMO_ERR_ARG);
    wrong = settings;
    wrong.position = OMO_SIDE_LYING;
    ck_assert_int_eq(omo_pair_create(&wrong, &pair), OMO_ERR_ARG);
    wrong = settings;
    wrong.body = false;
    ck_assert_int_eq(omo_pair_create(&wrong, &pair), OMO_ERR_ARG);
    wrong = settings;
    wrong.set.count = 0;
    ck_assert_int_eq(omo_pair_create(&wrong, &pair), OMO_ERR_ARG);
    ck_assert_int_eq(omo_pair_create(NULL, &pair), OMO_ERR_ARG);
    ck_assert_int_eq(omo_pair_create(&settings, NULL), OMO_ERR_ARG);
    ck_assert_ptr_null(pair);
    omo_pair_destroy(NULL);
    ck_assert_int_eq(omo_pair_step(NULL, NULL, NULL), OMO_ERR_ARG);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pair");
    TCase *words = tcase_create("settings"), *arms = tcase_create("arms");
    tcase_add_test(words,
                   only_the_front_view_of_someone_upright_on_the_picture_has_two_arms);
    tcase_set_timeout(arms, 300);
    tcase_add_loop_test(arms, each_arm_has_its_own_markers_and_none_of_the_others, 0,
                        (STAGE_COUNT + OMO_STAGE_STEP - 1) / OMO_STAGE_STEP);
    suite_add_tcase(suite, words);
    suite_add_tcase(suite, arms);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
