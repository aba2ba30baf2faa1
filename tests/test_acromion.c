/* A second sticker of the shoulder's colour above it: told from the shoulder's, and what
   the shoulder's rise is measured by. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/log.h"
#include "omogon/motion.h"
#include "omogon/vision.h"

#include "bench/score.h"
#include "scene_fixture.h"

enum { FRAMES_MAX = 600 };
#define LEAST_FOUND 0.97

static struct omo_track_frame frames[FRAMES_MAX];
static struct omo_trace_row rows[FRAMES_MAX];
static double true_hike[FRAMES_MAX];

struct staged {
    const char *name;
    const char *change[14];
    double least_found; /* 0: LEAST_FOUND */
};
#define BANDS "shape", "band", "sticker_mm", "30", "acromion_colour", "140 50 205"
static const struct staged stages[] = {
    {"from the front", {NULL}, 0},
    {"from the side", {"movement", "flexion", NULL}, 0},
    {"a left arm", {"side", "left", NULL}, 0},
    {"from behind, mirrored", {"from_behind", "yes", "mirrored", "yes", NULL}, 0},
    {"near the shoulder's", {"acromion_mm", "36", NULL}, 0},
    {"far from the shoulder's", {"acromion_mm", "65", NULL}, 0},
    {"the acromion turned away for a while", {"hide", "acromion 0.9-2.5", NULL}, 0},
    {"the shoulder turned away for a while", {"hide", "shoulder 0.9-2.5", NULL}, 0.9},
    {"both turned away, the shoulder longer",
     {"hide", "shoulder 0.9-3, acromion 0.9-2", NULL},
     0.9},
    {"not worn at all", {"markers", "shoulder elbow wrist hip", NULL}, 0},
    {"no hip, the shoulder turned away",
     {"markers", "shoulder elbow wrist acromion", "hide", "shoulder 0.9-2.5", NULL},
     0.9},
    {"look-alikes", {"look_alikes", "5", NULL}, 0},
    {"someone else with the same stickers", {"second_person", "marked", NULL}, 0},
    {"a mirror", {"mirror", "yes", NULL}, 0},
    {"a helper's hand on the shoulder", {"helper", "shoulder 1.2-2.2", NULL}, 0.9},
    {"over a band", {BANDS, NULL}, 0},
    {"over a band, from the side", {BANDS, "movement", "flexion", NULL}, 0},
    {"low, over a band", {BANDS, "acromion_mm", "15", NULL}, 0},
};
enum { STAGE_COUNT = sizeof stages / sizeof stages[0] };

static bool changed(const struct staged *stage, const char *name, const char *value)
{
    for (int i = 0; stage->change[i]; i += 2)
        if (strcmp(stage->change[i], name) == 0 &&
            strcmp(stage->change[i + 1], value) == 0)
            return true;
    return false;
}

static bool is_band(const struct staged *stage)
{
    return changed(stage, "shape", "band");
}

static struct omo_tracker_settings settings_of(const struct staged *stage)
{
    struct omo_tracker_settings s = {
        .body = true,
        .side = changed(stage, "side", "left") ? OMO_LEFT : OMO_RIGHT,
        .view = changed(stage, "movement", "flexion") ? OMO_VIEW_SIDE : OMO_VIEW_FRONT,
        .position = OMO_STANDING,
        .from_behind = changed(stage, "from_behind", "yes"),
        .mirrored = changed(stage, "mirrored", "yes"),
        .needed = 1u << OMO_SHOULDER | 1u << OMO_ELBOW,
    };
    ck_assert_int_eq(omo_set_load(is_band(stage) ? "bands-acromion" : "acromion", &s.set),
                     OMO_OK);
    return s;
}

