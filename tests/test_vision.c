/* Finding stickers on painted planes, whose truth is known by construction. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/vision.h"
#include "painted.h"

enum { WIDTH = 320, HEIGHT = 240 };
static const double green[3] = {40, 170, 70}, blue[3] = {45, 60, 200};
static const double magenta[3] = {215, 30, 130};

static void hush(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)text;
    (*(int *)user)++;
}

static struct omo_marker_set set_of(int count, const char *const *names,
                                    const double *const *rgb)
{
    struct omo_marker_set set = {.count = count};
    for (int i = 0; i < count; i++) {
        double ycbcr[3];
        omo_srgb_to_ycbcr(rgb[i], ycbcr);
        set.entry[i] = (struct omo_set_entry){.cb = ycbcr[1],
                                              .cr = ycbcr[2],
                                              .luma = NAN,
                                              .spread_deg = NAN,
                                              .size_mm = NAN};
        strcpy(set.entry[i].name, names[i]);
    }
    return set;
}

static struct omo_tracker *tracker_for(const struct omo_marker_set *set)
{
    struct omo_tracker_settings settings = {.set = *set, .body = false};
    struct omo_tracker *tracker = NULL;
    ck_assert_int_eq(omo_tracker_create(&settings, &tracker), OMO_OK);
    return tracker;
}

static void look(struct omo_tracker *tracker, const struct painted *p, int index,
                 struct omo_marker *found)
{
    struct omo_frame frame = {.planes = p->planes,
                              .turned = {0, WIDTH, HEIGHT},
                              .index = index,
                              .time_s = index / 30.0};
    ck_assert_int_eq(omo_tracker_step_free(tracker, &frame, found), OMO_OK);
}

/* Centres of one green disc that wanders at random within a pixel. */
struct wander {
    double rms_px, mean_x_px, mean_y_px, normalised_sd;
    int seen;
};

static struct wander wander(double diameter_px, int scale, double offset_x, double noise,
                            int count)
{
    struct wander w = {0};
    struct omo_marker_set set =
        set_of(1, (const char *const[]){"dot"}, (const double *const[]){green});
    struct omo_tracker *tracker = tracker_for(&set);
    struct painted p;
    uint64_t seed = 7;
    double sum2 = 0, z2 = 0;
    painted_init(&p, WIDTH, HEIGHT, scale, offset_x);
    for (int k = 0; k < count; k++) {
        double x = 150 + 2 * painted_random(&seed), y = 110 + 2 * painted_random(&seed);
        struct omo_marker found;
        painted_clear(&p);
        painted_disc(&p, x, y, diameter_px, green);
        painted_develop(&p, noise, &seed);
        look(tracker, &p, k, &found);
        if (found.seen != OMO_SEEN)
            continue;
        double dx = found.x_px - x, dy = found.y_px - y;
        w.seen++;
        w.mean_x_px += dx;
        w.mean_y_px += dy;
        sum2 += dx * dx + dy * dy;
        z2 += (dx * dx + dy * dy) / (found.sigma_px * found.sigma_px);
    }
    w.rms_px = sqrt(sum2 / (2.0 * w.seen));
    w.normalised_sd = sqrt(z2 / (2.0 * w.seen));
    w.mean_x_px /= w.seen;
    w.mean_y_px /= w.seen;
    painted_finish(&p);
    omo_tracker_destroy(tracker);
    return w;
}

/* Grey-weighted centroids of an ideal area-sampled disc 10 px across: 0.023 px rms at 5 %
 * noise by simulation, so 0.03 px is the bound (after Matsuoka 2015, ISPRS Annals
 * II-3/W4:111, for the error's size and its period of half a pixel). */
START_TEST(an_ideal_disc_is_found_to_a_thirtieth_of_a_pixel)
{
    struct wander w = wander(10, 1, 0, 0, 200);
    ck_assert_int_eq(w.seen, 200);
    ck_assert_double_lt(w.rms_px, 0.03);
}
END_TEST

