/* Figures, and the annotated still: what stands out, what is covered, what is written. */
#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "draw/directions.h"
#include "draw/head.h"
#include "draw/still_layout.h"
#include "omogon/draw.h"
#include "omogon/files.h"
#include "omogon/log.h"

/* Success criterion 1.4.3 of the Web Content Accessibility Guidelines 2.1. */
static const double CONTRAST_MIN = 4.5;
static const double TOL_DEG = 1e-9;

static const struct omo_layout proportions = {
    .upper_arm = 0.186,
    .forearm = 0.146,
    .half_shoulder_width = 0.129,
    .shoulder_height = 0.818,
    .hip_height = 0.530,
};

static const struct omo_movement abduction = {.name = "abduction",
                                              .geometry = OMO_GEOMETRY_ELEVATION,
                                              .view = OMO_VIEW_FRONT,
                                              .sign = 1,
                                              .wrap_low_deg = -90};
static const struct omo_movement flexion = {.name = "flexion",
                                            .geometry = OMO_GEOMETRY_ELEVATION,
                                            .view = OMO_VIEW_SIDE,
                                            .sign = -1,
                                            .wrap_low_deg = -90};
static const struct omo_movement rotation = {.name = "external-rotation",
                                             .geometry = OMO_GEOMETRY_ROTATION,
                                             .view = OMO_VIEW_ALONG_ARM,
                                             .sign = -1,
                                             .wrap_low_deg = -180};

static const struct omo_movement pendulum = {.name = "pendulum",
                                             .geometry = OMO_GEOMETRY_PENDULUM,
                                             .view = OMO_VIEW_SIDE,
                                             .sign = -1,
                                             .wrap_low_deg = -180};

/* ---- a body to draw on ---- */

static const double STATURE_PX = 900;

/** A standing body: `up` is its trunk, the arm at angle_deg. Built from cosines here, not
 *  from the functions under test. */
struct body {
    struct omo_measure_settings settings;
    struct omo_trace_row row;
    struct omo_result result;
    struct omo_point up, ahead; /**< ahead: to the middle of the body, or forward */
};

static void put(struct body *b, enum omo_role role, double x, double y)
{
    b->row.markers.role[role] = (struct omo_marker){
        .seen = OMO_SEEN, .x_px = x, .y_px = y, .diameter_px = 16, .sigma_px = 0.1};
}

