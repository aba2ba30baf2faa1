/* The simulated camera: its picture and its truth agree, and the same seed gives the same
   bits. What the settings and scene files promise is in test_scenes.c. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "scene_fixture.h"

#define DEG (180 / 3.14159265358979323846)

/* Rounding to 8 bits and coverage in 64ths of a pixel leave far less. */
#define TOL_CENTRE_PX 0.02
/* Printed truth and the angle computed here differ by rounding alone. */
#define TOL_ANGLE_DEG 1e-9
/* of a small frame with seed 7 */
#define PICTURE_DIGEST 9633839652242889663u

/* ---- bits ---- */

static uint64_t digest(const struct omo_planes *p)
{
    uint64_t sum = 1469598103934665603u; /* FNV-1a: Fowler, Noll and Vo */
    const uint8_t *plane[3] = {p->y, p->cb, p->cr};
    for (int k = 0; k < 3; k++) {
        int width = k == 0 ? p->width : p->chroma_width;
        int height = k == 0 ? p->height : p->chroma_height;
        int stride = k == 0 ? p->y_stride : p->chroma_stride;
        for (int y = 0; y < height; y++)
            for (int x = 0; x < width; x++)
                sum = (sum ^ plane[k][y * stride + x]) * 1099511628211u;
    }
    return sum;
}

static const char *const small[] = {"width",      "320", "height",  "180",
                                    "sticker_mm", "60",  "seconds", "6",
                                    "quality",    "0",   NULL};

static uint64_t digest_of(const char *seed, long frame)
{
    struct scene_run run;
    const char *const pairs[] = {"seed", seed, NULL};
    scene_run_open(&run, "-", small);
    scene_run_set(&run, pairs);
    scene_run_to(&run, frame);
    uint64_t sum = digest(&run.frame.planes);
    scene_run_close(&run);
    return sum;
}

START_TEST(the_same_seed_gives_the_same_bits)
{
    ck_assert_uint_eq(digest_of("7", 100), digest_of("7", 100));
}
END_TEST

START_TEST(another_seed_gives_other_bits)
{
    ck_assert_uint_ne(digest_of("7", 3), digest_of("8", 3));
}
END_TEST

START_TEST(two_frames_have_different_noise)
{
    ck_assert_uint_ne(digest_of("7", 3), digest_of("7", 4));
}
END_TEST

/* What could depend on the frames before: a lamp that drifts, a camera that is knocked,
   pictures that are repeated. */
static const char *const passed_over[][5] = {{"drift_ratio", "0.5", "drift_s", "2", NULL},
                                             {"bump_s", "1", NULL},
                                             {"repeat_every", "5", NULL},
                                             {"repeat_every", "1", NULL},
                                             {"fps", "10", "quality", "80", NULL}};
enum { PASSED_COUNT = sizeof passed_over / sizeof passed_over[0] };

START_TEST(frames_that_are_passed_over_change_no_bit_of_the_next)
{
    struct scene_run all, one;
    scene_run_open(&all, "-", small);
    scene_run_set(&all, passed_over[_i]);
    scene_run_open(&one, "-", small);
    scene_run_set(&one, passed_over[_i]);
    for (int i = 0; i <= 40; i++)
        scene_run_to(&all, i);
    ck_assert_int_eq(omo_simulated_skip(one.source, 40), OMO_OK);
    ck_assert_int_eq(omo_source_next(one.source, true, &one.frame), OMO_OK);
    omo_simulated_truth(one.source, &one.truth);
    ck_assert_int_eq(one.frame.index, 40);
    ck_assert_uint_eq(digest(&one.frame.planes), digest(&all.frame.planes));
    ck_assert_int_eq(memcmp(&one.truth.marker[OMO_ELBOW], &all.truth.marker[OMO_ELBOW],
                            sizeof one.truth.marker[0]),
                     0);
    ck_assert_int_eq(omo_simulated_skip(one.source, 1000), OMO_END);
    ck_assert_int_eq(omo_source_next(one.source, true, &one.frame), OMO_END);
    scene_run_close(&all);
    scene_run_close(&one);
}
END_TEST

/* The bits are the same on every machine. Whoever changes the picture on purpose changes
   this number with it; a number that differs between two machines is a fault. */
START_TEST(the_bits_are_the_same_on_every_machine)
{
    ck_assert_uint_eq(digest_of("7", 100), PICTURE_DIGEST);
}
END_TEST

