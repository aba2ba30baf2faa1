/* Figures: what is drawn where, and the head that is covered. */
#include <check.h>
#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "draw/directions.h"
#include "draw/head.h"
#include "drawn_body.h"
#include "omogon/draw.h"

static const double TOL_DEG = 1e-9;

static const struct omo_layout proportions = {
    .upper_arm = 0.186,
    .forearm = 0.146,
    .half_shoulder_width = 0.129,
    .shoulder_height = 0.818,
    .hip_height = 0.530,
};

/** The whole picture turned about its corner, as for somebody lying down. */
static void turn_body(struct body *b, double clockwise_deg)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        struct omo_marker *m = &b->row.markers.role[i];
        struct omo_point p =
            omo_turned_point((struct omo_point){m->x_px - 600, m->y_px - 320},
                             clockwise_deg);
        m->x_px = 600 + p.x;
        m->y_px = 320 + p.y;
    }
    b->up = omo_turned_point(b->up, clockwise_deg);
    b->ahead = omo_turned_point(b->ahead, clockwise_deg);
}

/* ---- figures ---- */

START_TEST(contrast_is_that_of_the_guidelines)
{
    ck_assert_double_eq_tol(omo_contrast_ratio(0xffffffff, 0xff000000), 21, 1e-9);
    ck_assert_double_eq_tol(omo_contrast_ratio(0xff123456, 0xff123456), 1, 1e-9);
    // The lightest grey that passes on white, a known value.
    ck_assert_double_eq_tol(omo_contrast_ratio(0xff767676, 0xffffffff), 4.54, 0.005);
}
END_TEST

START_TEST(figure_keeps_its_own_copy_of_points_and_text)
{
    struct omo_figure *figure = omo_figure_create(10, 10);
    struct omo_point points[2] = {{1, 2}, {3, 4}};
    char text[] = "arm";
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                              .points = points,
                                              .count = 2,
                                              .text = text});
    points[1].x = 99;
    text[0] = 'x';
    ck_assert_uint_eq(omo_figure_count(figure), 1);
    ck_assert_double_eq_tol(omo_figure_at(figure, 0)->points[1].x, 3, 1e-12);
    ck_assert_str_eq(omo_figure_at(figure, 0)->text, "arm");
    omo_figure_destroy(figure);
    omo_figure_destroy(NULL);
}
END_TEST

START_TEST(painted_mark_lies_where_the_figure_says)
{
    uint32_t pixels[40 * 20];
    memset(pixels, 0, sizeof pixels);
    struct omo_figure *figure = omo_figure_create(40, 20);
    // A square whose corners are pixel corners: pixels 10..19 and 5..9, sharp.
    struct omo_point square[4] = {{9.5, 4.5}, {19.5, 4.5}, {19.5, 9.5}, {9.5, 9.5}};
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                              .points = square,
                                              .count = 4,
                                              .colour = 0xff11aa33});
    ck_assert_int_eq(omo_figure_paint(figure, pixels, 40, 20, 40), OMO_OK);
    for (int y = 0; y < 20; y++)
        for (int x = 0; x < 40; x++) {
            uint32_t want = x >= 10 && x < 20 && y >= 5 && y < 10 ? 0x11aa33 : 0;
            ck_assert_msg((pixels[y * 40 + x] & 0xffffff) == want, "pixel %d, %d is %06x",
                          x, y, pixels[y * 40 + x] & 0xffffff);
        }
    ck_assert_int_eq(omo_figure_paint(figure, NULL, 40, 20, 40), OMO_ERR_ARG);
    ck_assert_int_eq(omo_figure_paint(figure, pixels, 40, 20, 39), OMO_ERR_ARG);
    omo_figure_destroy(figure);
}
END_TEST

/* ---- directions ---- */

static const struct {
    const char *name;
    const struct omo_movement *movement;
    bool left, behind, facing_left, mirrored;
    double x_sign, angle_deg;
} turns[] = {
    {"right arm from the front", &abduction, false, false, false, false, -1, 118},
    {"right arm overhead", &abduction, false, false, false, false, -1, 176},
    {"right arm at rest", &abduction, false, false, false, false, -1, 4},
    {"left arm from the front", &abduction, true, false, false, false, 1, 118},
    {"right arm from behind", &abduction, false, true, false, false, 1, 90},
    {"right arm in a mirror", &abduction, false, false, false, true, 1, 90},
    {"facing right", &flexion, false, false, false, false, 1, 150},
    {"facing left", &flexion, true, false, true, false, -1, 150},
    {"behind the body", &flexion, false, false, false, false, 1, -40},
};

