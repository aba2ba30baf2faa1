/* Angles by construction: a figure in space is filmed in every way that is allowed, and
 * the angle that it was given must come back. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "body_model.h"
#include "omogon/geometry.h"

#define FRAMES_MAX    1200
#define TOL_EXACT_DEG 1e-6
/* The constant of the shoulder-hip line is a mean over the rest, into which the very
 * beginning of the raise and its lean still count. */
#define TOL_REST_DEG 0.005
/* The filter rounds the corners of a movement of 2 s by this much at most. */
#define TOL_FILTER_DEG 0.25

static struct omo_track_frame frames[FRAMES_MAX];
static struct omo_trace_row rows[FRAMES_MAX];
static struct omo_result result;
static struct omo_measure_settings settings;
static struct omo_movement_table *table;

static void load_table(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
}

static void drop_table(void)
{
    omo_movement_table_destroy(table);
}

/** Films and measures; returns the number of frames. */
static size_t measure_figure(const struct figure *figure)
{
    size_t count = figure_frames(figure);
    ck_assert_uint_le(count, FRAMES_MAX);
    figure_film(figure, frames, count);
    figure_settings(figure, table, &settings);
    ck_assert_int_eq(omo_measure(&settings, frames, count, rows, &result), OMO_OK);
    return count;
}

static void name_figure(const struct figure *f, char *text, size_t size)
{
    snprintf(text, size, "%s, %s, %s%s%s%s%s%s", f->movement, omo_side_name(f->side),
             omo_position_name(f->position), f->from_behind ? ", from behind" : "",
             f->mirrored ? ", mirrored" : "", f->hip ? ", hip" : "",
             f->chest ? ", chest" : "", f->arm_at_side ? ", arm at the side" : "");
}

static void expect_angles(const struct figure *figure, double tolerance_deg)
{
    char name[160];
    name_figure(figure, name, sizeof name);
    size_t count = measure_figure(figure);
    for (size_t k = 0; k < count; k++) {
        double want_deg = figure_angle_deg(figure, frames[k].time_s);
        ck_assert_msg(fabs(rows[k].angle_image_deg - want_deg) <= tolerance_deg,
                      "%s: frame %zu: image angle %.6f, wanted %.6f", name, k,
                      rows[k].angle_image_deg, want_deg);
        ck_assert_msg(fabs(rows[k].angle_deg - want_deg) <=
                          tolerance_deg + TOL_FILTER_DEG,
                      "%s: frame %zu: angle %.6f, wanted %.6f", name, k,
                      rows[k].angle_deg, want_deg);
        ck_assert_double_eq(rows[k].angle_raw_deg, rows[k].angle_image_deg);
    }
    ck_assert_msg(fabs(result.max_deg - figure->top_deg) <= tolerance_deg + 0.05,
                  "%s: max %.4f, wanted %.4f", name, result.max_deg, figure->top_deg);
    ck_assert_msg(fabs(result.held_max_deg - figure->top_deg) <= tolerance_deg + 0.05,
                  "%s: held %.4f", name, result.held_max_deg);
    ck_assert_msg(fabs(result.rest_deg - figure->rest_deg) <= tolerance_deg + 0.1,
                  "%s: rest %.4f", name, result.rest_deg);
    ck_assert_msg(result.repetitions == 1, "%s: %d repetitions", name,
                  result.repetitions);
    ck_assert_msg(!result.against_direction, "%s: against direction", name);
    ck_assert_msg(result.seen_ratio == 1.0, "%s: seen %.3f", name, result.seen_ratio);
}

/* Every movement's top, and a lean and a hip line that are its own. */
static const struct {
    const char *movement;
    double rest_deg, top_deg, lean_deg, hip_offset_deg;
} moves[] = {
    {"flexion", 4, 152, 9, 5},           {"flexion", -6, 184, 0, -4},
    {"extension", -3, 48, 7, 5},         {"abduction", 5, 141, 12, 7},
    {"abduction", 5, 179.5, -4, 7},      {"adduction", -5, 33, 6, 7},
    {"scaption", 4, 150, 8, 7},          {"external-rotation", 2, 81, 0, 0},
    {"internal-rotation", -2, 66, 0, 0}, {"pendulum", 1, 42, 0, 0},
};
#define MOVE_COUNT (int)(sizeof moves / sizeof moves[0])

static bool rotation(const char *movement)
{
    return strstr(movement, "rotation") != NULL;
}