START_TEST(jpeg_bytes_are_the_same_in_two_runs)
{
    struct scene_run a, b;
    const uint8_t *bytes_a, *bytes_b;
    size_t size_a, size_b;
    double time_s;
    scene_run_open(&a, "-", small);
    scene_run_open(&b, "-", small);
    for (int i = 0; i < 10; i++) {
        ck_assert_int_eq(omo_simulated_next_jpeg(a.source, &bytes_a, &size_a, &time_s),
                         OMO_OK);
        ck_assert_int_eq(omo_simulated_next_jpeg(b.source, &bytes_b, &size_b, &time_s),
                         OMO_OK);
        ck_assert_uint_eq(size_a, size_b);
        ck_assert_mem_eq(bytes_a, bytes_b, size_a);
    }
    scene_run_close(&a);
    scene_run_close(&b);
}
END_TEST

/* ---- where the stickers are ---- */

/** Light of a pixel, 0 to 1: sRGB (IEC 61966-2-1) undone; 4:4:4 planes. */
static void light_at(const struct omo_planes *p, int x, int y, double rgb[3])
{
    int at = y * p->chroma_stride + x;
    const double coded[3] = {p->y[y * p->y_stride + x], p->cb[at], p->cr[at]};
    omo_ycbcr_to_srgb(coded, rgb);
    for (int i = 0; i < 3; i++) {
        double v = fmin(fmax(rgb[i] / 255, 0), 1);
        rgb[i] = v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
    }
}

/**
 * Centroid of what differs between two pictures that differ in the stickers' colour
 * alone: the background falls out, and in linear light what is left is coverage.
 */
static void centroid(const struct omo_planes *dark, const struct omo_planes *light,
                     const struct omo_truth_marker *truth, double reach_px, double *x_px,
                     double *y_px)
{
    double sum = 0, sum_x = 0, sum_y = 0;
    int reach = (int)reach_px, x0 = (int)lround(truth->x_px),
        y0 = (int)lround(truth->y_px);
    for (int y = y0 - reach; y <= y0 + reach; y++)
        for (int x = x0 - reach; x <= x0 + reach; x++) {
            double a[3], b[3];
            light_at(dark, x, y, a);
            light_at(light, x, y, b);
            double share = b[0] - a[0] + b[1] - a[1] + b[2] - a[2];
            sum += share;
            sum_x += share * x;
            sum_y += share * y;
        }
    *x_px = sum_x / sum;
    *y_px = sum_y / sum;
}

static const struct {
    const char *name;
    double time_s;
    double reach_ratio, tolerance_px;
    const char *pairs[7];
} exact[] = {
    {"arm hanging", 0.2, 0.8, TOL_CENTRE_PX, {NULL}},
    {"arm rising", 3, 0.8, TOL_CENTRE_PX, {NULL}},
    {"arm high", 4.6, 0.8, TOL_CENTRE_PX, {NULL}},
    {"left, abduction",
     3,
     0.8,
     TOL_CENTRE_PX,
     {"movement", "abduction", "side", "left", NULL}},
    {"stickers of 8 px", 3, 1, TOL_CENTRE_PX, {"sticker_mm", "16", NULL}},
    {"camera rolled", 3, 0.8, TOL_CENTRE_PX, {"roll_deg", "7", NULL}},
    {"lying", 3, 0.8, TOL_CENTRE_PX, {"position", "supine", NULL}},
    /* The image of a disc's centre is not the centre of its image when the disc is seen
       aslant: f R^2 sin(t) cos(t) / d^2, 0.1 px for 56 mm at 1.5 m and 20 degrees. */
    {"large stickers, near",
     3,
     0.7,
     0.15,
     {"sticker_mm", "56", "distance_m", "1.5", NULL}},
    {"turned body", 3, 0.8, 0.06, {"yaw_deg", "25", "movement", "abduction", NULL}},
    /* The mean over an exposure lies inside the bend of the path: r w^2 T^2 / 24, 0.07 px
       for 270 px, 225 degrees a second and 20 ms; the truth is its middle. */
    {"motion blur",
     2.6,
     2,
     0.12,
     {"shutter_ratio", "0.1", "speed_deg_per_s", "120", NULL}},
};
enum { EXACT_COUNT = sizeof exact / sizeof exact[0] };

