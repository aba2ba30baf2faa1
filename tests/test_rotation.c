/* Rotation seen from in front: closed forms, and whole takes of a pinhole camera. */
#include <math.h>
#include <string.h>

#include <check.h>

#include "motion/rotation.h"
#include "omogon/live.h"
#include "omogon/motion.h"

#define RAD (M_PI / 180.0)

#define TOL_EXACT_DEG 1e-7
/* The filter, the 0.2 s of a maximum, and the length: the wrist's band is nearer to the
 * camera than the bone, which is undone to first order. */
#define TOL_TAKE_DEG 0.8

static struct omo_movement_table *table;
static const struct omo_movement *front;

static void load(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    front = omo_movement_find(table, "external-rotation/front");
    ck_assert_ptr_nonnull(front);
}

static void unload(void)
{
    omo_movement_table_destroy(table);
}

/* ---- closed forms ---- */

/** From so far away that there is no perspective. */
static double far_turn_deg(double dx_ratio)
{
    struct omo_front_forearm f = {.joint = {0, 0},
                                  .wrist = {100 * dx_ratio, 0},
                                  .upper = {0, 1},
                                  .length_px = 100,
                                  .focal_px = 1e6};
    return omo_front_solve(&f).turn_deg;
}

START_TEST(from_far_away_the_turn_is_the_arc_sine_of_the_wrists_distance)
{
    /* Apparent extent L sin(turn): projection of a segment on a plane. */
    for (double deg = -85; deg <= 85; deg += 5)
        ck_assert_double_eq_tol(far_turn_deg(sin(deg * RAD)), deg, 0.01);
}
END_TEST

static const struct {
    double at_deg, times;
} growth[] = {{0, 1.0}, {30, 1.154701}, {45, 1.414214}, {60, 2.0}, {70, 2.923804}};

START_TEST(an_error_of_the_wrists_place_grows_as_one_over_the_cosine)
{
    /* d(asin x)/dx = 1 / cos(asin x): 1.15 at 30 and 2 at 60 degrees. */
    double step = 1e-4, x = sin(growth[_i].at_deg * RAD);
    double slope = (far_turn_deg(x + step) - far_turn_deg(x - step)) / (2 * step) * RAD;
    ck_assert_double_eq_tol(slope, growth[_i].times, 2e-4);
}
END_TEST

/* ---- a pinhole camera ---- */

#define FOCAL_PX (640.0 / tan(34.5 * RAD)) /* 69 degrees, as is assumed of a camera */
#define WIDTH    1280
#define HEIGHT   720

/* Metres; x right, y down, z away from the camera. */
struct vec {
    double x, y, z;
};

static struct vec along(struct vec a, struct vec b, double by)
{
    return (struct vec){a.x + by * b.x, a.y + by * b.y, a.z + by * b.z};
}

static struct omo_point seen(struct vec p)
{
    return (struct omo_point){FOCAL_PX * p.x / p.z, FOCAL_PX * p.y / p.z};
}

/** Of a right arm seen unmirrored; positive turns go to picture left. */
static struct vec fore_of(double turn_deg, double bend_deg, double out_deg)
{
    double t = turn_deg * RAD, b = bend_deg * RAD, o = out_deg * RAD;
    struct vec upper = {-sin(o), cos(o), 0}, across = {-cos(o), -sin(o), 0};
    struct vec v = {0, 0, -cos(t) * sin(b)};
    v = along(v, across, sin(t) * sin(b));
    return along(v, upper, cos(b));
}

/** Out of the bone's line towards the eye, square to the bone; met by iteration, since
 * the eye's direction is that from the marker. */
static struct vec on_skin(struct vec joint, struct vec v, double length_m, double skin)
{
    struct vec wrist = along(joint, v, length_m), marker = wrist;
    for (int i = 0; i < 60; i++) {
        double far =
            sqrt(marker.x * marker.x + marker.y * marker.y + marker.z * marker.z);
        struct vec eye = {-marker.x / far, -marker.y / far, -marker.z / far};
        double part = eye.x * v.x + eye.y * v.y + eye.z * v.z;
        struct vec out = along(eye, v, -part);
        double wide = sqrt(out.x * out.x + out.y * out.y + out.z * out.z);
        marker = along(wrist, out, skin * length_m / wide);
    }
    return marker;
}