static struct figure figure_of(int move)
{
    return (struct figure){.movement = moves[move].movement,
                           .rest_deg = moves[move].rest_deg,
                           .top_deg = moves[move].top_deg};
}

/** Calls `expect` for every side, position, way of filming that the movement allows. */
static void in_every_way(struct figure base, void (*expect)(const struct figure *))
{
    const struct omo_movement *m = omo_movement_find(table, base.movement);
    ck_assert_ptr_nonnull(m);
    for (int side = 0; side < 2; side++)
        for (int position = 0; position < OMO_POSITION_COUNT; position++)
            for (int behind = 0; behind < 2; behind++)
                for (int mirrored = 0; mirrored < 2; mirrored++) {
                    if (!m->position_allowed[position] ||
                        (behind && m->view != OMO_VIEW_FRONT) ||
                        (behind && position == OMO_SUPINE))
                        continue;
                    struct figure f = base;
                    f.side = (enum omo_side)side;
                    f.position = (enum omo_position)position;
                    f.from_behind = behind;
                    f.mirrored = mirrored;
                    expect(&f);
                }
}

static void expect_exactly(const struct figure *f)
{
    expect_angles(f, TOL_EXACT_DEG);
}

START_TEST(angles_come_back_without_a_trunk_marker)
{
    in_every_way(figure_of(_i), expect_exactly);
}
END_TEST

static void expect_against_the_hip(const struct figure *f)
{
    struct figure leaning = *f;
    for (int i = 0; i < MOVE_COUNT; i++) {
        if (moves[i].movement == f->movement && moves[i].top_deg == f->top_deg) {
            leaning.lean_deg = moves[i].lean_deg;
            leaning.hip_offset_deg = moves[i].hip_offset_deg;
        }
    }
    leaning.hip = true;
    expect_angles(&leaning, TOL_REST_DEG);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    /* The constant is the lean that the shoulder-hip line shows at rest: the shoulder is
     * on the side of the raise in flexion and abduction, so the line seems to lean
     * towards it. */
    bool away =
        strcmp(f->movement, "extension") == 0 || strcmp(f->movement, "adduction") == 0;
    double want_deg = away ? leaning.hip_offset_deg : -leaning.hip_offset_deg;
    ck_assert_double_eq_tol(result.trunk_rest_offset_deg, want_deg, TOL_REST_DEG);
    ck_assert_double_eq_tol(result.lean_at_max_deg, leaning.lean_deg, 0.05);
    size_t count = figure_frames(&leaning);
    for (size_t k = 0; k < count; k++) {
        double lean_deg = leaning.lean_deg * figure_share(&leaning, frames[k].time_s);
        ck_assert_double_eq_tol(rows[k].trunk_lean_deg, lean_deg, 0.1);
        if (isfinite(rows[k].angle_vertical_deg))
            ck_assert_double_eq_tol(rows[k].angle_vertical_deg,
                                    rows[k].angle_deg + rows[k].trunk_lean_deg, 1e-9);
        ck_assert_double_eq_tol(rows[k].hike_ratio, 0, 1e-4);
        ck_assert_uint_eq(rows[k].quality, 0);
    }
}

static void expect_against_chest_and_hip(const struct figure *f)
{
    struct figure leaning = *f;
    for (int i = 0; i < MOVE_COUNT; i++) {
        if (moves[i].movement == f->movement && moves[i].top_deg == f->top_deg)
            leaning.lean_deg = moves[i].lean_deg;
    }
    leaning.hip = leaning.chest = true;
    leaning.hike_mm = 45;
    bool front = omo_movement_find(table, f->movement)->view == OMO_VIEW_FRONT;
    if (front) /* breastbone in the middle, hip bone 90 mm to the side */
        leaning.chest_aside_mm = 90;
    expect_angles(&leaning, TOL_REST_DEG); /* made vertical at rest in every view */
    ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
    if (front) {
        /* The breastbone is away from the arm, which for abduction is a lean. */
        double line_deg = atan(90.0 / 350.0) * 180 / M_PI;
        bool towards = strcmp(f->movement, "adduction") == 0;
        ck_assert_double_eq_tol(result.trunk_rest_offset_deg,
                                towards ? -line_deg : line_deg, TOL_REST_DEG);
    } else if (f->position == OMO_SIDE_LYING) {
        ck_assert(isnan(result.trunk_rest_offset_deg)); /* no vertical in the picture */
    } else {
        ck_assert_double_eq_tol(result.trunk_rest_offset_deg, 0, TOL_REST_DEG);
    }
    ck_assert_double_eq_tol(result.lean_at_max_deg, leaning.lean_deg, 0.05);
    /* 45 mm on an upper arm of 300 mm, marker size known. */
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.15, 1e-3);
    size_t count = figure_frames(&leaning);
    for (size_t k = 0; k < count; k++) {
        double hike_mm = 45 * figure_share(&leaning, frames[k].time_s);
        /* The rest's mean takes in the first two degrees of the raise. */
        ck_assert_double_eq_tol(rows[k].hike_mm, hike_mm, 0.2);
    }
}