START_TEST(a_stickers_centroid_is_where_the_truth_says)
{
    struct scene_run dark, light;
    int compared = 0;
    const char *colours[2][3] = {{"one_colour", "60 60 60", NULL},
                                 {"one_colour", "190 190 190", NULL}};
    scene_run_at(&dark, "plain", exact[_i].pairs, 0);
    scene_run_set(&dark, colours[0]);
    scene_run_to(&dark, lround(5 * exact[_i].time_s));
    scene_run_at(&light, "plain", exact[_i].pairs, 0);
    scene_run_set(&light, colours[1]);
    scene_run_to(&light, lround(5 * exact[_i].time_s));
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const struct omo_truth_marker *truth = &dark.truth.marker[i];
        double x, y, reach = truth->diameter_px * exact[_i].reach_ratio;
        if (!truth->placed || truth->visible_ratio < 0.99 ||
            truth->y_px > dark.frame.planes.height - reach - 2)
            continue;
        centroid(&dark.frame.planes, &light.frame.planes, truth, reach, &x, &y);
        ck_assert_msg(fabs(x - truth->x_px) < exact[_i].tolerance_px &&
                          fabs(y - truth->y_px) < exact[_i].tolerance_px,
                      "%s, %s: centroid %.3f %.3f, truth %.3f %.3f", exact[_i].name,
                      omo_role_name((enum omo_role)i), x, y, truth->x_px, truth->y_px);
        compared++;
    }
    ck_assert_int_ge(compared, 3);
    scene_run_close(&dark);
    scene_run_close(&light);
}
END_TEST

START_TEST(a_bands_strip_lies_round_the_truth)
{
    struct scene_run run;
    const char *const pairs[] = {"shape", "band", "sleeve", "none", NULL};
    scene_run_at(&run, "plain", pairs, 4.7);
    const struct omo_truth_marker *elbow = &run.truth.marker[OMO_ELBOW];
    int at = (int)lround(elbow->y_px) * run.frame.planes.chroma_stride +
             (int)lround(elbow->x_px);
    ck_assert_int_gt(run.frame.planes.cb[at], 170); /* blue */
    ck_assert_double_gt(elbow->visible_ratio, 0.97);
    /* 65 degrees of field, and the arm half a shoulder's width nearer than the trunk */
    ck_assert_double_eq_tol(elbow->diameter_px,
                            0.030 * 640 / tan(32.5 / DEG) / (2.1 - 0.129 * 1.7), 0.1);
    scene_run_close(&run);
}
END_TEST

/* ---- angles ---- */

static const struct {
    const char *name, *pairs[9];
} turning[] = {
    {"flexion right", {"movement", "flexion", NULL}},
    {"flexion left", {"movement", "flexion", "side", "left", NULL}},
    {"flexion supine", {"movement", "flexion", "position", "supine", NULL}},
    {"flexion side-lying", {"movement", "flexion", "position", "side-lying", NULL}},
    {"flexion left mirrored",
     {"movement", "flexion", "side", "left", "mirrored", "yes", NULL}},
    {"extension", {"movement", "extension", NULL}},
    {"abduction right", {"movement", "abduction", NULL}},
    {"abduction left behind",
     {"movement", "abduction", "side", "left", "from_behind", "yes", NULL}},
    {"abduction side-lying", {"movement", "abduction", "position", "side-lying", NULL}},
    {"abduction supine", {"movement", "abduction", "position", "supine", NULL}},
    {"adduction", {"movement", "adduction", NULL}},
    {"scaption seated", {"movement", "scaption", "position", "seated", NULL}},
    {"external rotation", {"movement", "external-rotation", NULL}},
    {"external rotation supine left",
     {"movement", "external-rotation", "position", "supine", "side", "left", NULL}},
    {"internal rotation left", {"movement", "internal-rotation", "side", "left", NULL}},
};
enum { TURNING_COUNT = sizeof turning / sizeof turning[0] };

/* In the plane of the picture, the line's angle is the arm's up to the sticker's place on
   the skin (8 mm above the joint: 1.5 degrees), the plane of scaption (4.1 degrees at 30
   degrees of turn: asin(tan(15)^2)) and the camera's nearness. */
START_TEST(the_angle_in_the_picture_follows_the_arm_in_every_movement)
{
    struct scene_run run;
    double highest = -1000, worst = 0;
    scene_run_open(&run, "-", turning[_i].pairs);
    scene_run_set(&run, small);
    for (int i = 0; i < 150; i++) {
        scene_run_to(&run, i);
        highest = fmax(highest, run.truth.angle_deg);
        worst = fmax(worst, fabs(run.truth.angle_deg - run.truth.angle_image_deg));
    }
    ck_assert_msg(highest > 25, "%s: only %.1f degrees", turning[_i].name, highest);
    ck_assert_msg(worst < 7, "%s: the picture's angle is %.1f off", turning[_i].name,
                  worst);
    scene_run_close(&run);
}
END_TEST