static const struct {
    const char *name;
    double distance_m, aside_m, below_m, bend_deg, out_deg;
} stands[] = {
    {"straight ahead", 2.1, 0, 0, 90, 0},
    {"near and aside", 1.4, -0.4, 0.2, 90, 0},
    {"elbow not at a right angle", 2.1, -0.2, 0.1, 70, 0},
    {"forearm raised", 2.1, -0.2, 0.1, 112, 0},
    {"elbow away from the side", 2.1, -0.2, 0.1, 95, 25},
    {"far and above", 3.5, 0.3, -0.4, 90, 5},
};

START_TEST(perspective_and_a_forearm_that_is_not_level_are_undone_exactly)
{
    for (double turn = -60; turn <= 60; turn += 10) {
        struct vec joint = {stands[_i].aside_m, stands[_i].below_m,
                            stands[_i].distance_m};
        struct vec v = fore_of(turn, stands[_i].bend_deg, stands[_i].out_deg);
        double o = stands[_i].out_deg * RAD;
        struct omo_front_forearm f = {.joint = seen(joint),
                                      .wrist = seen(along(joint, v, 0.25)),
                                      .upper = {-sin(o), cos(o)},
                                      .length_px = FOCAL_PX * 0.25 / joint.z,
                                      .focal_px = FOCAL_PX};
        struct omo_front_direction way = omo_front_solve(&f);
        ck_assert_msg(fabs(way.turn_deg + turn) < TOL_EXACT_DEG, "%s: %.9f, wanted %.1f",
                      stands[_i].name, -way.turn_deg, turn);
        ck_assert_double_eq_tol(way.bend_deg, stands[_i].bend_deg, TOL_EXACT_DEG);
        ck_assert_double_lt(way.excess, 1e-9);
    }
}
END_TEST

START_TEST(without_perspective_an_arm_aside_would_read_degrees_wrong)
{
    /* Elbow 0.22 m aside at 2.1 m, forearm straight ahead: the wrist is 0.25 m nearer and
     * seems to stand aside by 0.22 * 0.25 / 1.85 m. */
    struct vec joint = {-0.22, 0, 2.1}, ahead = {0, 0, -1};
    double dx = seen(along(joint, ahead, 0.25)).x - seen(joint).x;
    double wrong_deg = asin(-dx / (FOCAL_PX * 0.25 / 2.1)) / RAD;
    ck_assert_double_eq_tol(wrong_deg, asin(0.22 / 1.85) / RAD, 1e-9); /* 6.8 */
    ck_assert_double_gt(wrong_deg, 6.5);
}
END_TEST

START_TEST(a_marker_on_the_skin_that_faces_the_camera_is_taken_to_the_bone)
{
    double skin = 0.13;
    for (double turn = 15; turn <= 80; turn += 5) {
        struct vec joint = {-0.2, 0.1, 2.1}, v = fore_of(turn, 90, 0);
        struct vec marker = on_skin(joint, v, 0.25, skin);
        struct omo_front_forearm f = {.joint = seen(joint),
                                      .wrist = seen(marker),
                                      .upper = {0, 1},
                                      .length_px = FOCAL_PX * 0.25 / joint.z,
                                      .focal_px = FOCAL_PX,
                                      .skin_ratio = skin};
        ck_assert_double_eq_tol(-omo_front_solve(&f).turn_deg, turn, 1e-6);
    }
}
END_TEST

START_TEST(a_wrist_that_seems_too_far_is_said_to_be)
{
    struct omo_front_forearm f = {.joint = {0, 0},
                                  .wrist = {110, 0},
                                  .upper = {0, 1},
                                  .length_px = 100,
                                  .focal_px = 1e6};
    struct omo_front_direction way = omo_front_solve(&f);
    ck_assert_double_eq_tol(way.turn_deg, 90, 0.1);
    ck_assert_double_eq_tol(way.excess, 0.1, 1e-3);
}
END_TEST

/* ---- whole takes ---- */

#define UPPER_M 0.316
#define FORE_M  0.211
#define FRAMES  420
#define RATE    30.0

/** What somebody does: hangs the arm, rests the hand on the belly, turns out, and back.
 */
struct scene {
    bool left, mirrored, no_hang, blind, chest;
    double top_deg, fore_m, out_deg, twist_ratio;
};

static struct omo_track_frame frames[FRAMES];
static struct omo_trace_row rows[FRAMES];
static struct omo_measure_settings settings;
static struct omo_result result;