START_TEST(angles_come_back_against_a_leaning_trunk)
{
    if (rotation(moves[_i].movement) || strcmp(moves[_i].movement, "pendulum") == 0)
        return;
    in_every_way(figure_of(_i), expect_against_the_hip);
    in_every_way(figure_of(_i), expect_against_chest_and_hip);
}
END_TEST

START_TEST(rotations_come_back_with_the_arm_at_the_side)
{
    /* Lying, the camera can look along an arm that lies at the side. */
    static const enum omo_position lying[] = {OMO_SUPINE, OMO_SIDE_LYING, OMO_PRONE};
    for (size_t i = 0; i < 3; i++)
        for (int side = 0; side < 2; side++)
            for (int move = 0; move < MOVE_COUNT; move++) {
                struct figure f = figure_of(move);
                if (!rotation(f.movement))
                    continue;
                f.position = lying[i];
                f.side = (enum omo_side)side;
                f.arm_at_side = true;
                expect_exactly(&f);
            }
}
END_TEST

START_TEST(a_rotation_needs_no_shoulder_and_claims_no_trunk)
{
    struct figure f = {.movement = "external-rotation", .top_deg = 70, .side = OMO_RIGHT};
    size_t count = measure_figure(&f);
    for (size_t k = 0; k < count; k++) {
        ck_assert_int_eq(rows[k].reference, OMO_REFERENCE_NONE);
        ck_assert_uint_eq(rows[k].quality, 0);
        ck_assert(isnan(rows[k].trunk_lean_deg) && isnan(rows[k].hike_ratio));
        ck_assert(isnan(rows[k].elbow_flexion_deg));
    }
    ck_assert(isnan(result.rotation_at_abduction_deg));
    settings.rotation_at_abduction_deg = 90;
    ck_assert_int_eq(omo_measure(&settings, frames, count, rows, &result), OMO_OK);
    ck_assert_double_eq(result.rotation_at_abduction_deg, 90);
}
END_TEST

START_TEST(elbow_flexion_is_zero_for_a_straight_arm)
{
    for (double bend_deg = 0; bend_deg <= 90; bend_deg += 30) {
        struct figure f = {.movement = "flexion",
                           .side = OMO_LEFT,
                           .rest_deg = 3,
                           .top_deg = 100,
                           .wrist = true,
                           .elbow_flexion_deg = bend_deg};
        size_t count = measure_figure(&f);
        for (size_t k = 0; k < count; k++)
            ck_assert_double_eq_tol(rows[k].elbow_flexion_deg, bend_deg, TOL_EXACT_DEG);
    }
    struct figure f = {.movement = "flexion", .top_deg = 100};
    measure_figure(&f);
    ck_assert(isnan(rows[0].elbow_flexion_deg));
}
END_TEST

START_TEST(an_arm_hanging_out_is_not_zeroed)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_RIGHT,
                       .rest_deg = 11,
                       .top_deg = 90};
    measure_figure(&f);
    ck_assert_double_eq_tol(result.rest_deg, 11, 0.1);
    ck_assert_double_eq_tol(rows[0].angle_deg, 11, TOL_EXACT_DEG);
}
END_TEST

START_TEST(a_lean_is_estimated_from_the_shoulders_shift_and_said_to_be)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_LEFT,
                       .rest_deg = 4,
                       .top_deg = 120,
                       .lean_deg = 10,
                       .hike_mm = 30};
    size_t count = measure_figure(&f);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_SHIFT);
    /* The trunk is taken as 1.548 upper arms, 464 mm, and is 490 mm and risen. */
    ck_assert_double_eq_tol(result.lean_at_max_deg, 10, 1.3);
    ck_assert_double_eq_tol(result.max_deg, 120, 1.3);
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.01);
    for (size_t k = 0; k < count; k++) {
        ck_assert_uint_eq(rows[k].quality, OMO_QUALITY_ESTIMATED_LEAN);
        ck_assert_int_eq(rows[k].reference, OMO_REFERENCE_SHIFT);
        /* What is guessed about the lean cancels against gravity. */
        double lean_deg = 10 * figure_share(&f, frames[k].time_s);
        double want_deg = figure_angle_deg(&f, frames[k].time_s) + lean_deg;
        ck_assert_double_eq_tol(rows[k].angle_vertical_deg, want_deg, TOL_FILTER_DEG);
    }
    ck_assert_ptr_nonnull(strstr(result.note, "estimated from the shoulder's shift"));
}
END_TEST