static const struct {
    const char *name, *pairs[9];
    double arm_x; /* to which side of the picture the arm is raised */
} beneath[] = {
    {"abduction", {"movement", "abduction", "position", "supine", NULL}, -1},
    {"left abduction",
     {"movement", "abduction", "position", "supine", "side", "left", NULL},
     1},
    {"scaption", {"movement", "scaption", "position", "supine", NULL}, -1},
    {"adduction", {"movement", "adduction", "position", "supine", NULL}, 1},
    {"flexion on the side", {"movement", "flexion", "position", "side-lying", NULL}, 1},
    {"left flexion on the side",
     {"movement", "flexion", "position", "side-lying", "side", "left", NULL},
     -1},
};
enum { BENEATH_COUNT = sizeof beneath / sizeof beneath[0] };

START_TEST(a_camera_that_looks_down_has_the_head_at_the_pictures_top)
{
    struct scene_run run;
    scene_run_at(&run, "-", beneath[_i].pairs, 2.9);
    const struct omo_truth_marker *m = run.truth.marker;
    double down = m[OMO_HIP].y_px - m[OMO_SHOULDER].y_px;
    double aside = fabs(m[OMO_HIP].x_px - m[OMO_SHOULDER].x_px);
    ck_assert_msg(down > 200 && aside < 0.35 * down, "%s: hip %.0f below, %.0f beside",
                  beneath[_i].name, down, aside);
    double out = beneath[_i].arm_x * (m[OMO_ELBOW].x_px - m[OMO_SHOULDER].x_px);
    double arm_deg = DEG * atan2(out, m[OMO_ELBOW].y_px - m[OMO_SHOULDER].y_px);
    ck_assert_msg(fabs(arm_deg - run.truth.angle_deg) < 7,
                  "%s: %.1f in the picture, %.1f", beneath[_i].name, arm_deg,
                  run.truth.angle_deg);
    ck_assert_double_gt(run.truth.angle_deg, 7);
    scene_run_close(&run);
}
END_TEST

START_TEST(the_angle_in_the_picture_comes_from_the_markers_centres)
{
    struct scene_run run;
    const char *const pairs[] = {"markers", "shoulder elbow hip chest", NULL};
    scene_run_at(&run, "-", pairs, 0);
    const struct omo_truth_marker *m = run.truth.marker;
    /* from the vertical to the trunk's line at rest, with the clock */
    double rest = -DEG * atan2(m[OMO_HIP].x_px - m[OMO_CHEST].x_px,
                               m[OMO_HIP].y_px - m[OMO_CHEST].y_px);
    scene_run_close(&run);
    ck_assert_double_gt(fabs(rest), 1);
    scene_run_at(&run, "-", pairs, 3.3);
    double tx = m[OMO_HIP].x_px - m[OMO_CHEST].x_px,
           ty = m[OMO_HIP].y_px - m[OMO_CHEST].y_px;
    double ax = m[OMO_ELBOW].x_px - m[OMO_SHOULDER].x_px,
           ay = m[OMO_ELBOW].y_px - m[OMO_SHOULDER].y_px;
    /* a right arm is raised towards picture right: against the clock */
    double turn = -DEG * atan2(tx * ay - ty * ax, tx * ax + ty * ay);
    /* The line is turned back by what it is off at rest. */
    ck_assert_double_eq_tol(run.truth.angle_image_deg, turn - rest, TOL_ANGLE_DEG);
    scene_run_close(&run);
}
END_TEST

START_TEST(a_line_through_shoulder_and_hip_is_turned_to_be_vertical_at_rest)
{
    struct scene_run run;
    /* a shoulder far ahead of the hip, which leaves the trunk's line slanting */
    const char *const pairs[] = {"forward_mm", "40", "start_deg", "0",
                                 "tremor_deg", "0",  NULL};
    scene_run_at(&run, "-", pairs, 0);
    const struct omo_truth_marker *m = run.truth.marker;
    double line = DEG * atan2(m[OMO_ELBOW].x_px - m[OMO_SHOULDER].x_px,
                              m[OMO_ELBOW].y_px - m[OMO_SHOULDER].y_px);
    ck_assert_double_eq_tol(run.truth.angle_image_deg, line, TOL_ANGLE_DEG);
    scene_run_close(&run);
}
END_TEST

START_TEST(from_the_front_breastbone_to_hip_is_turned_to_be_vertical_at_rest)
{
    struct scene_run run;
    const char *const pairs[] = {"movement", "abduction", "markers",
                                 "shoulder elbow hip chest", NULL};
    scene_run_at(&run, "-", pairs, 0);
    const struct omo_truth_marker *m = run.truth.marker;
    /* the line slants: the hip's marker is half a pelvis to the side */
    ck_assert_double_gt(fabs(m[OMO_HIP].x_px - m[OMO_CHEST].x_px), 30);
    /* and the arm hangs out as far as against the vertical */
    double line = DEG * atan2(m[OMO_SHOULDER].x_px - m[OMO_ELBOW].x_px,
                              m[OMO_ELBOW].y_px - m[OMO_SHOULDER].y_px);
    ck_assert_double_eq_tol(run.truth.angle_image_deg, line, TOL_ANGLE_DEG);
    scene_run_close(&run);
}
END_TEST

