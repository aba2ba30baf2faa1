#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <check.h>

#include "omogon/picture.h"
#include "omogon/source.h"

#include "clip_fixture.h"

static struct clip_run run;

/* ---- what the good ones are ---- */

static const struct {
    const char *path, *codec;
    int frames;
    double scale_x, scale_y, offset_x, offset_y;
    enum omo_colour_space colour;
    bool full_range;
} good[] = {
    {"mjpeg.avi", "mjpeg", 30, 2, 2, 0.5, 0.5, OMO_COLOUR_BT601, true},
    {"mjpeg.mov", "mjpeg", 30, 2, 1, 0.5, 0, OMO_COLOUR_BT601, true},
    {"mjpeg.mkv", "mjpeg", 30, 1, 1, 0, 0, OMO_COLOUR_BT601, true},
    {"mjpeg.mjpeg", "mjpeg", 30, 2, 2, 0.5, 0.5, OMO_COLOUR_BT601, true},
    {"h264.mp4", "h264", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
    {"front.mp4", "h264", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
    {"h264.mov", "h264", 30, 2, 1, 0, 0, OMO_COLOUR_BT601, false},
    {"h264.mkv", "h264", 30, 1, 1, 0, 0, OMO_COLOUR_BT601, false},
    {"h264_10.mp4", "h264", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
    {"hevc.mp4", "hevc", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
    {"hevc_12.mov", "hevc", 30, 2, 1, 0, 0, OMO_COLOUR_BT601, false},
    {"hlg.mp4", "hevc", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT2020_HLG, false},
    {"pq.mp4", "hevc", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT2020_PQ, false},
    {"topleft.mp4", "hevc", 30, 2, 2, 0, 0, OMO_COLOUR_BT601, false},
    {"vp8.webm", "vp8", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
    {"vp9.webm", "vp9", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
    {"yuyv.avi", "rawvideo", 30, 2, 1, 0.5, 0, OMO_COLOUR_BT601, false},
    {"nv12.nut", "rawvideo", 30, 2, 2, 0.5, 0.5, OMO_COLOUR_BT601, false},
    {"gray.mp4", "h264", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, true},
    {"rgb.mkv", "h264", 30, 1, 1, 0, 0, OMO_COLOUR_BT601, true},
    {"shot%03d.jpg", "mjpeg", 5, 2, 2, 0.5, 0.5, OMO_COLOUR_BT601, true},
    {"shot%03d.png", "png", 5, 1, 1, 0, 0, OMO_COLOUR_BT601, true},
    {"still.png", "png", 1, 1, 1, 0, 0, OMO_COLOUR_BT601, true},
    {"palette.png", "png", 1, 1, 1, 0, 0, OMO_COLOUR_BT601, true},
    {"still.jpg", "mjpeg", 1, 2, 2, 0.5, 0.5, OMO_COLOUR_BT601, true},
    {"stream.ts", "h264", 30, 2, 2, 0, 0.5, OMO_COLOUR_BT601, false},
};
enum { GOOD_COUNT = sizeof good / sizeof good[0] };

START_TEST(every_kind_of_clip_gives_all_its_frames_as_planes)
{
    const struct omo_planes *planes = &run.first.planes;

    clip_run(good[_i].path, &run);
    ck_assert_msg(run.opened == OMO_OK, "%s: %s", good[_i].path, run.error);
    ck_assert_int_eq(run.ended, OMO_END);
    ck_assert_int_eq(run.errors, 0);
    ck_assert_msg(run.frames == good[_i].frames, "%s: %d frames", good[_i].path,
                  run.frames);
    ck_assert_int_eq(run.damaged, 0);
    ck_assert_str_eq(run.info.codec, good[_i].codec);
    ck_assert_int_eq(run.info.width, 160);
    ck_assert_int_eq(run.info.height, 120);
    ck_assert_double_eq_tol(planes->scale_x, good[_i].scale_x, 1e-12);
    ck_assert_double_eq_tol(planes->scale_y, good[_i].scale_y, 1e-12);
    ck_assert_double_eq_tol(planes->offset_x, good[_i].offset_x, 1e-12);
    ck_assert_double_eq_tol(planes->offset_y, good[_i].offset_y, 1e-12);
    ck_assert_int_eq(planes->colour, good[_i].colour);
    ck_assert_int_eq(planes->full_range, good[_i].full_range);
    /* Sample coordinates reach the picture's last column and row. */
    ck_assert_int_ge(planes->chroma_width * (int)planes->scale_x, 160);
    ck_assert_int_ge(planes->chroma_height * (int)planes->scale_y, 120);
}
END_TEST

START_TEST(luma_is_there_when_it_is_asked_for)
{
    static const char *const paths[] = {"mjpeg.avi", "h264.mp4", "h264_10.mp4",
                                        "still.png", "yuyv.avi"};
    struct omo_source *source;
    struct omo_frame frame;

    ck_assert_int_eq(omo_clip_open(paths[_i], &source), OMO_OK);
    ck_assert_int_eq(omo_source_next(source, true, &frame), OMO_OK);
    ck_assert_ptr_nonnull(frame.planes.y);
    ck_assert_int_ge(frame.planes.y_stride, 160);
    omo_source_destroy(source);
}
END_TEST

START_TEST(a_frame_of_10_bits_equals_the_one_of_8)
{
    static struct clip_run eight;

    clip_run("h264.mp4", &eight);
    clip_run("h264_10.mp4", &run);
    /* Both are compressed with loss: a few steps apart, not a factor of four. */
    for (int i = 0; i < 3; i++)
        ck_assert_double_eq_tol(run.middle[i], eight.middle[i], 8.0);
}
END_TEST

/* ---- time ---- */

static const char *const timed[] = {"mjpeg.avi", "mjpeg.mov",  "mjpeg.mkv", "h264.mp4",
                                    "front.mp4", "h264.mov",   "hevc.mp4",  "hlg.mp4",
                                    "vp8.webm",  "vp9.webm",   "gaps.avi",  "gaps.mov",
                                    "gaps.mkv",  "gaps.mp4",   "gaps.webm", "late.mp4",
                                    "late.mkv",  "edited.mp4", "slow.mp4",  "same.avi",
                                    "same.mp4",  "stream.ts"};
enum { TIMED_COUNT = sizeof timed / sizeof timed[0] };

/* ffprobe prints six decimals. */
static const double time_tolerance_s = 1.5e-6;

START_TEST(time_stamps_are_those_that_ffprobe_reads)
{
    char name[64];
    FILE *times;
    double want;
    int count = 0;

    snprintf(name, sizeof name, "%s.times", timed[_i]);
    times = fopen(name, "r");
    ck_assert_ptr_nonnull(times);
    clip_run(timed[_i], &run);
    ck_assert_int_eq(run.ended, OMO_END);
    while (fscanf(times, "%lf", &want) == 1) {
        ck_assert_msg(count < run.frames &&
                          fabs(run.time_s[count] - want) <= time_tolerance_s,
                      "%s, frame %d of %d: %.6f instead of %.6f", timed[_i], count,
                      run.frames, run.time_s[count], want);
        count++;
    }
    fclose(times);
    ck_assert_msg(count == run.frames, "%s: %d frames, ffprobe has %d", timed[_i],
                  run.frames, count);
    ck_assert_int_gt(count, 8);
}
END_TEST

START_TEST(a_clip_that_starts_late_is_not_moved_to_zero)
{
    clip_run("late.mp4", &run);
    ck_assert_double_eq_tol(run.time_s[0], 5.0, time_tolerance_s);
}
END_TEST

START_TEST(what_an_edit_list_hides_is_not_given)
{
    static const char *const paths[] = {"edited.mov", "edited.mp4"};

    clip_run(paths[_i], &run);
    ck_assert_int_eq(run.ended, OMO_END);
    ck_assert_int_ge(run.frames, 14);
    ck_assert_int_le(run.frames, 15);
    ck_assert_double_eq_tol(run.time_s[0], 0.0, time_tolerance_s);
    ck_assert_int_eq(run.damaged, 0);
}
END_TEST

START_TEST(uneven_times_stay_uneven)
{
    static const char *const paths[] = {"gaps.avi", "gaps.mov", "gaps.mkv", "gaps.mp4",
                                        "gaps.webm"};

    clip_run(paths[_i], &run);
    ck_assert_double_eq_tol(run.time_s[1] - run.time_s[0], 1 / 30.0, 0.001);
    ck_assert_double_eq_tol(run.time_s[run.frames - 1] - run.time_s[run.frames - 2],
                            5 / 30.0, 0.001);
    ck_assert_int_eq(run.warnings, 0);
}
END_TEST

START_TEST(times_always_increase)
{
    for (int clip = 0; clip < TIMED_COUNT; clip++) {
        clip_run(timed[clip], &run);
        for (int i = 1; i < run.frames; i++)
            ck_assert_double_gt(run.time_s[i], run.time_s[i - 1]);
    }
}
END_TEST

START_TEST(slow_motion_is_pointed_out)
{
    clip_run("slow.mp4", &run);
    ck_assert_int_eq(run.warnings, 1);
    ck_assert_ptr_nonnull(strstr(run.warning, "240"));
}
END_TEST

START_TEST(made_up_times_are_pointed_out)
{
    static const char *const paths[] = {"shot%03d.jpg", "mjpeg.mjpeg"};

    clip_run(paths[_i], &run);
    ck_assert_int_eq(run.warnings, 1);
    ck_assert_ptr_nonnull(strstr(run.warning, "25 frames a second"));
    ck_assert_double_eq_tol(run.time_s[2], 0.08, time_tolerance_s);
}
END_TEST

START_TEST(a_repeated_frame_is_marked)
{
    static const struct {
        const char *path;
        int repeated;
    } cases[] = {{"same.avi", 9}, {"same.mp4", 9}, {"mjpeg.avi", 0}, {"h264.mp4", 0}};

    clip_run(cases[_i].path, &run);
    ck_assert_int_eq(run.repeated, cases[_i].repeated);
}
END_TEST

/* ---- what is known about a clip ---- */

START_TEST(rate_and_number_of_frames_are_told)
{
    static const struct {
        const char *path;
        double rate;
        int64_t count;
    } cases[] = {{"mjpeg.avi", 30, 30},  {"h264.mp4", 30, 30}, {"vp9.webm", 30, 30},
                 {"mjpeg.mov", 30, 30},  {"late.mkv", 30, 30}, {"gaps.mp4", 25, 15},
                 {"shot%03d.jpg", 25, 5}};

    clip_run(cases[_i].path, &run);
    ck_assert_double_eq_tol(run.info.frames_per_second, cases[_i].rate, 1e-6);
    ck_assert_int_eq(run.info.frame_count, cases[_i].count);
    clip_run("still.png", &run);
    ck_assert(isnan(run.info.frames_per_second));
    ck_assert_int_eq(run.info.frame_count, 1);
}
END_TEST

START_TEST(the_start_is_the_containers_or_the_files)
{
    struct stat about;
    char want[32];

    clip_run("dated.mp4", &run);
    ck_assert_str_eq(run.info.started, "2026-03-04T05:06:07Z");
    clip_run("h264.mp4", &run);
    ck_assert_int_eq(stat("h264.mp4", &about), 0);
    strftime(want, sizeof want, "%Y-%m-%dT%H:%M:%SZ", gmtime(&about.st_mtime));
    ck_assert_str_eq(run.info.started, want);
    clip_run("shot%03d.jpg", &run);
    ck_assert_uint_eq(strlen(run.info.started), 20);
}
END_TEST

/* ---- turned and mirrored ---- */

/* Middle of the red patch in upright coordinates. */
static void find_red(const char *path, double *x, double *y)
{
    struct omo_source *source;
    struct omo_frame frame;
    double count = 0.0;

    ck_assert_int_eq(omo_clip_open(path, &source), OMO_OK);
    ck_assert_int_eq(omo_source_next(source, true, &frame), OMO_OK);
    *x = *y = 0.0;
    for (int row = 0; row < frame.planes.height; row++)
        for (int column = 0; column < frame.planes.width; column++) {
            double ycbcr[3], at_x = column, at_y = row;

            clip_colour_at(&frame.planes, column, row, ycbcr);
            if (ycbcr[2] < 190)
                continue;
            omo_turn_point(&frame.turned, &at_x, &at_y);
            *x += at_x;
            *y += at_y;
            count++;
        }
    ck_assert_double_gt(count, 300.0);
    *x /= count;
    *y /= count;
    omo_source_destroy(source);
}

/* The patch is painted into 4:2:0 chroma as if that were centred, and read as it is
 * declared: half a pixel, and half a step of chroma for the nearest sample. */
static const double red_tolerance_px = 1.3;

START_TEST(a_turned_clip_is_upright_as_ffmpeg_shows_it)
{
    static const struct {
        const char *path;
        int width, height;
    } cases[] = {{"turn0.mp4", 160, 96},
                 {"turn90.mp4", 96, 160},
                 {"turn180.mp4", 160, 96},
                 {"turn270.mp4", 96, 160},
                 {"turnj90.mov", 96, 160}};
    double x, y, want_x, want_y;
    char shown[64];

    snprintf(shown, sizeof shown, "%s.shown.png", cases[_i].path);
    find_red(shown, &want_x, &want_y);
    find_red(cases[_i].path, &x, &y);
    ck_assert_double_eq_tol(x, want_x, red_tolerance_px);
    ck_assert_double_eq_tol(y, want_y, red_tolerance_px);
    clip_run(cases[_i].path, &run);
    ck_assert_int_eq(run.info.width, cases[_i].width);
    ck_assert_int_eq(run.info.height, cases[_i].height);
}
END_TEST

/* Where a red patch at (23.5, 27.5) of 160x96 coded pixels is seen upright. */
static const struct {
    int a, b, c, d;  /* of the display matrix */
    int orientation; /* EXIF 2.3, tag 0x0112, for the same turn */
    double x, y;
} turns[] = {
    {1, 0, 0, 1, 1, 23.5, 27.5},    {-1, 0, 0, 1, 2, 135.5, 27.5},
    {-1, 0, 0, -1, 3, 135.5, 67.5}, {1, 0, 0, -1, 4, 23.5, 67.5},
    {0, 1, 1, 0, 5, 27.5, 23.5},    {0, 1, -1, 0, 6, 67.5, 23.5},
    {0, -1, -1, 0, 7, 67.5, 135.5}, {0, -1, 1, 0, 8, 27.5, 135.5},
};

static void put_32(uint8_t *at, int value)
{
    unsigned bits = (unsigned)value;

    for (int i = 0; i < 4; i++)
        at[i] = (uint8_t)(bits >> (24 - 8 * i));
}

START_TEST(every_display_matrix_is_honoured_flips_too)
{
    size_t size, at = 0;
    uint8_t *bytes = clip_bytes("turn0.mp4", &size);
    double x, y;
    char name[32];

    while (at + 84 < size && memcmp(bytes + at, "tkhd", 4) != 0)
        at++;
    ck_assert_uint_lt(at + 84, size);
    at += 44; /* the matrix in a version 0 track header, ISO/IEC 14496-12 */
    put_32(bytes + at, turns[_i].a * 65536);
    put_32(bytes + at + 4, turns[_i].b * 65536);
    put_32(bytes + at + 12, turns[_i].c * 65536);
    put_32(bytes + at + 16, turns[_i].d * 65536);
    snprintf(name, sizeof name, "matrix%d.mp4", _i);
    clip_write(name, bytes, size);
    free(bytes);
    find_red(name, &x, &y);
    ck_assert_double_eq_tol(x, turns[_i].x, red_tolerance_px);
    ck_assert_double_eq_tol(y, turns[_i].y, red_tolerance_px);
}
END_TEST

START_TEST(every_exif_orientation_of_a_photograph_is_honoured)
{
    /* Segment ff e1, "Exif", a big-endian TIFF block with one entry: 0x0112, SHORT, 1. */
    uint8_t exif[] = {0xff, 0xe1, 0, 34, 'E', 'x', 'i', 'f', 0, 0,    'M', 'M',
                      0,    42,   0, 0,  0,   8,   0,   1,   1, 0x12, 0,   3,
                      0,    0,    0, 1,  0,   0,   0,   0,   0, 0,    0,   0};
    size_t size;
    uint8_t *bytes = clip_bytes("corner.jpg", &size), *with = malloc(size + sizeof exif);
    double x, y;
    char name[32];

    exif[29] = (uint8_t)turns[_i].orientation;
    memcpy(with, bytes, 2);
    memcpy(with + 2, exif, sizeof exif);
    memcpy(with + 2 + sizeof exif, bytes + 2, size - 2);
    snprintf(name, sizeof name, "exif%d.jpg", _i);
    clip_write(name, with, size + sizeof exif);
    free(with);
    free(bytes);
    find_red(name, &x, &y);
    ck_assert_double_eq_tol(x, turns[_i].x, red_tolerance_px);
    ck_assert_double_eq_tol(y, turns[_i].y, red_tolerance_px);
}
END_TEST

/* ---- colour ---- */

static const struct {
    const char *name;
    double rgb[3];
} flat[] = {{"28aa46", {40, 170, 70}},
            {"2d3cc8", {45, 60, 200}},
            {"d71e82", {215, 30, 130}},
            {"14afcd", {20, 175, 205}}};

static void chroma_is(const char *path, const double rgb[3], double tolerance)
{
    double m[4], want[3], cb, cr;

    clip_run(path, &run);
    ck_assert_msg(run.opened == OMO_OK, "%s: %s", path, run.error);
    omo_chroma_to_bt601(run.first.planes.colour, run.first.planes.full_range, m);
    omo_srgb_to_ycbcr(rgb, want);
    cb = m[0] * (run.middle[1] - 128) + m[1] * (run.middle[2] - 128) + 128;
    cr = m[2] * (run.middle[1] - 128) + m[3] * (run.middle[2] - 128) + 128;
    ck_assert_msg(fabs(cb - want[1]) <= tolerance && fabs(cr - want[2]) <= tolerance,
                  "%s: chroma %.1f %.1f, want %.1f %.1f", path, cb, cr, want[1], want[2]);
}

START_TEST(a_known_colour_comes_back_from_every_matrix_and_range)
{
    static const char *const kinds[] = {"_bt601_tv.mkv", "_bt601_pc.mkv", "_bt709_tv.mkv",
                                        "_bt709_pc.mkv", "_10.mp4",       ".png",
                                        ".jpg"};
    char name[64];

    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        snprintf(name, sizeof name, "flat_%s%s", flat[_i].name, kinds[i]);
        chroma_is(name, flat[_i].rgb, 2.0);
    }
}
END_TEST

START_TEST(without_tags_small_is_bt601_and_hd_is_bt709)
{
    chroma_is("untagged_sd.mp4", flat[0].rgb, 2.0);
    ck_assert_int_eq(run.first.planes.colour, OMO_COLOUR_BT601);
    chroma_is("untagged_hd.mp4", flat[0].rgb, 2.0);
    ck_assert_int_eq(run.first.planes.colour, OMO_COLOUR_BT709);
}
END_TEST

/* ---- sizes ---- */

START_TEST(a_picture_of_one_pixel_and_one_of_20_megapixels_open)
{
    static const struct {
        const char *path;
        int width, height;
    } cases[] = {{"one.png", 1, 1}, {"one.jpg", 1, 1}, {"large.jpg", 5472, 3648}};

    clip_run(cases[_i].path, &run);
    ck_assert_int_eq(run.opened, OMO_OK);
    ck_assert_int_eq(run.ended, OMO_END);
    ck_assert_int_eq(run.frames, 1);
    ck_assert_int_eq(run.info.width, cases[_i].width);
    ck_assert_int_eq(run.info.height, cases[_i].height);
}
END_TEST

static Suite *clip_suite(void)
{
    Suite *suite = suite_create("clip");
    TCase *kinds = tcase_create("kinds"), *times = tcase_create("times"),
          *turned = tcase_create("turned"), *colour = tcase_create("colour");

    tcase_add_loop_test(kinds, every_kind_of_clip_gives_all_its_frames_as_planes, 0,
                        GOOD_COUNT);
    tcase_add_loop_test(kinds, luma_is_there_when_it_is_asked_for, 0, 5);
    tcase_add_test(kinds, a_frame_of_10_bits_equals_the_one_of_8);
    tcase_add_loop_test(kinds, a_picture_of_one_pixel_and_one_of_20_megapixels_open, 0,
                        3);
    tcase_add_loop_test(kinds, rate_and_number_of_frames_are_told, 0, 7);
    tcase_add_test(kinds, the_start_is_the_containers_or_the_files);
    tcase_set_timeout(kinds, 60);
    suite_add_tcase(suite, kinds);
    tcase_add_loop_test(times, time_stamps_are_those_that_ffprobe_reads, 0, TIMED_COUNT);
    tcase_add_test(times, a_clip_that_starts_late_is_not_moved_to_zero);
    tcase_add_loop_test(times, what_an_edit_list_hides_is_not_given, 0, 2);
    tcase_add_loop_test(times, uneven_times_stay_uneven, 0, 5);
    tcase_add_test(times, times_always_increase);
    tcase_add_test(times, slow_motion_is_pointed_out);
    tcase_add_loop_test(times, made_up_times_are_pointed_out, 0, 2);
    tcase_add_loop_test(times, a_repeated_frame_is_marked, 0, 4);
    tcase_set_timeout(times, 60);
    suite_add_tcase(suite, times);
    tcase_add_loop_test(turned, a_turned_clip_is_upright_as_ffmpeg_shows_it, 0, 5);
    tcase_add_loop_test(turned, every_display_matrix_is_honoured_flips_too, 0, 8);
    tcase_add_loop_test(turned, every_exif_orientation_of_a_photograph_is_honoured, 0, 8);
    tcase_set_timeout(turned, 60);
    suite_add_tcase(suite, turned);
    tcase_add_loop_test(colour, a_known_colour_comes_back_from_every_matrix_and_range, 0,
                        4);
    tcase_add_test(colour, without_tags_small_is_bt601_and_hd_is_bt709);
    tcase_set_timeout(colour, 60);
    suite_add_tcase(suite, colour);
    return suite;
}

int main(void)
{
    SRunner *runner;
    int failed;

    clip_fixture_make();
    runner = srunner_create(clip_suite());
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