static const struct {
    const char *name;
    double diameter_px;
    int scale;
    double offset_x, rms_px, bias_px;
} sitings[] = {
    {"4:2:0, JPEG's centred samples", 16, 2, 0.5, 0.05, 0.02},
    {"4:2:0, MPEG's left samples", 16, 2, 0, 0.05, 0.02},
    {"4:2:0, small", 9, 2, 0.5, 0.10, 0.03},
    {"4:4:4, small", 8, 1, 0, 0.04, 0.02},
    /* Large ones are looked at sparsely: the bound is good light's, 0.10 px. */
    {"4:4:4, large", 40, 1, 0, 0.10, 0.03},
};

START_TEST(every_siting_gives_an_unbiased_centre)
{
    struct wander w =
        wander(sitings[_i].diameter_px, sitings[_i].scale, sitings[_i].offset_x, 0, 150);
    ck_assert_msg(w.seen == 150, "%s: seen %d of 150", sitings[_i].name, w.seen);
    ck_assert_msg(w.rms_px < sitings[_i].rms_px, "%s: rms %.4f px", sitings[_i].name,
                  w.rms_px);
    ck_assert_msg(fabs(w.mean_x_px) < sitings[_i].bias_px &&
                      fabs(w.mean_y_px) < sitings[_i].bias_px,
                  "%s: bias %.4f %.4f px", sitings[_i].name, w.mean_x_px, w.mean_y_px);
}
END_TEST

/* Neither boast nor fear. A stated sigma includes what a JPEG adds, which painted planes
 * lack, so the scatter may be a third of it here but exceed it by no more than a third.
 */
START_TEST(the_stated_uncertainty_is_the_scatter)
{
    struct wander w = wander(16, 2, 0.5, 6, 300);
    ck_assert_int_ge(w.seen, 298);
    ck_assert_msg(w.normalised_sd > 0.3 && w.normalised_sd < 1.3,
                  "normalised errors scatter by %.2f", w.normalised_sd);
}
END_TEST

/* Light from one side is what a limb in a room has: without it in the model the centre of
 * a band 40 px long shifts by 0.9 px. Its stated sigma is at least 0.1 px, for what a
 * limb's outline does and a painted one does not, so that the scatter may be a fifth. */
START_TEST(a_band_lit_from_one_side_is_found_in_its_middle)
{
    static const double half_px[2] = {20, 8};
    const double turn_deg = 30 * _i;
    struct omo_marker_set set =
        set_of(1, (const char *const[]){"dot"}, (const double *const[]){blue});
    struct painted p;
    uint64_t seed = 17;
    double sum2 = 0, mean_x = 0, mean_y = 0, z2 = 0;
    enum { LOOKS = 60 };
    set.entry[0].shape = OMO_BAND;
    struct omo_tracker *tracker = tracker_for(&set);
    painted_init(&p, WIDTH, HEIGHT, 2, 0.5);
    for (int k = 0; k < LOOKS; k++) {
        double x = 150 + 2 * painted_random(&seed), y = 110 + 2 * painted_random(&seed);
        struct omo_marker found;
        painted_clear(&p);
        painted_band(&p, x, y, half_px, turn_deg, 0.4, blue);
        painted_develop(&p, 4, &seed);
        look(tracker, &p, k, &found);
        ck_assert_int_eq(found.seen, OMO_SEEN);
        double dx = found.x_px - x, dy = found.y_px - y;
        mean_x += dx / LOOKS;
        mean_y += dy / LOOKS;
        sum2 += dx * dx + dy * dy;
        z2 += (dx * dx + dy * dy) / (found.sigma_px * found.sigma_px);
    }
    ck_assert_msg(hypot(mean_x, mean_y) < 0.05, "%g degrees: bias %.3f %.3f px", turn_deg,
                  mean_x, mean_y);
    ck_assert_msg(sqrt(sum2 / (2 * LOOKS)) < 0.1, "%g degrees: rms %.3f px", turn_deg,
                  sqrt(sum2 / (2 * LOOKS)));
    ck_assert_msg(sqrt(z2 / (2 * LOOKS)) > 0.2 && sqrt(z2 / (2 * LOOKS)) < 1.3,
                  "%g degrees: normalised errors scatter by %.2f", turn_deg,
                  sqrt(z2 / (2 * LOOKS)));
    painted_finish(&p);
    omo_tracker_destroy(tracker);
}
END_TEST