START_TEST(a_turned_plane_foreshortens_as_the_closed_form_says)
{
    struct scene_run run;
    const char *const pairs[] = {"plane_deg",
                                 "30",
                                 "movement",
                                 "abduction",
                                 "distance_m",
                                 "8",
                                 "scapula_share",
                                 "0",
                                 "offset_mm",
                                 "0",
                                 "field_deg",
                                 "20",
                                 "markers",
                                 "shoulder elbow",
                                 NULL};
    scene_run_at(&run, "-", pairs, 2);
    for (int i = 11; i < 23; i++) {
        scene_run_to(&run, i);
        double a = run.truth.angle_deg / DEG, p = 30 / DEG;
        double image = DEG * atan2(sin(a) * cos(p), cos(a));
        /* the elbow's sticker sits 2 cm up the arm's skin, not on the axis, and a camera
           at 8 m is not at infinity */
        ck_assert_double_eq_tol(run.truth.angle_image_deg, image, 2.5);
        if (run.truth.angle_deg > 35 && run.truth.angle_deg < 60)
            ck_assert_double_lt(run.truth.angle_image_deg, run.truth.angle_deg - 2);
    }
    scene_run_close(&run);
}
END_TEST

START_TEST(lean_and_hike_are_what_was_set_and_zero_at_rest)
{
    struct scene_run run;
    const char *const pairs[] = {"lean_deg",    "10", "hike_ratio",    "0.12",
                                 "breath_mm",   "0",  "tremor_deg",    "0",
                                 "repetitions", "1",  "variation_deg", "0",
                                 NULL};
    scene_run_at(&run, "-", pairs, 0);
    ck_assert_double_eq_tol(run.truth.trunk_lean_deg, 0, 1e-9);
    ck_assert_double_eq_tol(run.truth.hike_ratio, 0, 1e-9);
    scene_run_to(&run, 24); /* 2 s of rest, 2.5 s up, 0.6 s at the top */
    ck_assert_double_eq_tol(run.truth.angle_deg, 150, 0.01);
    ck_assert_double_eq_tol(run.truth.trunk_lean_deg, 10, 0.01);
    /* 0.12 and the natural tenth of the upper arm at 150 degrees */
    ck_assert_double_eq_tol(run.truth.hike_ratio, 0.22, 0.001);
    ck_assert_double_eq_tol(run.truth.hike_mm, 0.22 * 0.186 * 1700, 0.5);
    scene_run_close(&run);
}
END_TEST

/* ---- what covers markers ---- */

static const struct {
    const char *name, *scene, *pairs[9];
    double time_s;
    enum omo_role role;
    double low, high; /* of visible_ratio */
} covered[] = {
    {"the hanging forearm hides the hip", "-", {NULL}, 0.7, OMO_HIP, 0, 0.02},
    {"the raised arm does not", "-", {NULL}, 4.7, OMO_HIP, 0.999, 1},
    {"from the front the arm hides no hip",
     "-",
     {"movement", "abduction", NULL},
     0.7,
     OMO_HIP,
     0.999,
     1},
    {"the upper arm hides the chest",
     "-",
     {"markers", "shoulder elbow chest", NULL},
     0.7,
     OMO_CHEST,
     0,
     0.02},
    {"a marker turned away", "-", {"hide", "elbow 0-2", NULL}, 0.7, OMO_ELBOW, 0, 0},
    {"and back again", "-", {"hide", "elbow 0-2", NULL}, 2.3, OMO_ELBOW, 0.99, 1},
    {"a helper's hand", "-", {"helper", "elbow 0.5-3", NULL}, 1.3, OMO_ELBOW, 0, 0.01},
    {"the hand has left", "-", {"helper", "elbow 0.5-1", NULL}, 2, OMO_ELBOW, 0.99, 1},
    {"before it falls off", "-", {"fall", "wrist 1", NULL}, 0.8, OMO_WRIST, 0.99, 1},
    {"fallen off", "-", {"fall", "wrist 1", NULL}, 1, OMO_WRIST, 0, 0},
    {"a fast arm's own markers",
     "-",
     {"speed_deg_per_s", "200", "shutter_ratio", "0.8", NULL},
     2.3,
     OMO_WRIST,
     0.99,
     1},
    {"outside the picture", "-", {"distance_m", "1", NULL}, 0.7, OMO_WRIST, 0, 0},
    {"the shoulder behind the arm that points at the camera",
     "-",
     {"movement", "external-rotation", "camera_height_m", "1.39", NULL},
     0.7,
     OMO_SHOULDER,
     0,
     0.3},
};
enum { COVERED_COUNT = sizeof covered / sizeof covered[0] };