START_TEST(a_step_aside_is_not_taken_for_a_lean)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_RIGHT,
                       .rest_deg = 4,
                       .top_deg = 120};
    size_t count = figure_frames(&f);
    figure_film(&f, frames, count);
    figure_settings(&f, table, &settings);
    for (size_t k = 90; k < count; k++) {
        /* 0.4 m to the side over half a second */
        double px = 160 * fmin(1.0, ((double)k - 90) / 15);
        for (int role = 0; role < OMO_ROLE_COUNT; role++)
            frames[k].markers.role[role].x_px += px;
    }
    ck_assert_int_eq(omo_measure(&settings, frames, count, rows, &result), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, 120, 0.1);
    ck_assert_uint_eq(rows[count - 1].quality, OMO_QUALITY_ASSUMED_VERTICAL);
    ck_assert_int_eq(rows[count - 1].reference, OMO_REFERENCE_NONE);
}
END_TEST

START_TEST(gravity_is_not_claimed_where_the_camera_looks_down)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_RIGHT,
                       .position = OMO_SUPINE,
                       .hip = true,
                       .chest = true,
                       .rest_deg = 4,
                       .top_deg = 90,
                       .lean_deg = 5};
    size_t count = measure_figure(&f);
    for (size_t k = 0; k < count; k++)
        ck_assert(isnan(rows[k].angle_vertical_deg));
    ck_assert_double_eq_tol(result.lean_at_max_deg, 5, 0.1);
    f.position = OMO_SIDE_LYING; /* the camera looks at the front again */
    measure_figure(&f);
    ck_assert_double_eq_tol(rows[0].angle_vertical_deg, 4, 0.1);
    f.movement = "flexion"; /* and down again */
    measure_figure(&f);
    ck_assert(isnan(rows[0].angle_vertical_deg));
}
END_TEST

START_TEST(looking_down_the_lean_is_counted_from_rest)
{
    struct figure f = {.movement = "flexion",
                       .side = OMO_RIGHT,
                       .position = OMO_SIDE_LYING,
                       .hip = true,
                       .chest = true,
                       .rest_deg = 4,
                       .top_deg = 90,
                       .lean_deg = 5};
    size_t count = figure_frames(&f);
    figure_film(&f, frames, count);
    figure_settings(&f, table, &settings);
    /* The camera hangs 10 degrees askew. */
    double c = cos(10 * M_PI / 180), s = sin(10 * M_PI / 180);
    for (size_t k = 0; k < count; k++)
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            struct omo_marker *m = &frames[k].markers.role[role];
            double x = m->x_px - 640, y = m->y_px - 360;
            m->x_px = 640 + c * x - s * y;
            m->y_px = 360 + s * x + c * y;
        }
    ck_assert_int_eq(omo_measure(&settings, frames, count, rows, &result), OMO_OK);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 5, 0.05);
    ck_assert_double_eq_tol(result.max_deg, 90, 0.05);
    ck_assert_double_eq_tol(rows[0].trunk_lean_deg, 0, 0.05);
}
END_TEST

START_TEST(the_arms_full_length_is_that_at_rest_or_the_longest_seen)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_RIGHT,
                       .hip = true,
                       .rest_deg = 3,
                       .top_deg = 90,
                       .plane_deg = 35,
                       .rest_s = 1.2,
                       .hold_s = 100,
                       .rate_hz = 10};
    /* Nineteen frames in twenty and more are foreshortened: the rest knows better. */
    size_t count = measure_figure(&f);
    ck_assert_uint_ne(rows[count / 2].quality & OMO_QUALITY_OUT_OF_PLANE, 0);
    /* Without a rest the longest twentieth counts. */
    f.hold_s = 6;
    count = figure_frames(&f);
    figure_film(&f, frames, count);
    ck_assert_int_eq(omo_measure(&settings, frames + 8, count - 8 - 20, rows, &result),
                     OMO_OK);
    ck_assert(isnan(result.rest_deg));
    ck_assert_uint_ne(rows[count / 2].quality & OMO_QUALITY_OUT_OF_PLANE, 0);
}
END_TEST