START_TEST(angle_is_drawn_from_the_trunk_to_the_arm)
{
    struct body b = body_at(turns[_i].movement, turns[_i].angle_deg, turns[_i].x_sign, 6);
    b.settings.side = turns[_i].left ? OMO_LEFT : OMO_RIGHT;
    b.settings.from_behind = turns[_i].behind;
    b.settings.facing_left = turns[_i].facing_left;
    b.settings.mirrored = turns[_i].mirrored;
    struct omo_directions d = omo_directions_of(&b.settings, &b.row);
    ck_assert_msg(d.known, "%s", turns[_i].name);
    // The trunk as built, downward.
    ck_assert_msg(fabs(d.zero.x + b.up.x) < TOL_DEG && fabs(d.zero.y + b.up.y) < TOL_DEG,
                  "%s: zero is (%g, %g), want (%g, %g)", turns[_i].name, d.zero.x,
                  d.zero.y, -b.up.x, -b.up.y);
    ck_assert_double_eq_tol(d.sweep_deg, -turns[_i].x_sign * turns[_i].angle_deg,
                            TOL_DEG);
}
END_TEST

START_TEST(angle_without_its_markers_is_not_drawn)
{
    struct body b = body_at(&flexion, 100, 1, 0);
    hide(&b, OMO_ELBOW);
    ck_assert(!omo_directions_of(&b.settings, &b.row).known);
    b = body_at(&flexion, 100, 1, 0);
    b.row.angle_deg = b.row.angle_image_deg = NAN;
    ck_assert(!omo_directions_of(&b.settings, &b.row).known);
}
END_TEST

/* ---- the head ---- */

static bool inside(const struct omo_head_region *region, struct omo_point p)
{
    bool in = false;
    for (int i = 0, j = OMO_HEAD_POINTS - 1; i < OMO_HEAD_POINTS; j = i++) {
        struct omo_point a = region->outline[i], b = region->outline[j];
        if ((a.y > p.y) != (b.y > p.y) &&
            p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x)
            in = !in;
    }
    return in;
}

static void assert_face_covered(const char *name, const struct body *b)
{
    struct omo_head_region region[OMO_HEAD_REGIONS];
    int count = omo_head_regions(&b->settings, &b->row, &b->result, &proportions, region);
    ck_assert_msg(count > 0, "%s: not located", name);
    static const double scales[] = {0.8, 1, 1.2}, tilts[] = {-25, 0, 25},
                        lifts[] = {0, 0.035};
    for (int k = 0; k < 3 * 3 * 2; k++) {
        double scale = scales[k % 3], tilt = tilts[k / 3 % 3], lift = lifts[k / 9];
        for (int i = 0; i < 36; i++)
            for (double out = 0.25; out <= 1; out += 0.25) {
                struct omo_point p = face_point(b, scale, tilt, lift, i * G_PI / 18, out);
                bool covered =
                    inside(&region[0], p) || (count > 1 && inside(&region[1], p));
                ck_assert_msg(
                    covered,
                    "%s: bare at (%.0f, %.0f), proportions %g, bent %g, lifted %g", name,
                    p.x, p.y, scale, tilt, lift);
            }
    }
}

static const struct {
    const char *name;
    const struct omo_movement *movement;
    enum omo_position position;
    bool left, behind, mirrored;
    double x_sign, angle_deg, lean_deg, turn_deg;
    bool no_hip, chest, no_wrist;
} heads[] = {
    {"front", &abduction, OMO_STANDING, false, false, false, -1, 120, 0, 0, 0, 0, 0},
    {"front, left", &abduction, OMO_SEATED, true, false, false, 1, 120, 0, 0, 0, 0, 0},
    {"front, behind", &abduction, OMO_STANDING, false, true, false, 1, 90, 0, 0, 0, 0, 0},
    {"front, mirror", &abduction, OMO_STANDING, false, false, true, 1, 90, 0, 0, 0, 0, 0},
    {"front, leaning", &abduction, OMO_STANDING, false, false, false, -1, 120, 15, 0, 0,
     0, 0},
    {"front, no hip", &abduction, OMO_STANDING, false, false, false, -1, 60, 0, 0, 1, 0,
     0},
    {"front, arm alone", &abduction, OMO_STANDING, false, false, false, -1, 170, 0, 0, 1,
     0, 1},
    {"front, chest", &abduction, OMO_STANDING, false, false, false, -1, 90, 0, 0, 0, 1,
     0},
    {"front, wrong side stated", &abduction, OMO_STANDING, true, false, false, -1, 90, 0,
     0, 1, 0, 0},
    {"front, unsaid mirror", &abduction, OMO_STANDING, false, false, false, 1, 140, 0, 0,
     0, 0, 0},
    {"front, lying", &abduction, OMO_SUPINE, false, false, false, -1, 100, 0, 90, 0, 0,
     0},
    {"side", &flexion, OMO_STANDING, false, false, false, 1, 150, 0, 0, 0, 0, 0},
    {"side, left", &flexion, OMO_STANDING, true, false, false, -1, 150, 0, 0, 0, 0, 0},
    {"side, arched back", &flexion, OMO_STANDING, false, false, false, 1, 100, -15, 0, 0,
     0, 0},
    {"side, no hip", &flexion, OMO_SEATED, false, false, false, 1, 100, 0, 0, 1, 0, 0},
    {"side, supine", &flexion, OMO_SUPINE, false, false, false, 1, 100, 0, -90, 0, 0, 0},
    {"side, prone", &flexion, OMO_PRONE, false, false, false, 1, -30, 0, 90, 0, 0, 0},
};

