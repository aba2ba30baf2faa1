/* The simulated camera, the tracker and the live movement: from bytes to a course that
 * ends by itself. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/live.h"
#include "omogon/simulated.h"
#include "omogon/vision.h"

#define FRAMES_MAX 2000
/* The file's maximum is of the filtered angle, the live one of the angle as it is. */
#define TOL_MAX_DEG 0.5
/* Rest and trunk are read again until the arm is well up, where trunk markers show what
 * noise they have when nothing is before them. */
#define READ_AGAIN_S 1.6

static struct omo_live_view seen[FRAMES_MAX];
static struct omo_trace_row rows[FRAMES_MAX];
static struct omo_result result;

/** A scene and who is in it. Small pictures: the course is the same and takes a third of
 *  the time. */
static const struct setting {
    const char *scene, *movement;
    enum omo_side side;
    enum omo_position position;
    const char *rest_s; /* NULL: as the scene has it */
    int raises;
    enum omo_live_end end;
} settings[] = {
    {"live", "flexion", OMO_RIGHT, OMO_STANDING, NULL, 3, OMO_END_STILL},
    {"abduction-left", "abduction", OMO_LEFT, OMO_STANDING, "7", 2, OMO_END_NOT_YET},
    {"seated", "scaption", OMO_RIGHT, OMO_SEATED, "7", 2, OMO_END_NOT_YET},
    {"external-rotation", "external-rotation", OMO_RIGHT, OMO_STANDING, "7", 3,
     OMO_END_NOT_YET},
    {"supine", "flexion", OMO_RIGHT, OMO_SUPINE, "7", 2, OMO_END_NOT_YET},
};

enum { SETTING_COUNT = sizeof settings / sizeof settings[0] };

/** What runs. */
struct chain {
    struct omo_movement_table *table;
    struct omo_source *source;
    struct omo_tracker *tracker;
    struct omo_live *live;
    struct omo_live_settings settings;
};

static void open_scene(const struct setting *s, struct omo_source **source)
{
    struct omo_scene *scene = omo_scene_create();
    ck_assert_ptr_nonnull(scene);
    ck_assert_int_eq(omo_scene_load(scene, s->scene), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "width", "640"), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "height", "360"), OMO_OK);
    if (s->rest_s != NULL)
        ck_assert_int_eq(omo_scene_set(scene, "rest_s", s->rest_s), OMO_OK);
    ck_assert_int_eq(omo_simulated_open(scene, source), OMO_OK);
    omo_scene_destroy(scene);
}

static void open_chain(const struct setting *s, struct chain *chain)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &chain->table), OMO_OK);
    const struct omo_movement *movement = omo_movement_find(chain->table, s->movement);
    omo_live_settings_default(&chain->settings);
    struct omo_measure_settings *measure = &chain->settings.measure;
    measure->movement = movement;
    measure->side = s->side;
    measure->position = s->position;
    measure->facing_left = s->side == OMO_LEFT;
    ck_assert_int_eq(omo_live_create(&chain->settings, &chain->live), OMO_OK);
    struct omo_tracker_settings tracker = {.body = true,
                                           .side = measure->side,
                                           .view = movement->view,
                                           .position = measure->position,
                                           .facing_left = measure->facing_left,
                                           .needed = movement->needed};
    ck_assert_int_eq(omo_set_load("default", &tracker.set), OMO_OK);
    ck_assert_int_eq(omo_tracker_create(&tracker, &chain->tracker), OMO_OK);
    open_scene(s, &chain->source);
}

static void close_chain(struct chain *chain)
{
    omo_source_destroy(chain->source);
    omo_tracker_destroy(chain->tracker);
    omo_live_destroy(chain->live);
    omo_movement_table_destroy(chain->table);
}

/** Runs until the course or the scene ends; returns the number of frames. */
static size_t run(struct chain *chain)
{
    struct omo_frame frame;
    size_t count = 0;
    while (omo_source_next(chain->source, false, &frame) == OMO_OK) {
        struct omo_track_frame tracked = {.index = frame.index,
                                          .time_s = frame.time_s,
                                          .damaged = frame.damaged,
                                          .repeated = frame.repeated};
        ck_assert_uint_lt(count, FRAMES_MAX);
        ck_assert_int_eq(omo_tracker_step(chain->tracker, &frame, &tracked.markers),
                         OMO_OK);
        ck_assert_int_eq(omo_live_step(chain->live, &tracked, &seen[count]), OMO_OK);
        if (seen[count++].phase == OMO_PHASE_ENDED)
            break;
    }
    return count;
}

static size_t first_with(enum omo_live_event event, size_t count)
{
    for (size_t k = 0; k < count; k++) {
        if ((seen[k].events & (unsigned)event) != 0)
            return k;
    }
    ck_abort_msg("the event %#x never came", (unsigned)event);
}

START_TEST(a_scene_is_measured_without_a_hand)
{
    const struct setting *s = &settings[_i * OMO_STAGE_STEP];
    struct chain chain;
    open_chain(s, &chain);
    size_t count = run(&chain);
    const struct omo_live_view *last = &seen[count - 1];
    ck_assert_msg(last->raises == s->raises, "%s: %d raises", s->scene, last->raises);
    ck_assert_int_eq(last->end, s->end);
    size_t neutral = first_with(OMO_EVENT_NEUTRAL, count);
    ck_assert_double_eq_tol(seen[neutral].time_s, 6, 0.5);

    size_t kept;
    const struct omo_track_frame *frames = omo_live_frames(chain.live, 0, &kept);
    ck_assert_int_eq(omo_measure(&chain.settings.measure, frames, kept, rows, &result),
                     OMO_OK);
    ck_assert_int_eq(result.repetitions, last->raises);
    ck_assert_double_eq_tol(result.max_deg, last->best_deg, TOL_MAX_DEG);
    double from_s = seen[first_with(OMO_EVENT_RAISE_BEGAN, count)].time_s + READ_AGAIN_S;
    for (size_t k = 0; k < kept; k++) {
        const struct omo_live_view *view = &seen[rows[k].frame];
        double file_deg = rows[k].angle_image_deg;
        if (view->time_s < from_s)
            continue;
        ck_assert_msg(view->angle_image_deg == file_deg ||
                          (isnan(view->angle_image_deg) && isnan(file_deg)),
                      "%s: %.3f s: %.6f was shown, %.6f is in the file", s->scene,
                      view->time_s, view->angle_image_deg, file_deg);
    }
    close_chain(&chain);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live scenes");
    TCase *tc = tcase_create("scenes");
    tcase_set_timeout(tc, 280);
    tcase_add_loop_test(tc, a_scene_is_measured_without_a_hand, 0,
                        (SETTING_COUNT + OMO_STAGE_STEP - 1) / OMO_STAGE_STEP);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