START_TEST(each_sticker_goes_by_its_colour_and_a_hidden_one_is_not_seen)
{
    struct omo_marker_set set =
        set_of(3, (const char *const[]){"green", "blue", "magenta"},
               (const double *const[]){green, blue, magenta});
    struct omo_tracker *tracker = tracker_for(&set);
    struct painted p;
    uint64_t seed = 3;
    painted_init(&p, WIDTH, HEIGHT, 2, 0.5);
    for (int k = 0; k < 40; k++) {
        struct omo_marker found[3];
        bool hidden = k >= 15 && k < 25;
        painted_clear(&p);
        painted_disc(&p, 60 + k, 60, 16, green);
        if (!hidden)
            painted_disc(&p, 160, 100 + k, 16, blue);
        painted_disc(&p, 250 - k, 180, 16, magenta);
        painted_develop(&p, 2, &seed);
        look(tracker, &p, k, found);
        if (k < 5)
            continue;
        ck_assert_int_eq(found[0].seen, OMO_SEEN);
        ck_assert_double_eq_tol(found[0].x_px, 60 + k, 0.3);
        ck_assert_double_eq_tol(found[2].x_px, 250 - k, 0.3);
        if (hidden) {
            ck_assert_int_eq(found[1].seen, OMO_NOT_SEEN);
            ck_assert_double_nan(found[1].x_px);
        } else if (k < 15 || k > 28) {
            ck_assert_int_eq(found[1].seen, OMO_SEEN);
            ck_assert_double_eq_tol(found[1].y_px, 100 + k, 0.3);
        }
    }
    painted_finish(&p);
    omo_tracker_destroy(tracker);
}
END_TEST

/* Somebody who stands turned by 45 degrees, so that an arm in the shoulder blade's plane
 * moves in the picture's, worked out from body proportions: shoulders' line 0.129 and
 * breastbone 0.06 of stature from the middle. */
START_TEST(on_someone_turned_for_scaption_the_chest_is_found_near_the_shoulder)
{
    enum { SIZE = 320, STATURE_PX = 640, SHOULDER_X = 110, SHOULDER_Y = 40 };
    double half = 0.129 * sqrt(0.5), ahead = 0.06 * sqrt(0.5);
    double chest_x = SHOULDER_X + STATURE_PX * (half - ahead);
    double hip_y = SHOULDER_Y + STATURE_PX * (0.818 - 0.530);
    static const double cyan[3] = {20, 175, 205};
    struct omo_tracker_settings settings = {.body = true,
                                            .side = OMO_RIGHT,
                                            .view = OMO_VIEW_FRONT,
                                            .needed =
                                                1u << OMO_SHOULDER | 1u << OMO_ELBOW};
    ck_assert_int_eq(omo_set_load("default", &settings.set), OMO_OK);
    struct omo_tracker *tracker = NULL;
    ck_assert_int_eq(omo_tracker_create(&settings, &tracker), OMO_OK);
    struct painted p;
    struct omo_markers found = {0};
    uint64_t seed = 5;
    painted_init(&p, SIZE, SIZE, 2, 0.5);
    for (int k = 0; k < 10; k++) {
        struct omo_frame frame = {.planes = p.planes,
                                  .turned = {0, SIZE, SIZE},
                                  .index = k,
                                  .time_s = k / 30.0};
        painted_clear(&p);
        painted_disc(&p, SHOULDER_X, SHOULDER_Y, 12, green);
        painted_disc(&p, SHOULDER_X - 10, SHOULDER_Y + 118, 12, blue);
        painted_disc(&p, SHOULDER_X - 40, SHOULDER_Y + 205, 12, magenta);
        painted_disc(&p, SHOULDER_X, hip_y, 12, cyan);
        painted_disc(&p, chest_x, SHOULDER_Y + 12, 12, cyan);
        painted_develop(&p, 2, &seed);
        ck_assert_int_eq(omo_tracker_step(tracker, &frame, &found), OMO_OK);
    }
    ck_assert_int_eq(found.role[OMO_HIP].seen, OMO_SEEN);
    ck_assert_int_eq(found.role[OMO_CHEST].seen, OMO_SEEN);
    ck_assert_double_eq_tol(found.role[OMO_CHEST].x_px, chest_x, 0.3);
    painted_finish(&p);
    omo_tracker_destroy(tracker);
}
END_TEST