START_TEST(lying_without_a_trunk_marker_says_what_was_assumed)
{
    struct figure f = {.movement = "flexion",
                       .side = OMO_RIGHT,
                       .position = OMO_SUPINE,
                       .rest_deg = 5,
                       .top_deg = 160};
    measure_figure(&f);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_NONE);
    ck_assert_ptr_nonnull(strstr(result.note, "feet towards picture right"));
    ck_assert(rows[0].quality == OMO_QUALITY_ASSUMED_VERTICAL);
    f.side = OMO_LEFT;
    measure_figure(&f);
    ck_assert_ptr_nonnull(strstr(result.note, "feet towards picture left"));
}
END_TEST

START_TEST(an_arm_out_of_the_picture_plane_is_marked)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_RIGHT,
                       .hip = true,
                       .rest_deg = 3,
                       .top_deg = 90,
                       .plane_deg = 35};
    size_t count = measure_figure(&f);
    size_t marked = 0;
    for (size_t k = 0; k < count; k++) {
        /* The length seen, against the arm at rest, is the closed form's. */
        double a = figure_angle_deg(&f, frames[k].time_s) * M_PI / 180;
        double c = cos(35 * M_PI / 180);
        double seen = hypot(sin(a) * c, cos(a));
        bool want = seen < 0.90 - 1e-3, unsure = fabs(seen - 0.90) < 2e-3;
        bool got = (rows[k].quality & OMO_QUALITY_OUT_OF_PLANE) != 0;
        ck_assert_msg(unsure || got == want, "frame %zu: seen %.4f", k, seen);
        marked += got;
    }
    ck_assert_uint_gt(marked, 0);
    double turned_u95 = result.max_u95_deg;
    ck_assert_ptr_nonnull(strstr(result.note, "out of the picture's plane"));
    f.plane_deg = 0;
    measure_figure(&f);
    /* Seen at 0.82 of its length the arm may be 35 degrees out of the plane, whatever its
     * angle; at 90 degrees the plain allowance is 0. */
    double want = 2 * omo_projection_error_max_deg(35);
    ck_assert_double_eq_tol(sqrt(pow(turned_u95, 2) - pow(result.max_u95_deg, 2)), want,
                            0.1);
}
END_TEST

START_TEST(scale_and_frame_rate_change_no_angle)
{
    static const double scales[] = {0.15, 0.4, 1.1}, rates[] = {15, 24, 59.94, 120};
    for (size_t i = 0; i < 3; i++)
        for (size_t j = 0; j < 4; j++) {
            struct figure f = {.movement = "flexion",
                               .side = OMO_LEFT,
                               .hip = true,
                               .hip_offset_deg = 3,
                               .rest_deg = 4,
                               .top_deg = 130,
                               .lean_deg = 6,
                               .scale_px_per_mm = scales[i],
                               .rate_hz = rates[j]};
            size_t count = measure_figure(&f);
            for (size_t k = 0; k < count; k++)
                ck_assert_double_eq_tol(rows[k].angle_image_deg,
                                        figure_angle_deg(&f, frames[k].time_s),
                                        TOL_REST_DEG);
            ck_assert_double_eq_tol(result.max_deg, 130, 0.3);
            ck_assert_double_eq_tol(result.frames_per_second, rates[j], 1e-6);
        }
}
END_TEST

START_TEST(pixel_noise_stays_within_its_share_of_the_angle)
{
    /* 0.1 px a axis on an upper arm of 130 px and a trunk of about 200 px. */
    struct figure f = {.movement = "flexion",
                       .side = OMO_RIGHT,
                       .hip = true,
                       .rest_deg = 4,
                       .top_deg = 150,
                       .lean_deg = 5,
                       .repetitions = 3,
                       .scale_px_per_mm = 130.0 / 300.0};
    size_t count = figure_frames(&f);
    figure_film(&f, frames, count);
    figure_settings(&f, table, &settings);
    unsigned state = 7;
    for (size_t k = 0; k < count; k++)
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            frames[k].markers.role[role].x_px += 0.1 * figure_noise(&state);
            frames[k].markers.role[role].y_px += 0.1 * figure_noise(&state);
        }
    ck_assert_int_eq(omo_measure(&settings, frames, count, rows, &result), OMO_OK);
    double raw = 0, filtered = 0;
    for (size_t k = 0; k < count; k++) {
        double want_deg = figure_angle_deg(&f, frames[k].time_s);
        raw += pow(rows[k].angle_raw_deg - want_deg, 2);
        filtered += pow(rows[k].angle_deg - want_deg, 2);
    }
    raw = sqrt(raw / (double)count);
    filtered = sqrt(filtered / (double)count);
    /* Independent: sqrt(2) * 0.1 / 130 = 0.062 degrees for the arm, 0.038 for the trunk;
     * the shoulder they share takes part of it back at the top. */
    ck_assert_double_lt(raw, 0.085);
    ck_assert_double_gt(raw, 0.04);
    ck_assert_double_lt(filtered, 0.8 * raw);
    ck_assert_double_eq_tol(result.max_deg, 150, 0.15);
}
END_TEST