/** x_sign: picture direction in which the arm is raised. */
static struct body body_at(const struct omo_movement *movement, double angle_deg,
                           double x_sign, double lean_deg)
{
    struct body b = {.settings = {.movement = movement,
                                  .side = OMO_RIGHT,
                                  .position = OMO_STANDING,
                                  .cutoff_hz = 6},
                     .result = {.max_deg = angle_deg, .max_u95_deg = 5.2},
                     .row = {.frame = 7,
                             .angle_deg = angle_deg,
                             .angle_image_deg = angle_deg,
                             .reference = OMO_REFERENCE_HIP}};
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        b.row.markers.role[i] = (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
    double lean = lean_deg * G_PI / 180, turn = angle_deg * G_PI / 180 + lean;
    double x = 600, y = 320, arm = 0.186 * STATURE_PX, trunk = 0.288 * STATURE_PX;
    b.up = (struct omo_point){-x_sign * sin(lean), -cos(lean)};
    b.ahead = (struct omo_point){-x_sign * cos(lean), sin(lean)};
    double ex = x + x_sign * arm * sin(turn), ey = y + arm * cos(turn);
    put(&b, OMO_SHOULDER, x, y);
    put(&b, OMO_ELBOW, ex, ey);
    put(&b, OMO_WRIST, ex + x_sign * 0.146 * STATURE_PX * sin(turn),
        ey + 0.146 * STATURE_PX * cos(turn));
    put(&b, OMO_HIP, x - trunk * b.up.x, y - trunk * b.up.y);
    return b;
}

static void hide(struct body *b, enum omo_role role)
{
    b->row.markers.role[role] = (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
}

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

/** A point of the face of a body whose head and neck are `scale` times the usual, bent
 * back by tilt_deg at the neck, above a shoulder lifted by lift (all ratios to stature;
 * common proportions, from memory: face 0.05 wide to either side, 0.15 high). */
static struct omo_point face_point(const struct body *b, double scale, double tilt_deg,
                                   double lift, double around, double out)
{
    bool front = b->settings.movement->view == OMO_VIEW_FRONT;
    double middle = front ? 0.129 * scale : 0, half = front ? 0.05 : 0.06;
    double forward = front ? 0 : 0.03;
    // From the base of the neck.
    struct omo_point p = {(forward + half * out * cos(around)) * scale,
                          (0.095 + 0.075 * out * sin(around)) * scale};
    p = omo_turned_point(p, tilt_deg);
    double across = (middle + p.x) * STATURE_PX, up = (0.03 - lift + p.y) * STATURE_PX;
    const struct omo_marker *s = &b->row.markers.role[OMO_SHOULDER];
    return (struct omo_point){s->x_px + across * b->ahead.x + up * b->up.x,
                              s->y_px + across * b->ahead.y + up * b->up.y};
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

/* ---- the still ---- */

/** Grey planes with a face of one colour; freed by g_free(y). */
static struct omo_planes photograph(int width, int height, uint8_t grey)
{
    int half_width = (width + 1) / 2, half_height = (height + 1) / 2;
    size_t luma = (size_t)width * (size_t)height,
           chroma = (size_t)half_width * (size_t)half_height;
    uint8_t *bytes = g_malloc(luma + 2 * chroma);
    memset(bytes, grey, luma);
    memset(bytes + luma, 128, 2 * chroma);
    return (struct omo_planes){.width = width,
                               .height = height,
                               .chroma_width = half_width,
                               .chroma_height = half_height,
                               .y = bytes,
                               .cb = bytes + luma,
                               .cr = bytes + luma + chroma,
                               .y_stride = width,
                               .chroma_stride = half_width,
                               .scale_x = 2,
                               .scale_y = 2,
                               .offset_x = 0.5,
                               .offset_y = 0.5,
                               .full_range = true};
}

/** Paints the face, strongly red-violet, which nothing else in the picture is. */
static void paint_face(struct omo_planes *planes, const struct body *b)
{
    for (int i = 0; i < 720; i++)
        for (double out = 0; out <= 1; out += 0.01) {
            struct omo_point p = face_point(b, 1, 0, 0, i * G_PI / 360, out);
            int x = (int)p.x / 2, y = (int)p.y / 2;
            if (x >= 0 && y >= 0 && x < planes->chroma_width &&
                y < planes->chroma_height) {
                ((uint8_t *)planes->cr)[y * planes->chroma_stride + x] = 220;
                ((uint8_t *)planes->cb)[y * planes->chroma_stride + x] = 180;
            }
        }
}

/** How many pixels of a written JPEG have the face's colour. */
static int face_pixels(const char *path)
{
    char *bytes;
    size_t size;
    ck_assert_int_eq(omo_file_read(path, 1 << 24, &bytes, &size), OMO_OK);
    struct omo_jpeg *jpeg = omo_jpeg_create();
    struct omo_planes planes;
    ck_assert_int_eq(omo_jpeg_decode(jpeg, (const uint8_t *)bytes, size, true, &planes,
                                     NULL),
                     OMO_OK);
    int count = 0;
    for (int y = 0; y < planes.chroma_height; y++)
        for (int x = 0; x < planes.chroma_width; x++)
            count += planes.cr[y * planes.chroma_stride + x] > 150;
    omo_jpeg_destroy(jpeg);
    free(bytes);
    return count;
}

static char *folder;
static char said[512];

static void listen(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    g_strlcpy(said, text, sizeof said);
}

static void set_up(void)
{
    folder = g_dir_make_tmp("omogon-draw-XXXXXX", NULL);
    said[0] = '\0';
    omo_log_set_handler(listen, NULL);
}

static void tear_down(void)
{
    omo_log_set_handler(NULL, NULL);
    GDir *dir = g_dir_open(folder, 0, NULL);
    for (const char *name; (name = g_dir_read_name(dir)) != NULL;) {
        char *path = g_build_filename(folder, name, NULL);
        g_unlink(path);
        g_free(path);
    }
    g_dir_close(dir);
    g_rmdir(folder);
    g_free(folder);
}

static struct omo_still still_of(const struct body *b, const struct omo_planes *planes)
{
    return (struct omo_still){.planes = planes,
                              .row = &b->row,
                              .result = &b->result,
                              .settings = &b->settings,
                              .caption = "abduction, right, standing, active"};
}

START_TEST(no_pixel_of_the_face_is_written_unless_asked)
{
    struct body b = body_at(&abduction, 118, -1, 4);
    struct omo_planes planes = photograph(1280, 720, 150);
    paint_face(&planes, &b);
    struct omo_still still = still_of(&b, &planes);
    char *path = g_build_filename(folder, "still.jpg", NULL);
    ck_assert_int_eq(omo_still_write(&still, path), OMO_OK);
    ck_assert_int_eq(face_pixels(path), 0);
    struct stat info;
    ck_assert_int_eq(stat(path, &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0600);

    still.show_head = 1;
    ck_assert_int_eq(omo_still_write(&still, path), OMO_OK);
    ck_assert_int_gt(face_pixels(path), 1000);
    g_free(path);
    g_free((void *)planes.y);
}
END_TEST

START_TEST(nothing_is_written_when_the_head_cannot_be_located)
{
    struct body b = body_at(&flexion, 100, 1, 0);
    hide(&b, OMO_HIP);
    b.settings.position = OMO_SUPINE;
    struct omo_planes planes = photograph(640, 480, 150);
    struct omo_still still = still_of(&b, &planes);
    char *path = g_build_filename(folder, "still.jpg", NULL);
    ck_assert_int_eq(omo_still_write(&still, path), OMO_ERR_EMPTY);
    ck_assert(!g_file_test(path, G_FILE_TEST_EXISTS));
    ck_assert_msg(strstr(said, "no picture was written") != NULL, "said: %s", said);
    still.show_head = 1;
    ck_assert_int_eq(omo_still_write(&still, path), OMO_OK);
    g_free(path);
    g_free((void *)planes.y);
}
END_TEST

START_TEST(a_still_without_what_it_needs_is_refused)
{
    struct body b = body_at(&flexion, 100, 1, 0);
    struct omo_planes planes = photograph(64, 48, 150);
    struct omo_still still = still_of(&b, &planes);
    char *path = g_build_filename(folder, "no-such-folder", "still.jpg", NULL);
    ck_assert_int_eq(omo_still_write(NULL, path), OMO_ERR_ARG);
    ck_assert_int_eq(omo_still_write(&still, NULL), OMO_ERR_ARG);
    ck_assert_int_eq(omo_still_write(&still, path), OMO_ERR_IO);
    const uint8_t *luma = planes.y;
    planes.y = NULL;
    ck_assert_int_eq(omo_still_write(&still, path), OMO_ERR_ARG);
    still.planes = NULL;
    ck_assert_int_eq(omo_still_write(&still, path), OMO_ERR_ARG);
    g_free(path);
    g_free((void *)luma);
}
END_TEST

/** The figure of a still in a picture of this size. */
static struct omo_still_layout composed(const struct omo_still *still, int factor)
{
    struct omo_still_layout layout;
    omo_still_compose(still, still->planes->width, still->planes->height, factor, NULL, 0,
                      &layout);
    return layout;
}

START_TEST(every_word_and_line_stands_out_from_any_picture)
{
    struct body b = body_at(&abduction, 118, -1, 4);
    struct omo_planes planes = photograph(1280, 720, 150);
    struct omo_still still = still_of(&b, &planes);
    struct omo_still_layout layout = composed(&still, 1);
    int words = 0, lines = 0;
    for (size_t i = 0; i < omo_figure_count(layout.figure); i++) {
        const struct omo_mark *m = omo_figure_at(layout.figure, i);
        if (m->kind == OMO_MARK_SHAPE)
            continue;
        words += m->kind == OMO_MARK_TEXT;
        lines += m->kind != OMO_MARK_TEXT;
        ck_assert_msg(omo_contrast_ratio(m->colour, m->edge) >= CONTRAST_MIN,
                      "mark %zu has a contrast of %.1f", i,
                      omo_contrast_ratio(m->colour, m->edge));
        ck_assert_msg(m->edge_width >= 1 && m->edge >> 24 == 0xff &&
                          m->colour >> 24 == 0xff,
                      "mark %zu has no firm edge", i);
    }
    // Number, its unit, caption, cautions, four markers, the trunk.
    ck_assert_int_ge(words, 9);
    ck_assert_int_ge(lines, 2 + 1 + 4);
    omo_figure_destroy(layout.figure);
    g_free((void *)planes.y);
}
END_TEST

static bool has_text(const struct omo_figure *figure, const char *text)
{
    for (size_t i = 0; i < omo_figure_count(figure); i++) {
        const struct omo_mark *m = omo_figure_at(figure, i);
        if (m->kind == OMO_MARK_TEXT && strstr(m->text, text) != NULL)
            return true;
    }
    return false;
}

static const struct {
    const char *name;
    double max_deg, u95_deg, angle_deg;
    enum omo_reference reference;
    const char *texts[4];
} words[] = {
    {"rounded, uncertainty rounded up",
     118.4,
     5.2,
     118.6,
     OMO_REFERENCE_HIP,
     {"118", "degrees, good to 6", "shoulder to hip",
      "A measuring aid. Not a medical device. Stop at pain."}},
    {"no uncertainty", 90, NAN, 90.2, OMO_REFERENCE_NONE, {"90", "degrees", "vertical"}},
    {"no maximum", NAN, NAN, 41.7, OMO_REFERENCE_SHIFT, {"42", "degrees", "estimated"}},
    {"below zero", -12.2, 4, -12, OMO_REFERENCE_CHEST_HIP, {"-12", "chest to hip"}},
    {"no angle", NAN, 6, NAN, OMO_REFERENCE_NONE, {"no angle in this frame"}},
};

START_TEST(words_say_the_maximum_and_how_good_it_is)
{
    struct body b = body_at(&abduction, 118, -1, 0);
    b.result.max_deg = words[_i].max_deg;
    b.result.max_u95_deg = words[_i].u95_deg;
    b.row.angle_deg = words[_i].angle_deg;
    b.row.reference = words[_i].reference;
    struct omo_planes planes = photograph(1280, 720, 150);
    struct omo_still still = still_of(&b, &planes);
    struct omo_still_layout layout = composed(&still, 1);
    for (int i = 0; i < 4 && words[_i].texts[i] != NULL; i++)
        ck_assert_msg(has_text(layout.figure, words[_i].texts[i]),
                      "%s: \"%s\" is missing", words[_i].name, words[_i].texts[i]);
    if (isnan(words[_i].max_deg) || isnan(words[_i].u95_deg))
        ck_assert_msg(!has_text(layout.figure, "good to"), "%s", words[_i].name);
    omo_figure_destroy(layout.figure);
    g_free((void *)planes.y);
}
END_TEST

static const struct {
    int width, height, factor;
} sizes[] = {{1280, 720, 1}, {720, 1280, 1},  {640, 480, 1},   {320, 240, 2},
             {480, 480, 1},  {1920, 1080, 1}, {1296, 2304, 1}, {176, 144, 4}};

START_TEST(writing_stays_inside_the_picture)
{
    struct body b = body_at(&abduction, 118, -1, 0);
    b.result.max_deg = -118;
    b.result.max_u95_deg = 12.5;
    int width = sizes[_i].width * sizes[_i].factor;
    struct omo_planes planes = photograph(sizes[_i].width, sizes[_i].height, 150);
    struct omo_still still = still_of(&b, &planes);
    still.caption = "external-rotation, right, side-lying, assisted";
    struct omo_still_layout layout = composed(&still, sizes[_i].factor);
    uint32_t *pixels = g_new0(uint32_t, (size_t)layout.width * (size_t)layout.height);
    ck_assert_int_eq(omo_figure_paint(layout.figure, pixels, layout.width, layout.height,
                                      layout.width),
                     OMO_OK);
    ck_assert_int_eq(layout.width, width);
    int margin = width / 100, written = 0;
    for (int y = layout.photo_height; y < layout.height; y++)
        for (int x = 0; x < width; x++) {
            bool light = (pixels[(size_t)y * (size_t)width + (size_t)x] & 0xff) > 0x80;
            bool rim = x < margin || x >= width - margin || y >= layout.height - 2;
            written += light;
            ck_assert_msg(!(light && rim), "%d x %d: writing at the rim (%d, %d)",
                          sizes[_i].width, sizes[_i].height, x, y);
        }
    ck_assert_int_gt(written, 200);
    g_free(pixels);
    omo_figure_destroy(layout.figure);
    g_free((void *)planes.y);
}
END_TEST

/** A ring is light inside a dark edge whatever lies below. */
START_TEST(ring_is_found_round_the_marker_on_light_and_dark)
{
    static const uint8_t greys[] = {0, 90, 128, 200, 255};
    struct body b = body_at(&abduction, 118, -1, 0);
    struct omo_planes planes = photograph(1280, 720, greys[_i]);
    struct omo_still still = still_of(&b, &planes);
    struct omo_still_layout layout = composed(&still, 1);
    uint32_t *pixels = g_new0(uint32_t, (size_t)layout.width * (size_t)layout.height);
    ck_assert_int_eq(omo_planes_to_rgb32(&planes, 0, pixels), OMO_OK);
    ck_assert_int_eq(omo_figure_paint(layout.figure, pixels, layout.width, layout.height,
                                      layout.width),
                     OMO_OK);
    // Above the hip, where no other line passes.
    const struct omo_marker *hip = &b.row.markers.role[OMO_HIP];
    int light = 0, dark = 0, y = (int)lround(hip->y_px), x = (int)lround(hip->x_px);
    for (int r = 5; r < 20; r++) {
        uint32_t grey = pixels[(size_t)y * (size_t)layout.width + (size_t)(x - r)] & 0xff;
        light += grey > 0xe0 && greys[_i] <= 200 ? 1 : 0;
        dark += grey < 0x30 && greys[_i] >= 90 ? 1 : 0;
    }
    if (greys[_i] < 200)
        ck_assert_int_ge(light, 2);
    if (greys[_i] >= 90)
        ck_assert_int_ge(dark, 2);
    g_free(pixels);
    omo_figure_destroy(layout.figure);
    g_free((void *)planes.y);
}
END_TEST

START_TEST(a_picture_lying_on_its_side_is_written_upright_and_a_small_one_enlarged)
{
    struct body b = body_at(&abduction, 118, -1, 0);
    struct omo_planes planes = photograph(320, 240, 150);
    struct omo_still still = still_of(&b, &planes);
    still.quarter_turns = 1;
    char *path = g_build_filename(folder, "still.jpg", NULL);
    ck_assert_int_eq(omo_still_write(&still, path), OMO_OK);
    char *bytes;
    size_t size;
    ck_assert_int_eq(omo_file_read(path, 1 << 24, &bytes, &size), OMO_OK);
    struct omo_jpeg *jpeg = omo_jpeg_create();
    struct omo_planes written;
    ck_assert_int_eq(omo_jpeg_decode(jpeg, (const uint8_t *)bytes, size, false, &written,
                                     NULL),
                     OMO_OK);
    ck_assert_int_eq(written.width, 2 * 240);
    ck_assert_int_gt(written.height, 2 * 320);
    omo_jpeg_destroy(jpeg);
    free(bytes);
    g_free(path);
    g_free((void *)planes.y);
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

    TCase *stills = tcase_create("stills");
    tcase_set_timeout(stills, 60);
    tcase_add_checked_fixture(stills, set_up, tear_down);
    tcase_add_test(stills, no_pixel_of_the_face_is_written_unless_asked);
    tcase_add_test(stills, nothing_is_written_when_the_head_cannot_be_located);
    tcase_add_test(stills, a_still_without_what_it_needs_is_refused);
    tcase_add_test(stills, every_word_and_line_stands_out_from_any_picture);
    tcase_add_loop_test(stills, words_say_the_maximum_and_how_good_it_is, 0,
                        COUNT(words));
    tcase_add_loop_test(stills, writing_stays_inside_the_picture, 0, COUNT(sizes));
    tcase_add_loop_test(stills, ring_is_found_round_the_marker_on_light_and_dark, 0, 5);
    tcase_add_test(
        stills, a_picture_lying_on_its_side_is_written_upright_and_a_small_one_enlarged);
    suite_add_tcase(suite, stills);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