START_TEST(face_is_covered_whatever_the_proportions)
{
    struct body b = body_at(heads[_i].movement, heads[_i].angle_deg, heads[_i].x_sign,
                            heads[_i].lean_deg);
    b.settings.position = heads[_i].position;
    b.settings.side = heads[_i].left ? OMO_LEFT : OMO_RIGHT;
    b.settings.from_behind = heads[_i].behind;
    b.settings.mirrored = heads[_i].mirrored;
    b.settings.facing_left = heads[_i].movement == &flexion && heads[_i].x_sign < 0;
    if (heads[_i].movement == &flexion) {
        // From the side forward is where the arm goes.
        b.ahead = (struct omo_point){-b.ahead.x, -b.ahead.y};
    }
    turn_body(&b, heads[_i].turn_deg);
    if (heads[_i].chest)
        put(&b, OMO_CHEST,
            600 + 0.12 * STATURE_PX * b.ahead.x + 0.02 * STATURE_PX * b.up.x,
            320 + 0.12 * STATURE_PX * b.ahead.y + 0.02 * STATURE_PX * b.up.y);
    if (heads[_i].no_hip)
        hide(&b, OMO_HIP);
    if (heads[_i].no_wrist)
        hide(&b, OMO_WRIST);
    assert_face_covered(heads[_i].name, &b);
}
END_TEST

/** Elbow and wrist alone; the head is above the hidden shoulder behind the elbow. */
START_TEST(face_is_covered_in_a_rotation_where_the_shoulder_is_hidden)
{
    static const struct {
        enum omo_position position;
        double turn_deg, drop;
        bool hip;
        int regions;
    } rows[] = {
        {OMO_STANDING, 0, 0, false, 1},  {OMO_STANDING, 0, 0.1, false, 1},
        {OMO_SUPINE, 90, 0, false, 2},   {OMO_SUPINE, -90, 0, false, 2},
        {OMO_PRONE, 90, 0, false, 2},    {OMO_SUPINE, -90, 0.05, true, 1},
        {OMO_STANDING, 0, 0.1, true, 1},
    };
    struct body b = body_at(&rotation, 40, 1, 0);
    b.settings.position = rows[_i].position;
    b.row.reference = OMO_REFERENCE_NONE;
    b.up = omo_turned_point((struct omo_point){0, -1}, rows[_i].turn_deg);
    b.ahead = omo_turned_point((struct omo_point){1, 0}, rows[_i].turn_deg);
    double drop = rows[_i].drop * STATURE_PX;
    put(&b, OMO_ELBOW, 600 - drop * b.up.x, 320 - drop * b.up.y);
    put(&b, OMO_WRIST, 600 + 0.146 * STATURE_PX * cos(0.7),
        320 - drop * b.up.y - 0.146 * STATURE_PX * sin(0.7));
    struct body seen = b;
    hide(&seen, OMO_SHOULDER);
    put(&seen, OMO_HIP, 600 - 0.288 * STATURE_PX * b.up.x,
        320 - 0.288 * STATURE_PX * b.up.y);
    if (!rows[_i].hip)
        hide(&seen, OMO_HIP);
    // The face hangs on the true shoulder, which the covering never sees.
    struct omo_head_region region[OMO_HEAD_REGIONS];
    int count =
        omo_head_regions(&seen.settings, &seen.row, &seen.result, &proportions, region);
    ck_assert_int_eq(count, rows[_i].regions);
    for (int i = 0; i < 36; i++) {
        struct omo_point p = face_point(&b, 1, 0, 0, i * G_PI / 18, 1);
        bool covered = inside(&region[0], p) || (count > 1 && inside(&region[1], p));
        ck_assert_msg(covered, "row %d: bare at (%.0f, %.0f)", _i, p.x, p.y);
    }
}
END_TEST