/* Runs a stage; returns how many frames were kept. */
static size_t run_stage(const struct staged *stage, struct score *score)
{
    const char *const brief[] = {"fps", "20", "rest_s", "1.2", "repetitions", "1", NULL};
    struct omo_tracker_settings settings = settings_of(stage);
    struct omo_tracker *tracker = NULL;
    struct scene_run run;
    size_t count = 0;
    scene_run_open(&run, "acromion", brief);
    scene_run_set(&run, stage->change);
    ck_assert_int_eq(omo_tracker_create(&settings, &tracker), OMO_OK);
    score_begin(score, false);
    while (count < FRAMES_MAX &&
           omo_source_next(run.source, false, &run.frame) == OMO_OK) {
        frames[count] = (struct omo_track_frame){.index = run.frame.index,
                                                 .time_s = run.frame.time_s};
        ck_assert_int_eq(omo_tracker_step(tracker, &run.frame, &frames[count].markers),
                         OMO_OK);
        omo_simulated_truth(run.source, &run.truth);
        score_frame(score, &frames[count].markers, &run.truth);
        true_hike[count++] = run.truth.hike_ratio;
    }
    omo_tracker_destroy(tracker);
    scene_run_close(&run);
    return count;
}

START_TEST(neither_is_taken_for_the_other)
{
    const struct staged *stage = &stages[_i * OMO_STAGE_STEP];
    double least = stage->least_found > 0 ? stage->least_found : LEAST_FOUND;
    struct score score;
    run_stage(stage, &score);
    double found = score_found_ratio(&score);
    if (getenv("OMO_TEST_TELL"))
        printf("%s: found %.4f, wrong %lld\n", stage->name, found,
               (long long)score.wrong);
    ck_assert_msg(score.wrong == 0, "%s: %lld wrong", stage->name,
                  (long long)score.wrong);
    ck_assert_msg(found >= least, "%s: found %.4f", stage->name, found);
    score_free(&score);
}
END_TEST

/* RMS of the hike against the joint's own rise, over the frames that have one. */
static double hike_error(const struct staged *stage, bool by_acromion, size_t *used)
{
    const bool band = is_band(stage);
    struct omo_movement_table *table = NULL;
    struct omo_measure_settings s;
    struct omo_result result;
    struct score score;
    double sum = 0;
    size_t count = run_stage(stage, &score);
    score_free(&score);
    for (size_t k = 0; k < count && !by_acromion; k++)
        frames[k].markers.role[OMO_ACROMION].seen = OMO_NOT_SEEN;
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    omo_measure_settings_default(&s);
    s.band[OMO_SHOULDER] = s.band[OMO_ELBOW] = s.band[OMO_WRIST] = band;
    s.movement = omo_movement_find(table, "abduction");
    s.picture_width = 1280;
    s.picture_height = 720;
    ck_assert_int_eq(omo_measure(&s, frames, count, rows, &result), OMO_OK);
    *used = 0;
    for (size_t k = 0; k < count; k++) {
        if (!isfinite(rows[k].hike_ratio))
            continue;
        sum += (rows[k].hike_ratio - true_hike[k]) * (rows[k].hike_ratio - true_hike[k]);
        ++*used;
    }
    omo_movement_table_destroy(table);
    return sqrt(sum / (double)*used);
}

/* A shoulder sticker on the bony edge turns with the blade under it and so sinks as the
 * arm rises; the acromion's does not. Two hundredths of the upper arm are 6 mm. */
START_TEST(hike_goes_by_the_acromion_where_it_is_worn)
{
    static const struct staged high = {"a high shoulder sticker",
                                       {"offset_mm", "30", "acromion_mm", "40",
                                        "breath_mm", "0", NULL},
                                       0};
    size_t by_both, by_shoulder;
    double shoulder = hike_error(&high, false, &by_shoulder);
    double acromion = hike_error(&high, true, &by_both);
    if (getenv("OMO_TEST_TELL"))
        printf("hike, RMS: by the shoulder's %.4f, by the acromion's %.4f\n", shoulder,
               acromion);
    ck_assert_uint_gt(by_both, by_shoulder * 9 / 10);
    ck_assert_double_lt(acromion, 0.02);
    ck_assert_double_lt(acromion, 0.7 * shoulder);
}
END_TEST

