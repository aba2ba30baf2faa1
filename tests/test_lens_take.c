/* Measuring through a lens: what a bent and tilted picture shows is measured as a
 * straight and level one is, in files and live. */
#include <math.h>
#include <string.h>

#include <check.h>

#include "lens_fixture.h"
#include "omogon/live.h"
#include "take_fixture.h"

/* Undistorting is good to 1e-9 px of a segment of about 100. */
#define TOL_DEG 1e-6

static struct omo_track_frame plain[FRAMES_MAX];
static struct omo_trace_row plain_rows[FRAMES_MAX];
static struct omo_lens lens;

/** Where this camera shows what a straight, level one shows at p. */
static struct omo_point seen_at(struct omo_point p)
{
    return shown(&lens, (p.x - lens.value[OMO_LENS_CX]) / lens.value[OMO_LENS_FX],
                 (p.y - lens.value[OMO_LENS_CY]) / lens.value[OMO_LENS_FX], 1);
}

static void bend_frames(void)
{
    for (size_t k = 0; k < count; k++)
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            struct omo_marker *m = &frames[k].markers.role[role];
            struct omo_point at = seen_at((struct omo_point){m->x_px, m->y_px});
            m->x_px = at.x;
            m->y_px = at.y;
        }
}

/** Films, measures as it is into plain_rows, bends the frames, gives the settings the
 *  lens. */
static void film_both(const struct figure *figure, double roll_deg, double pitch_deg)
{
    lens = webcam();
    lens.roll_deg = roll_deg;
    lens.pitch_deg = pitch_deg;
    lens.roll_u_deg = lens.pitch_u_deg = 0.1;
    film(figure);
    lens.width = settings.picture_width;
    lens.height = settings.picture_height;
    ck_assert(omo_lens_valid(&lens));
    ck_assert_int_eq(measure(), OMO_OK);
    memcpy(plain, frames, sizeof plain);
    memcpy(plain_rows, rows, sizeof plain_rows);
    bend_frames();
}

static double worst_deg(void)
{
    double worst = 0;
    for (size_t k = 0; k < count; k++) {
        ck_assert_int_eq(isnan(rows[k].angle_deg), isnan(plain_rows[k].angle_deg));
        if (isnan(rows[k].angle_deg))
            continue;
        worst = fmax(worst, fabs(rows[k].angle_deg - plain_rows[k].angle_deg));
        worst = fmax(worst,
                     fabs(rows[k].angle_vertical_deg - plain_rows[k].angle_vertical_deg));
    }
    return worst;
}

static const struct {
    const char *movement;
    bool chest, hip;
} figures[] = {
    {"flexion", false, true},
    {"flexion", true, true},
    {"abduction", true, true},
    {"flexion", false, false},
};
#define FIGURES ((int)(sizeof figures / sizeof figures[0]))

static struct figure figure_of(int i)
{
    return (struct figure){.movement = figures[i].movement,
                           .side = OMO_RIGHT,
                           .hip = figures[i].hip,
                           .chest = figures[i].chest,
                           .wrist = true,
                           .elbow_flexion_deg = 20,
                           .rest_deg = 4,
                           .top_deg = 140,
                           .lean_deg = 5,
                           .hike_mm = 20};
}

START_TEST(angles_through_a_lens_are_those_without_it)
{
    struct figure figure = figure_of(_i);
    film_both(&figure, 3, 14);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_msg(worst_deg() > 1, "the lens bends too little to test anything");
    settings.lens = &lens;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_lt(worst_deg(), TOL_DEG);
    ck_assert_double_eq_tol(rows[5].elbow_flexion_deg, plain_rows[5].elbow_flexion_deg,
                            TOL_DEG);
}
END_TEST

START_TEST(markers_stay_as_the_camera_sent_them)
{
    struct figure figure = figure_of(1);
    film_both(&figure, 3, 14);
    settings.lens = &lens;
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        for (int role = 0; role < OMO_ROLE_COUNT; role++)
            if (frames[k].markers.role[role].seen != OMO_NOT_SEEN)
                ck_assert(rows[k].markers.role[role].x_px ==
                              frames[k].markers.role[role].x_px &&
                          rows[k].markers.role[role].y_px ==
                              frames[k].markers.role[role].y_px);
}
END_TEST

/* Over a person who lies on the back the camera looks down: its level is none. */
START_TEST(a_camera_that_looks_down_is_not_levelled)
{
    struct figure figure = figure_of(2);
    figure.position = OMO_SUPINE;
    film_both(&figure, 0, 0);
    lens.roll_deg = 12;
    settings.lens = &lens;
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_double_eq_tol(rows[k].angle_deg, plain_rows[k].angle_deg, TOL_DEG);
}
END_TEST

START_TEST(live_measures_through_the_lens_as_well)
{
    struct figure figure = figure_of(_i);
    figure.rest_s = 8; /* long enough for neutral */
    film_both(&figure, -4, 10);
    static double plain_deg[FRAMES_MAX];
    for (int with_lens = 0; with_lens < 2; with_lens++) {
        struct omo_live_settings live_settings;
        struct omo_live *live = NULL;
        struct omo_live_view view;
        size_t angles = 0;
        omo_live_settings_default(&live_settings);
        live_settings.measure = settings;
        live_settings.measure.lens = with_lens ? &lens : NULL;
        ck_assert_int_eq(omo_live_create(&live_settings, &live), OMO_OK);
        for (size_t k = 0; k < count; k++) {
            const struct omo_track_frame *frame = with_lens ? &frames[k] : &plain[k];
            ck_assert_int_eq(omo_live_step(live, frame, &view), OMO_OK);
            ck_assert(view.markers.role[OMO_ELBOW].x_px ==
                      frame->markers.role[OMO_ELBOW].x_px);
            if (!with_lens) {
                plain_deg[k] = view.angle_image_deg;
                continue;
            }
            ck_assert_int_eq(isnan(plain_deg[k]), isnan(view.angle_image_deg));
            if (isnan(plain_deg[k]))
                continue;
            ck_assert_double_eq_tol(view.angle_image_deg, plain_deg[k], TOL_DEG);
            angles++;
        }
        if (with_lens)
            ck_assert_uint_gt(angles, 200);
        omo_live_destroy(live);
    }
}
END_TEST

START_TEST(a_lens_that_does_not_fit_is_refused)
{
    struct figure figure = figure_of(0);
    film_both(&figure, 0, 0);
    struct omo_lens other = lens;
    settings.lens = &other;
    other.width += 2;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
    other = lens;
    other.value[OMO_LENS_FX] = NAN;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lens take");
    TCase *tcase = tcase_create("lens take");
    tcase_set_timeout(tcase, 60);
    tcase_add_unchecked_fixture(tcase, load_table, drop_table);
    tcase_add_loop_test(tcase, angles_through_a_lens_are_those_without_it, 0, FIGURES);
    tcase_add_test(tcase, markers_stay_as_the_camera_sent_them);
    tcase_add_test(tcase, a_camera_that_looks_down_is_not_levelled);
    tcase_add_loop_test(tcase, live_measures_through_the_lens_as_well, 0, FIGURES);
    tcase_add_test(tcase, a_lens_that_does_not_fit_is_refused);
    suite_add_tcase(suite, tcase);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