START_TEST(the_visible_share_of_a_marker_is_known)
{
    struct scene_run run;
    scene_run_at(&run, covered[_i].scene, covered[_i].pairs, covered[_i].time_s);
    const struct omo_truth_marker *marker = &run.truth.marker[covered[_i].role];
    ck_assert(marker->placed);
    ck_assert_msg(marker->visible_ratio >= covered[_i].low &&
                      marker->visible_ratio <= covered[_i].high,
                  "%s: %.3f visible", covered[_i].name, marker->visible_ratio);
    scene_run_close(&run);
}
END_TEST

START_TEST(a_marker_that_is_not_placed_has_no_place)
{
    struct scene_run run;
    const char *const pairs[] = {"markers", "shoulder elbow", NULL};
    scene_run_at(&run, "-", pairs, 0);
    const struct omo_truth_marker *wrist = &run.truth.marker[OMO_WRIST];
    ck_assert(!wrist->placed && isnan(wrist->x_px) && isnan(wrist->y_px));
    ck_assert_double_eq(wrist->visible_ratio, 0);
    scene_run_close(&run);
}
END_TEST

START_TEST(long_hair_covers_the_shoulder_now_and_then)
{
    struct scene_run run;
    double least = 1, most = 0;
    const char *const few[] = {"fps", "5", "quality", "0", NULL};
    scene_run_open(&run, "long-hair", few);
    for (int i = 0; i < 70; i++) {
        scene_run_to(&run, i);
        least = fmin(least, run.truth.marker[OMO_SHOULDER].visible_ratio);
        most = fmax(most, run.truth.marker[OMO_SHOULDER].visible_ratio);
    }
    ck_assert_double_lt(least, 0.2);
    ck_assert_double_gt(most, 0.8);
    scene_run_close(&run);
}
END_TEST

/* ---- camera ---- */

static double mean_luma(const struct omo_planes *p, int left, int right)
{
    double sum = 0;
    for (int y = 0; y < p->height; y++)
        for (int x = left; x < right; x++)
            sum += p->y[y * p->y_stride + x];
    return sum / p->height / (right - left);
}

START_TEST(a_mirror_image_has_its_markers_mirrored)
{
    struct scene_run plain, turned;
    const char *const pairs[] = {"mirrored", "yes", NULL};
    scene_run_at(&plain, "-", NULL, 3.3);
    scene_run_at(&turned, "-", pairs, 3.3);
    for (int i = 0; i <= OMO_HIP; i++)
        ck_assert_double_eq_tol(turned.truth.marker[i].x_px,
                                1279 - plain.truth.marker[i].x_px, 1e-9);
    ck_assert_double_eq_tol(turned.truth.angle_image_deg, plain.truth.angle_image_deg,
                            1e-9);
    scene_run_close(&plain);
    scene_run_close(&turned);
}
END_TEST

START_TEST(a_knocked_camera_moves_room_and_person_alike)
{
    struct scene_run still, knocked;
    const char *const pairs[] = {"bump_s", "1", "bump_px", "20", NULL};
    scene_run_at(&still, "plain", NULL, 3.3);
    scene_run_at(&knocked, "plain", pairs, 3.3);
    double dx = knocked.truth.marker[OMO_HIP].x_px - still.truth.marker[OMO_HIP].x_px;
    double dy = knocked.truth.marker[OMO_HIP].y_px - still.truth.marker[OMO_HIP].y_px;
    ck_assert_double_eq_tol(dx, 14, 1e-6);
    ck_assert_double_eq_tol(dy, -8, 1e-6);
    /* the same picture, shifted by whole pixels */
    for (int y = 100; y < 600; y += 7)
        for (int x = 100; x < 1100; x += 7) {
            int before = still.frame.planes.y[y * still.frame.planes.y_stride + x];
            int after =
                knocked.frame.planes.y[(y - 8) * still.frame.planes.y_stride + x + 14];
            /* the wall's grain stays with the picture, not with the wall */
            ck_assert_int_le(abs(before - after), 40);
        }
    scene_run_close(&still);
    scene_run_close(&knocked);
}
END_TEST