/* With a band the shoulder's rise is the acromion's alone: told by chest and hip as well
 * as without a band. A trunk that is told by the band itself leans with the arm. */
START_TEST(under_a_band_hike_is_the_acromions_and_else_empty)
{
    static const struct staged worn = {
        "a shoulder band", {BANDS, "acromion_mm", "40", "breath_mm", "0", NULL}, 0};
    size_t used, none;
    double error = hike_error(&worn, true, &used);
    if (getenv("OMO_TEST_TELL"))
        printf("hike under a band, RMS: %.4f in %zu frames\n", error, used);
    ck_assert_uint_gt(used, 50);
    ck_assert_double_lt(error, 0.02);
    hike_error(&worn, false, &none);
    ck_assert_uint_eq(none, 0);
}
END_TEST

START_TEST(frames_without_the_acromion_have_no_hike_rather_than_another_ones)
{
    static const struct staged hidden = {"hidden at the top",
                                         {"hide", "acromion 3.4-4", NULL},
                                         0};
    size_t used;
    hike_error(&hidden, true, &used);
    for (size_t k = 0; k < FRAMES_MAX && frames[k].time_s < 5; k++)
        if (frames[k].time_s > 3.5 && frames[k].time_s < 3.9)
            ck_assert(isnan(rows[k].hike_ratio) && isfinite(rows[k].angle_deg));
}
END_TEST

static void hush(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    *(char const **)user = strstr(text, "acromion");
}

START_TEST(a_set_in_which_it_could_be_any_marker_is_refused_with_a_sentence)
{
    static const enum omo_role shared[] = {OMO_ELBOW, OMO_WRIST, OMO_HIP};
    const char *said = NULL;
    omo_log_set_handler(hush, &said);
    for (int i = 0; i < 4; i++) {
        struct omo_tracker_settings s = settings_of(&stages[0]);
        struct omo_tracker *tracker = NULL;
        struct omo_set_entry *acromion = &s.set.entry[s.set.count - 1];
        ck_assert_str_eq(acromion->name, "acromion");
        if (i < 3) {
            acromion->cb = s.set.entry[shared[i]].cb;
            acromion->cr = s.set.entry[shared[i]].cr;
            acromion->luma = s.set.entry[shared[i]].luma;
        } else {
            s.set.entry[OMO_SHOULDER].shape = OMO_BAND;
        }
        said = NULL;
        ck_assert_int_eq(omo_tracker_create(&s, &tracker), OMO_ERR_SETTINGS);
        ck_assert_ptr_null(tracker);
        ck_assert_ptr_nonnull(said);
    }
    struct omo_tracker_settings s = settings_of(&stages[0]);
    struct omo_pair *pair = NULL;
    said = NULL;
    ck_assert_int_eq(omo_pair_create(&s, &pair), OMO_ERR_SETTINGS);
    ck_assert_ptr_nonnull(said);
    omo_log_set_handler(NULL, NULL);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("acromion");
    TCase *told = tcase_create("told apart"), *hike = tcase_create("hike");
    tcase_set_timeout(told, 300);
    tcase_set_timeout(hike, 300);
    tcase_add_loop_test(told, neither_is_taken_for_the_other, 0,
                        (STAGE_COUNT + OMO_STAGE_STEP - 1) / OMO_STAGE_STEP);
    tcase_add_test(told,
                   a_set_in_which_it_could_be_any_marker_is_refused_with_a_sentence);
    tcase_add_test(hike, hike_goes_by_the_acromion_where_it_is_worn);
    tcase_add_test(hike, under_a_band_hike_is_the_acromions_and_else_empty);
    tcase_add_test(hike,
                   frames_without_the_acromion_have_no_hike_rather_than_another_ones);
    suite_add_tcase(suite, told);
    suite_add_tcase(suite, hike);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