START_TEST(a_sticker_that_leaves_the_picture_ends_quietly)
{
    struct omo_marker_set set =
        set_of(1, (const char *const[]){"dot"}, (const double *const[]){green});
    static const double way[][2] = {{9, 0}, {-9, 0}, {0, 9}, {0, -9}};
    struct omo_tracker *tracker = tracker_for(&set);
    struct painted p;
    uint64_t seed = 5;
    painted_init(&p, WIDTH, HEIGHT, 2, 0.5);
    for (int k = 0; k < 60; k++) {
        struct omo_marker found;
        double x = 160 + way[_i][0] * k, y = 120 + way[_i][1] * k;
        painted_clear(&p);
        painted_disc(&p, x, y, 16, green);
        painted_develop(&p, 2, &seed);
        look(tracker, &p, k, &found);
        if (x < -8 || y < -8 || x > WIDTH + 8 || y > HEIGHT + 8)
            ck_assert_int_eq(found.seen, OMO_NOT_SEEN);
    }
    painted_finish(&p);
    omo_tracker_destroy(tracker);
}
END_TEST

/* Six grey levels of noise in the colour planes is a dark room's. */
START_TEST(a_grey_picture_and_pure_noise_have_no_sticker)
{
    struct omo_marker_set set =
        set_of(1, (const char *const[]){"dot"}, (const double *const[]){green});
    struct omo_tracker *tracker = tracker_for(&set);
    struct painted p;
    uint64_t seed = 11;
    painted_init(&p, WIDTH, HEIGHT, 2, 0.5);
    for (int k = 0; k < 30; k++) {
        struct omo_marker found;
        painted_clear(&p);
        painted_develop(&p, k < 10 ? 0 : 6, &seed);
        look(tracker, &p, k, &found);
        ck_assert_int_eq(found.seen, OMO_NOT_SEEN);
        ck_assert_double_nan(found.x_px);
    }
    painted_finish(&p);
    omo_tracker_destroy(tracker);
}
END_TEST

/* Twice a dark room's noise, and more: blobs of all sizes in any colour. */
START_TEST(strong_noise_alone_has_no_sticker)
{
    static const double *const colours[] = {green, blue, magenta};
    static const double noises[] = {12, 16};
    for (int run = 0; run < 6; run++) {
        struct omo_marker_set set =
            set_of(1, (const char *const[]){"dot"}, &colours[run % 3]);
        struct omo_tracker *tracker = tracker_for(&set);
        struct painted p;
        uint64_t seed = (uint64_t)(100 * _i + run + 1);
        painted_init(&p, WIDTH, HEIGHT, run < 4 ? 2 : 1, run < 4 ? 0.5 : 0);
        for (int k = 0; k < 25; k++) {
            struct omo_marker found;
            painted_clear(&p);
            painted_develop(&p, noises[_i % 2], &seed);
            look(tracker, &p, k, &found);
            ck_assert_msg(found.seen == OMO_NOT_SEEN,
                          "run %d, frame %d: %.1f px across at %.1f %.1f, sigma %.2f",
                          run, k, found.diameter_px, found.x_px, found.y_px,
                          found.sigma_px);
        }
        painted_finish(&p);
        omo_tracker_destroy(tracker);
    }
}
END_TEST

START_TEST(small_stickers_in_a_dark_rooms_noise_are_found)
{
    struct wander w = wander(8, _i + 1, 0.5 * _i, 6, 150);
    ck_assert_int_ge(w.seen, 148);
    ck_assert_double_lt(w.rms_px, 0.4);
}
END_TEST