static const struct {
    const char *name, *pairs[5];
    double time_s;
    double low, high; /* linear light against the untouched scene's */
} lights[] = {
    {"one stop darker", {"exposure_stops", "-1", NULL}, 0, 0.45, 0.55},
    {"drift not begun", {"drift_ratio", "-0.5", "drift_s", "2", NULL}, 0, 0.99, 1.01},
    {"drift at its end", {"drift_ratio", "-0.5", "drift_s", "2", NULL}, 2, 0.45, 0.55},
};
enum { LIGHTS_COUNT = sizeof lights / sizeof lights[0] };

static double linear(double level)
{
    return pow(level / 255, 2.2); /* near enough to sRGB for a ratio */
}

START_TEST(exposure_and_drift_scale_the_light)
{
    struct scene_run plain, lit;
    scene_run_at(&plain, "plain", NULL, lights[_i].time_s);
    scene_run_at(&lit, "plain", lights[_i].pairs, lights[_i].time_s);
    double ratio = linear(mean_luma(&lit.frame.planes, 0, 400)) /
                   linear(mean_luma(&plain.frame.planes, 0, 400));
    ck_assert_msg(ratio > lights[_i].low && ratio < lights[_i].high, "%s: %.3f",
                  lights[_i].name, ratio);
    scene_run_close(&plain);
    scene_run_close(&lit);
}
END_TEST

START_TEST(a_warm_bulb_is_yellow_and_a_cool_sky_blue)
{
    struct scene_run warm, cool;
    const char *const bulb[] = {"cast", "130 100 62", NULL};
    const char *const sky[] = {"cast", "88 100 122", NULL};
    scene_run_at(&warm, "plain", bulb, 0);
    scene_run_at(&cool, "plain", sky, 0);
    ck_assert_int_lt(warm.frame.planes.cb[0], 120);
    ck_assert_int_gt(cool.frame.planes.cb[0], 130);
    scene_run_close(&warm);
    scene_run_close(&cool);
}
END_TEST

START_TEST(noise_has_the_strength_that_was_set)
{
    struct scene_run run;
    const char *const pairs[] = {"noise", "6", "quality", "0", NULL};
    double sum = 0, square = 0;
    int count = 0;
    scene_run_open(&run, "plain", pairs);
    scene_run_to(&run, 0);
    static uint8_t before[200];
    memcpy(before, run.frame.planes.y + 100 * run.frame.planes.y_stride, sizeof before);
    for (int i = 1; i < 30; i++) { /* the same wall again: only the noise differs */
        scene_run_to(&run, i);
        const uint8_t *row = run.frame.planes.y + 100 * run.frame.planes.y_stride;
        for (int x = 0; x < 200; x++) {
            double d = row[x] - before[x];
            sum += d;
            square += d * d;
            count++;
        }
        memcpy(before, row, sizeof before);
    }
    double sigma = sqrt(square / count - sum * sum / count / count) / sqrt(2);
    /* luma of three independent channels: 0.67, a little less on a bright wall */
    ck_assert_double_eq_tol(sigma, 6 * 0.67 * 0.9, 0.5);
    scene_run_close(&run);
}
END_TEST

START_TEST(the_reference_scenes_have_a_webcams_bytes_and_stickers)
{
    static const char *const names[] = {"good-light-420", "good-light-422",
                                        "small-reference-420"};
    struct scene_run run;
    const uint8_t *bytes;
    size_t size;
    double time_s;
    scene_run_open(&run, names[_i], NULL);
    ck_assert_int_eq(omo_simulated_next_jpeg(run.source, &bytes, &size, &time_s), OMO_OK);
    omo_simulated_truth(run.source, &run.truth);
    ck_assert_uint_ge(size, 130000);
    ck_assert_uint_le(size, 180000);
    for (int i = 0; i <= OMO_HIP; i++) {
        ck_assert_double_ge(run.truth.marker[i].diameter_px, 11);
        ck_assert_double_le(run.truth.marker[i].diameter_px, 20);
    }
    scene_run_close(&run);
}
END_TEST

/* ---- time ---- */

START_TEST(time_stamps_start_where_set_and_jitter_within_bounds)
{
    struct scene_run run;
    double moved = 0;
    scene_run_open(&run, "uneven-time", small);
    for (int i = 0; i < 60; i++) {
        scene_run_to(&run, i);
        double off = run.frame.time_s - (3.2 + i / 30.0);
        ck_assert_double_le(fabs(off), 0.006 + 1e-9);
        ck_assert_double_eq(run.frame.time_s, run.truth.time_s);
        moved = fmax(moved, fabs(off));
    }
    ck_assert_double_gt(moved, 0.004);
    scene_run_close(&run);
}
END_TEST

