/* The simulated camera, the tracker and the pendulum: circles from pictures. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/pendulum.h"
#include "omogon/simulated.h"
#include "omogon/vision.h"

#define TOL_DIAMETER 0.10

/** A scene and what is true of it. Small pictures and half as many:
 *  the circles are the same and take a fifth of the time. */
static const struct setting {
    const char *scene, *width, *height, *fps;
    enum omo_side side;
    bool band;
    double size_mm;
    int clockwise, counter_clockwise;
    double diameter_cm, grows_cm;
} settings[] = {
    {"pendulum-right", "800", "450", "15", OMO_RIGHT, false, 32, 5, 4, 32, 8},
    {"pendulum-left", "800", "450", "15", OMO_LEFT, true, 30, 0, 6, 34, 0},
};
#define TOL_GROWS_CM 2.5

static struct omo_source *open_scene(const struct setting *s)
{
    struct omo_source *source = NULL;
    struct omo_scene *scene = omo_scene_create();
    ck_assert_ptr_nonnull(scene);
    ck_assert_int_eq(omo_scene_load(scene, s->scene), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "width", s->width), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "height", s->height), OMO_OK);
    ck_assert_int_eq(omo_scene_set(scene, "fps", s->fps), OMO_OK);
    ck_assert_int_eq(omo_simulated_open(scene, &source), OMO_OK);
    omo_scene_destroy(scene);
    return source;
}

static struct omo_tracker *open_tracker(const struct setting *s)
{
    struct omo_tracker *tracker = NULL;
    struct omo_tracker_settings settings_of = {.body = true,
                                               .side = s->side,
                                               .view = OMO_VIEW_SIDE,
                                               .position = OMO_STANDING,
                                               .facing_left = s->side == OMO_LEFT,
                                               .needed =
                                                   1u << OMO_SHOULDER | 1u << OMO_ELBOW};
    ck_assert_int_eq(omo_set_load(s->band ? "bands" : "default", &settings_of.set),
                     OMO_OK);
    ck_assert_int_eq(omo_tracker_create(&settings_of, &tracker), OMO_OK);
    return tracker;
}

START_TEST(circles_of_a_scene_are_counted_from_its_pictures)
{
    const struct setting *s = &settings[_i];
    struct omo_source *source = open_scene(s);
    struct omo_tracker *tracker = open_tracker(s);
    struct omo_pendulum_settings with;
    struct omo_pendulum *pendulum = NULL;
    struct omo_pendulum_view view;
    struct omo_frame frame;
    omo_pendulum_settings_default(&with);
    with.wrist_mm = s->size_mm;
    with.band = s->band;
    with.picture_width = omo_source_info(source)->width;
    with.picture_height = omo_source_info(source)->height;
    ck_assert_int_eq(omo_pendulum_create(&with, &pendulum), OMO_OK);
    while (omo_source_next(source, false, &frame) == OMO_OK) {
        struct omo_track_frame tracked = {.index = frame.index, .time_s = frame.time_s};
        ck_assert_int_eq(omo_tracker_step(tracker, &frame, &tracked.markers), OMO_OK);
        omo_pendulum_step(pendulum, &tracked, &view);
    }
    omo_pendulum_finish(pendulum, &view);
    ck_assert_msg(view.clockwise == s->clockwise &&
                      view.counter_clockwise == s->counter_clockwise && view.unknown == 0,
                  "%s: %d/%d/%d counted, %.1f degrees off the plane, %.1f cm", s->scene,
                  view.clockwise, view.counter_clockwise, view.unknown,
                  view.camera_off_plane_deg, view.mean_diameter_cm);
    ck_assert_double_eq_tol(view.mean_diameter_cm, s->diameter_cm,
                            TOL_DIAMETER * s->diameter_cm);
    ck_assert_double_eq_tol(view.growth_cm, s->grows_cm, TOL_GROWS_CM);
    omo_pendulum_destroy(pendulum);
    omo_tracker_destroy(tracker);
    omo_source_destroy(source);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pendulum scenes");
    TCase *tc = tcase_create("scenes");
    tcase_set_timeout(tc, 280);
    tcase_add_loop_test(tc, circles_of_a_scene_are_counted_from_its_pictures, 0,
                        sizeof settings / sizeof settings[0]);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