static double share(double from, double to, double t)
{
    double x = fmin(fmax((t - from) / (to - from), 0), 1);
    return x * x * (3 - 2 * x);
}

static double turn_at(const struct scene *s, double t)
{
    return -50 + (s->top_deg + 50) * (share(6, 8, t) - share(10, 12, t));
}

static void show(struct omo_marker *m, struct vec p, const struct scene *s)
{
    struct omo_point at = seen(p);
    bool flip = s->left != s->mirrored;
    *m = (struct omo_marker){.seen = OMO_SEEN,
                             .x_px = (WIDTH - 1) / 2.0 + (flip ? -at.x : at.x),
                             .y_px = (HEIGHT - 1) / 2.0 + at.y,
                             .diameter_px = FOCAL_PX * 0.030 / p.z,
                             .sigma_px = 0.1};
}

static void film(const struct scene *s)
{
    double skin = front->allowances.wrist_skin_ratio;
    for (size_t k = 0; k < FRAMES; k++) {
        double t = (double)k / RATE, turn = turn_at(s, t);
        double bend = s->no_hang ? 90 : 90 * share(2, 3, t);
        double out = s->out_deg * share(6, 8, t), o = out * RAD;
        double fore_m = s->fore_m > 0 ? s->fore_m : FORE_M;
        struct omo_markers *m = &frames[k].markers;
        struct vec upper = {-sin(o), cos(o), 0}, shoulder = {-0.2, -0.2, 2.1};
        struct vec joint = along(shoulder, upper, UPPER_M);
        struct vec v = fore_of(turn, bend, out);
        struct vec wrist = on_skin(joint, v, fore_m, skin);
        frames[k] = (struct omo_track_frame){.index = (int64_t)k, .time_s = t};
        for (int r = 0; r < OMO_ROLE_COUNT; r++)
            m->role[r] = (struct omo_marker){.x_px = NAN, .y_px = NAN};
        show(&m->role[OMO_SHOULDER], along(shoulder, upper, 0.18 * UPPER_M), s);
        show(&m->role[OMO_ELBOW], along(shoulder, upper, UPPER_M - 0.055), s);
        if (!s->blind || fabs(turn) > 12 || bend < 60)
            show(&m->role[OMO_WRIST], wrist, s);
        double near = 1 - s->twist_ratio * share(6, 8, t);
        if (s->chest)
            show(&m->role[OMO_CHEST], (struct vec){-0.2 + 0.2 * near, -0.2, 2.1}, s);
    }
    omo_measure_settings_default(&settings);
    settings.movement = front;
    settings.side = s->left ? OMO_LEFT : OMO_RIGHT;
    settings.mirrored = s->mirrored;
    settings.picture_width = WIDTH;
    settings.picture_height = HEIGHT;
}

static void measure(const struct scene *s)
{
    film(s);
    ck_assert_int_eq(omo_measure(&settings, frames, FRAMES, rows, &result), OMO_OK);
}

static const struct scene ways[] = {
    {.top_deg = 20},
    {.top_deg = 40},
    {.top_deg = 60},
    {.top_deg = 40, .left = true},
    {.top_deg = 40, .mirrored = true},
    {.top_deg = 40, .left = true, .mirrored = true},
};

START_TEST(a_take_comes_back_for_either_side_and_mirrored)
{
    measure(&ways[_i]);
    ck_assert_double_eq_tol(result.max_deg, ways[_i].top_deg, TOL_TAKE_DEG);
    ck_assert_double_lt(fabs(result.max_deg - ways[_i].top_deg), result.max_u95_deg);
    ck_assert_double_eq_tol(result.rest_deg, -50, TOL_TAKE_DEG);
    ck_assert_double_eq_tol(result.rotation_at_abduction_deg, 0, TOL_TAKE_DEG);
    ck_assert_int_eq(result.repetitions, 1);
    ck_assert_ptr_null(strstr(result.note, "guessed"));
    ck_assert_ptr_nonnull(strstr(result.note, "not at 90"));
    for (size_t k = 0; k < FRAMES; k++) {
        bool hangs = frames[k].time_s < 2.3;
        ck_assert_int_eq(hangs, isnan(rows[k].angle_deg) && frames[k].time_s < 2.3);
        if (hangs)
            ck_assert_uint_eq(rows[k].quality, OMO_QUALITY_ELBOW_ANGLE);
        /* Where the forearm points at the camera no side of it is nearer. */
        if (frames[k].time_s > 3.1 && fabs(turn_at(&ways[_i], frames[k].time_s)) > 12)
            ck_assert_double_eq_tol(rows[k].elbow_flexion_deg, 90, TOL_TAKE_DEG);
    }
}
END_TEST