START_TEST(the_two_sides_are_mirror_images_to_the_bit_width)
{
    for (int move = 0; move < MOVE_COUNT; move++) {
        struct figure f = figure_of(move);
        f.hip = true;
        f.side = OMO_RIGHT;
        size_t count = measure_figure(&f);
        static struct omo_trace_row right[FRAMES_MAX];
        memcpy(right, rows, count * sizeof *rows);
        struct omo_result right_result = result;
        f.side = OMO_LEFT;
        measure_figure(&f);
        for (size_t k = 0; k < count; k++)
            ck_assert_double_eq_tol(right[k].angle_deg, rows[k].angle_deg, 1e-9);
        ck_assert_double_eq_tol(right_result.max_deg, result.max_deg, 1e-9);
        /* The figure is mirrored about pixel 640, the assumed lens has its axis at 639.5:
         * level and lens change by 0.003 degrees a pixel. */
        ck_assert_double_eq_tol(right_result.max_u95_deg, result.max_u95_deg, 0.005);
    }
}
END_TEST

START_TEST(same_input_gives_the_same_bits)
{
    struct figure f = {.movement = "abduction",
                       .side = OMO_LEFT,
                       .hip = true,
                       .rest_deg = 4,
                       .top_deg = 120,
                       .lean_deg = 3};
    size_t count = measure_figure(&f);
    static struct omo_trace_row before[FRAMES_MAX];
    memcpy(before, rows, count * sizeof *rows);
    memset(rows, 0x55, sizeof rows);
    measure_figure(&f);
    for (size_t k = 0; k < count; k++) {
        ck_assert_mem_eq(&before[k].angle_deg, &rows[k].angle_deg, sizeof(double));
        ck_assert_mem_eq(&before[k].trunk_lean_deg, &rows[k].trunk_lean_deg,
                         sizeof(double));
        ck_assert_uint_eq(before[k].quality, rows[k].quality);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("motion");
    TCase *tc = tcase_create("angles by construction");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_set_timeout(tc, 60);
    tcase_add_loop_test(tc, angles_come_back_without_a_trunk_marker, 0, MOVE_COUNT);
    tcase_add_loop_test(tc, angles_come_back_against_a_leaning_trunk, 0, MOVE_COUNT);
    tcase_add_test(tc, rotations_come_back_with_the_arm_at_the_side);
    tcase_add_test(tc, a_rotation_needs_no_shoulder_and_claims_no_trunk);
    tcase_add_test(tc, elbow_flexion_is_zero_for_a_straight_arm);
    tcase_add_test(tc, an_arm_hanging_out_is_not_zeroed);
    tcase_add_test(tc, a_lean_is_estimated_from_the_shoulders_shift_and_said_to_be);
    tcase_add_test(tc, a_step_aside_is_not_taken_for_a_lean);
    tcase_add_test(tc, gravity_is_not_claimed_where_the_camera_looks_down);
    tcase_add_test(tc, looking_down_the_lean_is_counted_from_rest);
    tcase_add_test(tc, the_arms_full_length_is_that_at_rest_or_the_longest_seen);
    tcase_add_test(tc, lying_without_a_trunk_marker_says_what_was_assumed);
    tcase_add_test(tc, an_arm_out_of_the_picture_plane_is_marked);
    tcase_add_test(tc, scale_and_frame_rate_change_no_angle);
    tcase_add_test(tc, pixel_noise_stays_within_its_share_of_the_angle);
    tcase_add_test(tc, the_two_sides_are_mirror_images_to_the_bit_width);
    tcase_add_test(tc, same_input_gives_the_same_bits);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