/** Bent forward, the neck in line or hanging. */
START_TEST(face_is_covered_while_the_person_bends_over_a_hanging_arm)
{
    static const double bends[] = {50, 70, 90};
    struct body b = body_at(&pendulum, 0, 1, 0);
    b.ahead = (struct omo_point){1, 0};
    turn_body(&b, bends[_i % 3]);
    put(&b, OMO_ELBOW, 600 + 10, 320 + 0.186 * STATURE_PX);
    put(&b, OMO_WRIST, 600 + 18, 320 + 0.332 * STATURE_PX);
    b.row.angle_deg = b.row.angle_image_deg = atan2(18, 0.332 * STATURE_PX) * 180 / G_PI;
    struct omo_head_region region[OMO_HEAD_REGIONS];
    int count = omo_head_regions(&b.settings, &b.row, &b.result, &proportions, region);
    ck_assert_int_eq(count, 2);
    for (int tilt = 0; tilt >= -40; tilt -= 20)
        for (int i = 0; i < 36; i++) {
            struct omo_point p = face_point(&b, 1, tilt, 0, i * G_PI / 18, 1);
            ck_assert_msg(inside(&region[0], p) || inside(&region[1], p),
                          "bent %g, neck %d: bare at (%.0f, %.0f)", bends[_i % 3], tilt,
                          p.x, p.y);
        }
    // The wrist fits the angle, so it is what the line goes to.
    struct omo_directions d = omo_directions_of(&b.settings, &b.row);
    ck_assert_double_eq_tol(d.end.x, 618, 1e-9);
    ck_assert_double_eq_tol(d.zero.y, 1, 1e-9);
    hide(&b, OMO_HIP);
    ck_assert_int_eq(omo_head_regions(&b.settings, &b.row, &b.result, &proportions,
                                      region),
                     0);
}
END_TEST

START_TEST(markers_themselves_stay_visible)
{
    struct body b = body_at(&abduction, 60, -1, 0);
    struct omo_head_region region[OMO_HEAD_REGIONS];
    int count = omo_head_regions(&b.settings, &b.row, &b.result, &proportions, region);
    ck_assert_int_eq(count, 1);
    static const enum omo_role roles[] = {OMO_SHOULDER, OMO_ELBOW, OMO_WRIST, OMO_HIP};
    for (int i = 0; i < 4; i++)
        ck_assert_msg(!inside(&region[0], omo_place_of(&b.row, roles[i])),
                      "%s is covered", omo_role_name(roles[i]));
}
END_TEST

START_TEST(head_of_a_lying_body_without_hip_or_without_shoulder_is_not_located)
{
    struct omo_head_region region[OMO_HEAD_REGIONS];
    struct body b = body_at(&flexion, 100, 1, 0);
    hide(&b, OMO_HIP);
    b.settings.position = OMO_SUPINE;
    ck_assert_int_eq(omo_head_regions(&b.settings, &b.row, &b.result, &proportions,
                                      region),
                     0);
    b = body_at(&flexion, 100, 1, 0);
    hide(&b, OMO_SHOULDER);
    ck_assert_int_eq(omo_head_regions(&b.settings, &b.row, &b.result, &proportions,
                                      region),
                     0);
    b = body_at(&flexion, 100, 1, 0);
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        if (i != OMO_SHOULDER)
            hide(&b, (enum omo_role)i);
    ck_assert_int_eq(omo_head_regions(&b.settings, &b.row, &b.result, &proportions,
                                      region),
                     0);
}
END_TEST

#define COUNT(table) ((int)(sizeof(table) / sizeof((table)[0])))

int main(void)
{
    Suite *suite = suite_create("draw");
    TCase *figures = tcase_create("figures");
    tcase_add_test(figures, contrast_is_that_of_the_guidelines);
    tcase_add_test(figures, figure_keeps_its_own_copy_of_points_and_text);
    tcase_add_test(figures, painted_mark_lies_where_the_figure_says);
    suite_add_tcase(suite, figures);

    TCase *places = tcase_create("places");
    tcase_add_loop_test(places, angle_is_drawn_from_the_trunk_to_the_arm, 0,
                        COUNT(turns));
    tcase_add_test(places, angle_without_its_markers_is_not_drawn);
    tcase_add_loop_test(places, face_is_covered_whatever_the_proportions, 0,
                        COUNT(heads));
    tcase_add_loop_test(places,
                        face_is_covered_in_a_rotation_where_the_shoulder_is_hidden, 0, 7);
    tcase_add_loop_test(places, face_is_covered_while_the_person_bends_over_a_hanging_arm,
                        0, 3);
    tcase_add_test(places, markers_themselves_stay_visible);
    tcase_add_test(places,
                   head_of_a_lying_body_without_hip_or_without_shoulder_is_not_located);
    suite_add_tcase(suite, places);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