START_TEST(where_the_hand_hides_the_wrist_the_cell_is_empty)
{
    struct scene s = {.top_deg = 40, .blind = true};
    measure(&s);
    size_t empty = 0;
    for (size_t k = 120; k < FRAMES; k++) {
        bool hidden = fabs(turn_at(&s, frames[k].time_s)) <= 12;
        ck_assert_int_eq(hidden, isnan(rows[k].angle_deg));
        if (hidden)
            ck_assert_uint_eq(rows[k].quality, OMO_QUALITY_NO_WRIST);
        empty += hidden;
    }
    ck_assert_uint_gt(empty, 10);
    ck_assert_double_eq_tol(result.max_deg, 40, TOL_TAKE_DEG);
    ck_assert_int_eq(result.repetitions, 1);
    ck_assert_ptr_nonnull(strstr(result.note, "near zero"));
}
END_TEST

START_TEST(a_top_in_the_blind_place_is_no_maximum)
{
    /* What was seen ends at -12 degrees; the hand went on. */
    struct scene s = {.top_deg = 5, .blind = true};
    measure(&s);
    ck_assert(isnan(result.max_deg) && isnan(result.held_max_deg));
    ck_assert(isnan(result.max_u95_deg) && isnan(result.mean_of_maxima_deg));
    ck_assert_int_eq(result.frame_at_max, -1);
    ck_assert_ptr_nonnull(strstr(result.note, "no maximum is given"));
    s.blind = false;
    measure(&s);
    ck_assert_double_eq_tol(result.max_deg, 5, 3);
}
END_TEST

START_TEST(uncertainty_grows_with_the_angle_and_with_a_guess)
{
    double last_deg = 0, last_guess_deg = 0;
    for (double top = 15; top <= 75; top += 15) {
        struct scene s = {.top_deg = top};
        measure(&s);
        double learnt_deg = result.max_u95_deg;
        ck_assert_double_gt(learnt_deg, last_deg);
        s.no_hang = true;
        measure(&s);
        ck_assert_ptr_nonnull(strstr(result.note, "guessed"));
        ck_assert_double_gt(result.max_u95_deg, learnt_deg);
        /* Towards 90 degrees a guess is as good as none, and grows no more. */
        ck_assert(top > 60 || result.max_u95_deg > last_guess_deg);
        last_deg = learnt_deg;
        last_guess_deg = result.max_u95_deg;
        bool steep = top > 65;
        ck_assert_int_eq(steep, strstr(result.note, "tells little") != NULL);
        ck_assert_int_eq(steep, (rows[270].quality & OMO_QUALITY_INSENSITIVE) != 0);
    }
    ck_assert_double_gt(last_deg, 20); /* at 75 degrees hardly worth knowing, and said */
}
END_TEST

/* Forearms as people have them, 8 % longer or shorter than the table's. */
static const double lengths_m[] = {0.92 * FORE_M, FORE_M, 1.08 * FORE_M};

START_TEST(the_stated_uncertainty_holds_for_another_forearm)
{
    for (double top = 10; top <= 60; top += 10) {
        struct scene s = {.top_deg = top, .fore_m = lengths_m[_i], .no_hang = true};
        measure(&s);
        ck_assert_double_le(fabs(result.max_deg - top), result.max_u95_deg);
        s.no_hang = false;
        measure(&s);
        ck_assert_double_eq_tol(result.max_deg, top, TOL_TAKE_DEG);
    }
}
END_TEST

START_TEST(a_length_in_millimetres_needs_the_markers_size)
{
    struct scene s = {.top_deg = 45, .fore_m = 0.23, .no_hang = true};
    film(&s);
    settings.forearm_mm = 230;
    settings.marker_size_mm = 30;
    ck_assert_int_eq(omo_measure(&settings, frames, FRAMES, rows, &result), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, 45, TOL_TAKE_DEG);
    ck_assert_ptr_null(strstr(result.note, "guessed"));
}
END_TEST

