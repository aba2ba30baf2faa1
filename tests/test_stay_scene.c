/* Reach and rest through all that runs live: simulated camera, tracker, movement, stops.
 */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/live.h"
#include "omogon/simulated.h"
#include "omogon/stay.h"
#include "omogon/vision.h"

/* What was asked for: recognised within 1 s, angle and gain within 1 degree. */
#define WITHIN_S 1.0
#define TOL_DEG  1.0

/* models/scenes/stay.ini: rest, raise of 82 degrees at 20 a second, three rests of 6 s
 * with two times 2 s of easing up by 5 degrees between them, and down. */
#define SCENE_DEG   85.0
#define SCENE_EASE  5.0
#define SCENE_UP_S  (7.5 + 82.0 / 20.0)
#define SCENE_ONE_S 8.0
#define STOPS       3

static struct omo_movement_table *table;
static struct omo_tracker *tracker;
static struct omo_source *source;
static struct omo_live *live;
static struct omo_stay *stay;
static struct omo_live_settings course;

static void open_scene(void)
{
    struct omo_scene *scene = omo_scene_create();
    ck_assert_ptr_nonnull(scene);
    ck_assert_int_eq(omo_scene_load(scene, "stay"), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "width", "640"), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "height", "360"), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "fps", "20"), OMO_OK);
    ck_assert_int_eq(omo_simulated_open(scene, &source), OMO_OK);
    omo_scene_destroy(scene);
}

static void open_chain(void)
{
    struct omo_stay_settings stops;
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    omo_live_settings_default(&course);
    course.measure.movement = omo_movement_find(table, "flexion");
    course.end_still_s = 600; /* a rest at a stop ends nothing ... */
    course.pause_s = 0;       /* ... and marks no pain */
    ck_assert_int_eq(omo_live_create(&course, &live), OMO_OK);
    struct omo_tracker_settings settings = {.body = true,
                                            .side = OMO_RIGHT,
                                            .view = OMO_VIEW_SIDE,
                                            .position = OMO_STANDING,
                                            .needed = course.measure.movement->needed};
    ck_assert_int_eq(omo_set_load("default", &settings.set), OMO_OK);
    ck_assert_int_eq(omo_tracker_create(&settings, &tracker), OMO_OK);
    omo_stay_settings_default(&stops);
    ck_assert_int_eq(omo_stay_create(&stops, &stay), OMO_OK);
    open_scene();
}

static void close_chain(void)
{
    omo_source_destroy(source);
    omo_tracker_destroy(tracker);
    omo_live_destroy(live);
    omo_stay_destroy(stay);
    omo_movement_table_destroy(table);
}

/** The next frame through all of it; false at the scene's end. */
static bool step(struct omo_stay_view *view)
{
    struct omo_frame frame;
    struct omo_live_view now;
    if (omo_source_next(source, false, &frame) != OMO_OK)
        return false;
    struct omo_track_frame tracked = {.index = frame.index, .time_s = frame.time_s};
    ck_assert_int_eq(omo_tracker_step(tracker, &frame, &tracked.markers), OMO_OK);
    ck_assert_int_eq(omo_live_step(live, &tracked, &now), OMO_OK);
    omo_stay_step(stay, now.time_s, now.angle_deg,
                  omo_excess_hike_ratio(&course.measure, now.angle_deg, now.hike_ratio),
                  view);
    return true;
}

START_TEST(stops_gains_and_a_settling_shoulder_are_seen_live)
{
    struct omo_stay_view view = {0};
    double stop_deg[STOPS] = {0}, gain_deg[STOPS] = {0}, settled_s = NAN;
    int seen = 0;
    open_chain();
    while (step(&view)) {
        if (view.stop_began) {
            double due_s = SCENE_UP_S + seen * SCENE_ONE_S;
            ck_assert_int_lt(seen, STOPS);
            ck_assert_msg(view.time_s < due_s + WITHIN_S && view.time_s > due_s - 1,
                          "stop %d at %.2f s, due at %.2f s", seen, view.time_s, due_s);
            seen++;
        }
        if (view.phase == OMO_STAY_STOPPED) {
            stop_deg[seen - 1] = view.stop_deg;
            gain_deg[seen - 1] = view.gain_deg;
        }
        if (view.settled && isnan(settled_s))
            settled_s = view.time_s;
    }
    ck_assert_int_eq(seen, STOPS);
    for (int i = 0; i < STOPS; i++) {
        ck_assert_double_eq_tol(stop_deg[i], SCENE_DEG + i * SCENE_EASE, TOL_DEG);
        ck_assert_double_eq_tol(gain_deg[i], i * SCENE_EASE, TOL_DEG);
    }
    /* Hitched by a quarter of the upper arm, it is down again 3 s after the arm's stop;
     * settled is said once it has been low for 1 s. */
    ck_assert_double_gt(settled_s, SCENE_UP_S + 1.5);
    ck_assert_double_lt(settled_s, SCENE_UP_S + 4.5);
    ck_assert_int_eq(view.phase, OMO_STAY_DOWN);
    ck_assert_int_eq(view.reaches, 1);
    close_chain();
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("stay scene");
    TCase *scenes = tcase_create("scene");
    tcase_set_timeout(scenes, 600);
    tcase_add_test(scenes, stops_gains_and_a_settling_shoulder_are_seen_live);
    suite_add_tcase(suite, scenes);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