START_TEST(a_repeated_frame_is_the_frame_before_and_says_so)
{
    struct scene_run run;
    uint64_t before = 0;
    struct omo_truth old = {0};
    scene_run_open(&run, "uneven-time", small);
    for (int i = 0; i < 30; i++) {
        scene_run_to(&run, i);
        uint64_t now = digest(&run.frame.planes);
        ck_assert_int_eq(run.frame.repeated, i > 0 && i % 7 == 0);
        ck_assert_int_eq(now == before, run.frame.repeated);
        if (run.frame.repeated) /* the picture's truth, not the moment's */
            ck_assert_double_eq(run.truth.marker[OMO_ELBOW].x_px,
                                old.marker[OMO_ELBOW].x_px);
        before = now;
        old = run.truth;
    }
    scene_run_close(&run);
}
END_TEST

START_TEST(the_scene_ends_after_the_frames_it_announced)
{
    struct scene_run run;
    const char *const pairs[] = {"seconds", "0.5",     "width", "320", "height",
                                 "180",     "quality", "0",     NULL};
    int64_t count = 0;
    scene_run_open(&run, "-", pairs);
    while (omo_source_next(run.source, false, &run.frame) == OMO_OK)
        count++;
    ck_assert_int_eq(count, 15);
    ck_assert_int_eq(omo_source_info(run.source)->frame_count, 15);
    ck_assert_int_eq(omo_source_next(run.source, false, &run.frame), OMO_END);
    scene_run_close(&run);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("simulated");
    TCase *bits = tcase_create("bits"), *truth = tcase_create("truth"),
          *camera = tcase_create("camera");
    tcase_set_timeout(bits, 60);
    tcase_set_timeout(truth, 60);
    tcase_set_timeout(camera, 60);
    tcase_add_test(bits, the_same_seed_gives_the_same_bits);
    tcase_add_test(bits, another_seed_gives_other_bits);
    tcase_add_test(bits, two_frames_have_different_noise);
    tcase_add_test(bits, the_bits_are_the_same_on_every_machine);
    tcase_add_test(bits, jpeg_bytes_are_the_same_in_two_runs);
    tcase_add_loop_test(bits, frames_that_are_passed_over_change_no_bit_of_the_next, 0,
                        PASSED_COUNT);
    tcase_add_loop_test(truth, a_stickers_centroid_is_where_the_truth_says, 0,
                        EXACT_COUNT);
    tcase_add_test(truth, a_bands_strip_lies_round_the_truth);
    tcase_add_loop_test(truth, the_angle_in_the_picture_follows_the_arm_in_every_movement,
                        0, TURNING_COUNT);
    tcase_add_loop_test(truth, a_camera_that_looks_down_has_the_head_at_the_pictures_top,
                        0, BENEATH_COUNT);
    tcase_add_test(truth, the_angle_in_the_picture_comes_from_the_markers_centres);
    tcase_add_test(truth,
                   a_line_through_shoulder_and_hip_is_turned_to_be_vertical_at_rest);
    tcase_add_test(truth,
                   from_the_front_breastbone_to_hip_is_turned_to_be_vertical_at_rest);
    tcase_add_test(truth, a_turned_plane_foreshortens_as_the_closed_form_says);
    tcase_add_test(truth, lean_and_hike_are_what_was_set_and_zero_at_rest);
    tcase_add_loop_test(truth, the_visible_share_of_a_marker_is_known, 0, COVERED_COUNT);
    tcase_add_test(truth, a_marker_that_is_not_placed_has_no_place);
    tcase_add_test(truth, long_hair_covers_the_shoulder_now_and_then);
    tcase_add_test(camera, a_mirror_image_has_its_markers_mirrored);
    tcase_add_test(camera, a_knocked_camera_moves_room_and_person_alike);
    tcase_add_loop_test(camera, exposure_and_drift_scale_the_light, 0, LIGHTS_COUNT);
    tcase_add_test(camera, a_warm_bulb_is_yellow_and_a_cool_sky_blue);
    tcase_add_test(camera, noise_has_the_strength_that_was_set);
    tcase_add_loop_test(camera, the_reference_scenes_have_a_webcams_bytes_and_stickers, 0,
                        3);
    tcase_add_test(camera, time_stamps_start_where_set_and_jitter_within_bounds);
    tcase_add_test(camera, a_repeated_frame_is_the_frame_before_and_says_so);
    tcase_add_test(camera, the_scene_ends_after_the_frames_it_announced);
    suite_add_tcase(suite, bits);
    suite_add_tcase(suite, truth);
    suite_add_tcase(suite, camera);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