START_TEST(an_elbow_that_leaves_the_side_is_told)
{
    struct scene s = {.top_deg = 40, .out_deg = 25};
    measure(&s);
    ck_assert_double_eq_tol(result.max_deg, 40, TOL_TAKE_DEG);
    ck_assert_double_eq_tol(result.rotation_at_abduction_deg, 25, TOL_TAKE_DEG);
    ck_assert_uint_ne(rows[270].quality & OMO_QUALITY_ELBOW_AWAY, 0);
    ck_assert_uint_eq(rows[150].quality & OMO_QUALITY_ELBOW_AWAY, 0);
    ck_assert_ptr_nonnull(strstr(result.note, "left the side"));
}
END_TEST

START_TEST(a_trunk_that_turns_is_told_where_the_breastbone_is_seen)
{
    struct scene s = {.top_deg = 40, .chest = true, .twist_ratio = 0.14};
    measure(&s);
    ck_assert_uint_ne(rows[270].quality & OMO_QUALITY_TRUNK_TURNED, 0);
    ck_assert_uint_eq(rows[150].quality & OMO_QUALITY_TRUNK_TURNED, 0);
    ck_assert_ptr_nonnull(strstr(result.note, "trunk was turned"));
    s.twist_ratio = 0.05;
    measure(&s);
    ck_assert_ptr_null(strstr(result.note, "trunk was turned"));
}
END_TEST

/* ---- live ---- */

START_TEST(a_live_course_rests_on_the_belly_and_passes_the_blind_place)
{
    struct scene s = {.top_deg = 40, .blind = true};
    struct omo_live_settings course;
    struct omo_live *live = NULL;
    struct omo_cues *cues = NULL;
    struct omo_live_view view;
    film(&s);
    omo_live_settings_default(&course);
    course.measure = settings;
    course.neutral_s = 2;
    ck_assert_int_eq(omo_live_create(&course, &live), OMO_OK);
    ck_assert_int_eq(omo_cues_create(&settings, &cues), OMO_OK);
    for (size_t k = 0; k < FRAMES; k++) {
        ck_assert_int_eq(omo_live_step(live, &frames[k], &view), OMO_OK);
        struct omo_cue_input in = {.time_s = frames[k].time_s,
                                   .picture_width = WIDTH,
                                   .picture_height = HEIGHT,
                                   .luma_mean = 120,
                                   .lone_px = NAN,
                                   .view = &view};
        enum omo_cue cue = omo_cues_step(cues, &in);
        /* A forearm that points at the camera is neither far away nor out of a plane. */
        ck_assert_msg(cue == OMO_CUE_NONE, "%.2f s: %s", frames[k].time_s,
                      omo_cue_name(cue));
        if (isfinite(view.angle_image_deg))
            ck_assert_double_gt(view.angle_u95_deg, 4);
    }
    ck_assert_int_eq(view.raises, 1);
    ck_assert_double_eq_tol(view.best_deg, 40, view.angle_u95_deg);
    omo_live_destroy(live);
    omo_cues_destroy(cues);
}
END_TEST

/** The cue that is shown while the hand is held out at 10 s. */
static enum omo_cue cue_at_10_s(const struct scene *s)
{
    struct omo_live_settings course;
    struct omo_live *live = NULL;
    struct omo_cues *cues = NULL;
    struct omo_live_view view;
    enum omo_cue cue = OMO_CUE_NONE;
    film(s);
    omo_live_settings_default(&course);
    course.measure = settings;
    course.neutral_s = 2;
    ck_assert_int_eq(omo_live_create(&course, &live), OMO_OK);
    ck_assert_int_eq(omo_cues_create(&settings, &cues), OMO_OK);
    for (size_t k = 0; frames[k].time_s < 10; k++) {
        ck_assert_int_eq(omo_live_step(live, &frames[k], &view), OMO_OK);
        struct omo_cue_input in = {.time_s = frames[k].time_s,
                                   .picture_width = WIDTH,
                                   .picture_height = HEIGHT,
                                   .luma_mean = 120,
                                   .lone_px = NAN,
                                   .view = &view};
        cue = omo_cues_step(cues, &in);
    }
    omo_live_destroy(live);
    omo_cues_destroy(cues);
    return cue;
}