START_TEST(turned_pictures_give_upright_places)
{
    struct omo_marker_set set =
        set_of(1, (const char *const[]){"dot"}, (const double *const[]){green});
    struct omo_tracker *tracker = tracker_for(&set);
    struct painted p;
    uint64_t seed = 1;
    painted_init(&p, WIDTH, HEIGHT, 2, 0.5);
    painted_disc(&p, 100, 60, 16, green);
    painted_develop(&p, 0, &seed);
    struct omo_frame frame = {.planes = p.planes, .turned = {_i, WIDTH, HEIGHT}};
    struct omo_marker found;
    double x = 100, y = 60;
    ck_assert_int_eq(omo_tracker_step_free(tracker, &frame, &found), OMO_OK);
    omo_turn_point(&frame.turned, &x, &y);
    ck_assert_int_eq(found.seen, OMO_SEEN);
    ck_assert_double_eq_tol(found.x_px, x, 0.05);
    ck_assert_double_eq_tol(found.y_px, y, 0.05);
    painted_finish(&p);
    omo_tracker_destroy(tracker);
}
END_TEST

static const char *const bad_sets[] = {
    "",
    "no key file",
    "[set]\nname=empty\n",
    "[elbow]\nsrgb=1 2\n",
    "[elbow]\nsrgb=45 60 300\n",
    "[elbow]\nsrgb=128 128 128\n",
    "[elbow]\ncb=90\n",
    "[elbow]\nsrgb=45 60 200\nshape=square\n",
    "[elbow]\nsrgb=45 60 200\ncolour=blue\n",
    "[elbow]\nsrgb=45 60 200\nsize_mm=0\n",
};

START_TEST(a_mistake_in_a_set_is_said_once_and_changes_nothing)
{
    struct omo_marker_set set = {.count = -1};
    int said = 0;
    omo_log_set_handler(hush, &said);
    ck_assert_int_eq(omo_set_parse(bad_sets[_i], strlen(bad_sets[_i]), "bad.ini", &set),
                     OMO_ERR_SETTINGS);
    omo_log_set_handler(NULL, NULL);
    ck_assert_int_eq(said, 1);
    ck_assert_int_eq(set.count, -1);
}
END_TEST

START_TEST(every_built_in_set_is_sound)
{
    static const char *const names[] = {"default", "bands", "blue", "green", "swapped"};
    struct omo_marker_set set;
    ck_assert_int_eq(omo_set_load(names[_i], &set), OMO_OK);
    ck_assert_int_ge(set.count, 4);
    for (int i = 0; i < set.count; i++)
        ck_assert_int_lt(omo_role_from_name(set.entry[i].name), OMO_ROLE_COUNT);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("vision");
    TCase *places = tcase_create("places");
    TCase *sets = tcase_create("sets");
    tcase_set_timeout(places, 120);
    tcase_add_test(places, an_ideal_disc_is_found_to_a_thirtieth_of_a_pixel);
    tcase_add_loop_test(places, every_siting_gives_an_unbiased_centre, 0,
                        sizeof sitings / sizeof *sitings);
    tcase_add_test(places, the_stated_uncertainty_is_the_scatter);
    tcase_add_loop_test(places, a_band_lit_from_one_side_is_found_in_its_middle, 0, 6);
    tcase_add_test(places, each_sticker_goes_by_its_colour_and_a_hidden_one_is_not_seen);
    tcase_add_test(places,
                   on_someone_turned_for_scaption_the_chest_is_found_near_the_shoulder);
    tcase_add_loop_test(places, a_sticker_that_leaves_the_picture_ends_quietly, 0, 4);
    tcase_add_test(places, a_grey_picture_and_pure_noise_have_no_sticker);
    tcase_add_loop_test(places, strong_noise_alone_has_no_sticker, 0, 6);
    tcase_add_loop_test(places, small_stickers_in_a_dark_rooms_noise_are_found, 0, 2);
    tcase_add_loop_test(places, turned_pictures_give_upright_places, 0, 4);
    tcase_add_loop_test(sets, a_mistake_in_a_set_is_said_once_and_changes_nothing, 0,
                        sizeof bad_sets / sizeof *bad_sets);
    tcase_add_loop_test(sets, every_built_in_set_is_sound, 0, 5);
    suite_add_tcase(suite, places);
    suite_add_tcase(suite, sets);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