START_TEST(an_elbow_that_drifts_and_a_trunk_that_turns_have_their_cues)
{
    struct scene s = {.top_deg = 40, .chest = true};
    ck_assert_int_eq(cue_at_10_s(&s), OMO_CUE_NONE);
    s.out_deg = 25;
    ck_assert_int_eq(cue_at_10_s(&s), OMO_CUE_ELBOW_AWAY);
    s.out_deg = 0;
    s.twist_ratio = 0.14;
    ck_assert_int_eq(cue_at_10_s(&s), OMO_CUE_TURNING);
}
END_TEST

/* ---- how far out ---- */

static const struct {
    double at_deg;
    const char *says;
} outs[] = {
    {NAN, "not known"},
    {0, "at 0 degrees of abduction, not at 90"},
    {45, "at 45 degrees of abduction, not at 90"},
    {79, "at 79 degrees of abduction, not at 90"},
    {80, "Rotation at 90 degrees"},
    {100, "Rotation at 90 degrees"},
    {101, "not at 90"},
};

START_TEST(at_90_is_said_of_80_to_100_alone)
{
    for (size_t k = 0; k < 90; k++) {
        struct omo_markers *m = &frames[k].markers;
        frames[k] =
            (struct omo_track_frame){.index = (int64_t)k, .time_s = (double)k / RATE};
        for (int r = 0; r < OMO_ROLE_COUNT; r++)
            m->role[r] = (struct omo_marker){.x_px = NAN, .y_px = NAN};
        m->role[OMO_ELBOW] = (struct omo_marker){OMO_SEEN, 600, 500, 14, 0.1};
        m->role[OMO_WRIST] = (struct omo_marker){OMO_SEEN, 600, 400, 14, 0.1};
    }
    omo_measure_settings_default(&settings);
    settings.movement = omo_movement_find(table, "external-rotation");
    settings.position = settings.movement->position_default;
    settings.rotation_at_abduction_deg = outs[_i].at_deg;
    ck_assert_int_eq(omo_measure(&settings, frames, 90, rows, &result), OMO_OK);
    ck_assert_ptr_nonnull(strstr(result.note, outs[_i].says));
    ck_assert_double_eq_tol(result.max_deg, 0, 1e-9); /* upright on the back */
}
END_TEST

#define COUNT(array) (int)(sizeof(array) / sizeof(array)[0])

int main(void)
{
    Suite *suite = suite_create("rotation");
    TCase *tc = tcase_create("closed forms");
    tcase_add_unchecked_fixture(tc, load, unload);
    tcase_add_test(tc, from_far_away_the_turn_is_the_arc_sine_of_the_wrists_distance);
    tcase_add_loop_test(tc, an_error_of_the_wrists_place_grows_as_one_over_the_cosine, 0,
                        COUNT(growth));
    tcase_add_loop_test(tc,
                        perspective_and_a_forearm_that_is_not_level_are_undone_exactly, 0,
                        COUNT(stands));
    tcase_add_test(tc, without_perspective_an_arm_aside_would_read_degrees_wrong);
    tcase_add_test(tc, a_marker_on_the_skin_that_faces_the_camera_is_taken_to_the_bone);
    tcase_add_test(tc, a_wrist_that_seems_too_far_is_said_to_be);
    suite_add_tcase(suite, tc);
    tc = tcase_create("takes");
    tcase_add_unchecked_fixture(tc, load, unload);
    tcase_add_loop_test(tc, a_take_comes_back_for_either_side_and_mirrored, 0,
                        COUNT(ways));
    tcase_add_test(tc, where_the_hand_hides_the_wrist_the_cell_is_empty);
    tcase_add_test(tc, a_top_in_the_blind_place_is_no_maximum);
    tcase_add_test(tc, uncertainty_grows_with_the_angle_and_with_a_guess);
    tcase_add_loop_test(tc, the_stated_uncertainty_holds_for_another_forearm, 0,
                        COUNT(lengths_m));
    tcase_add_test(tc, a_length_in_millimetres_needs_the_markers_size);
    tcase_add_test(tc, an_elbow_that_leaves_the_side_is_told);
    tcase_add_test(tc, a_trunk_that_turns_is_told_where_the_breastbone_is_seen);
    tcase_add_test(tc, a_live_course_rests_on_the_belly_and_passes_the_blind_place);
    tcase_add_test(tc, an_elbow_that_drifts_and_a_trunk_that_turns_have_their_cues);
    tcase_add_loop_test(tc, at_90_is_said_of_80_to_100_alone, 0, COUNT(outs));
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed != 0;
}
