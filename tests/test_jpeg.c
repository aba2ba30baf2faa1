#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <turbojpeg.h>

#include "omogon/picture.h"

#include "jpeg_fixture.h"

static struct omo_jpeg *jpeg;

static void set_up(void)
{
    jpeg = omo_jpeg_create();
    ck_assert_ptr_nonnull(jpeg);
}

static void tear_down(void)
{
    omo_jpeg_destroy(jpeg);
}

static void decode_good(const uint8_t *bytes, size_t size, bool need_luma,
                        struct omo_planes *planes)
{
    bool damaged = true;

    ck_assert_int_eq(omo_jpeg_decode(jpeg, bytes, size, need_luma, planes, &damaged),
                     OMO_OK);
    ck_assert(!damaged);
}

/* ---- the same samples as libjpeg-turbo's own plane decoder ---- */

static const struct {
    const char *name;
    struct jpeg_fixture make;
} kinds[] = {
    {"4:4:4", {.h = 1, .v = 1}},
    {"4:2:2", {.h = 2, .v = 1}},
    {"4:2:0", {.h = 2, .v = 2}},
    {"4:4:0", {.h = 1, .v = 2}},
    {"4:1:1", {.h = 4, .v = 1}},
    {"grey", {.h = 1, .v = 1, .colour = FIXTURE_GREY}},
    {"4:2:0 progressive", {.h = 2, .v = 2, .progressive = true}},
    {"4:2:2 progressive", {.h = 2, .v = 1, .progressive = true}},
    {"4:2:0 with restart markers", {.h = 2, .v = 2, .restarts = true}},
    {"4:2:2 without Huffman tables", {.h = 2, .v = 1, .no_tables = true}},
    {"4:2:0 arithmetic", {.h = 2, .v = 2, .arithmetic = true}},
};

static const struct {
    int width, height;
} sizes[] = {{64, 48}, {1, 1}, {7, 5}, {17, 33}, {101, 67}, {320, 241}, {16, 8}, {31, 1}};

static void compare_plane(const char *name, const uint8_t *got, int got_stride,
                          const uint8_t *want, int want_stride, int width, int height)
{
    for (int row = 0; row < height; row++)
        ck_assert_msg(memcmp(got + row * got_stride, want + row * want_stride,
                             (size_t)width) == 0,
                      "%s, %dx%d: row %d differs", name, width, height, row);
}

static void compare_with_turbojpeg(const char *name, const uint8_t *bytes, size_t size)
{
    tjhandle reference = tjInitDecompress();
    int width, height, subsampling, space, strides[3] = {0, 0, 0};
    unsigned char *want[3] = {NULL, NULL, NULL};
    struct omo_planes planes;

    ck_assert_int_eq(tjDecompressHeader3(reference, bytes, size, &width, &height,
                                         &subsampling, &space),
                     0);
    for (int i = 0; i < (subsampling == TJSAMP_GRAY ? 1 : 3); i++) {
        strides[i] = tjPlaneWidth(i, width, subsampling);
        want[i] =
            malloc((size_t)strides[i] * (size_t)tjPlaneHeight(i, height, subsampling));
    }
    ck_assert_int_eq(tjDecompressToYUVPlanes(reference, bytes, size, want, width, strides,
                                             height, 0),
                     0);
    for (int need_luma = 0; need_luma < 2; need_luma++) {
        decode_good(bytes, size, need_luma, &planes);
        ck_assert_int_eq(planes.width, width);
        ck_assert_int_eq(planes.height, height);
        if (need_luma)
            compare_plane(name, planes.y, planes.y_stride, want[0], strides[0], width,
                          height);
        if (subsampling == TJSAMP_GRAY)
            continue;
        ck_assert_int_le(planes.chroma_width, strides[1]);
        compare_plane(name, planes.cb, planes.chroma_stride, want[1], strides[1],
                      planes.chroma_width, planes.chroma_height);
        compare_plane(name, planes.cr, planes.chroma_stride, want[2], strides[2],
                      planes.chroma_width, planes.chroma_height);
    }
    for (int i = 0; i < 3; i++)
        free(want[i]);
    tjDestroy(reference);
}

START_TEST(planes_equal_those_of_libjpeg_turbo_bit_for_bit)
{
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
        struct jpeg_fixture make = kinds[_i].make;
        uint8_t *bytes;
        size_t size;

        make.width = sizes[s].width;
        make.height = sizes[s].height;
        bytes = jpeg_fixture_make(&make, &size);
        compare_with_turbojpeg(kinds[_i].name, bytes, size);
        free(bytes);
    }
}
END_TEST

START_TEST(a_frame_without_tables_equals_the_one_with_them)
{
    struct jpeg_fixture make = {.width = 90, .height = 50, .h = 2, .v = 2};
    struct omo_planes with, without;
    uint8_t *bytes[2], *kept;
    size_t size[2], count;

    bytes[0] = jpeg_fixture_make(&make, &size[0]);
    make.no_tables = true;
    bytes[1] = jpeg_fixture_make(&make, &size[1]);
    ck_assert_uint_lt(size[1], size[0] - 400);
    decode_good(bytes[0], size[0], true, &with);
    count = (size_t)with.chroma_stride * (size_t)with.chroma_height;
    kept = malloc(count);
    memcpy(kept, with.cb, count);
    decode_good(bytes[1], size[1], true, &without);
    ck_assert_mem_eq(kept, without.cb, count);
    free(kept);
    free(bytes[0]);
    free(bytes[1]);
}
END_TEST

START_TEST(the_siting_of_each_subsampling_is_centred)
{
    static const struct {
        int h, v;
        double scale_x, scale_y, offset_x, offset_y;
        int chroma_width, chroma_height;
    } cases[] = {{1, 1, 1, 1, 0, 0, 33, 21},
                 {2, 1, 2, 1, 0.5, 0, 17, 21},
                 {2, 2, 2, 2, 0.5, 0.5, 17, 11},
                 {1, 2, 1, 2, 0, 0.5, 33, 11},
                 {4, 1, 4, 1, 1.5, 0, 9, 21}};
    struct jpeg_fixture make = {.width = 33,
                                .height = 21,
                                .h = cases[_i].h,
                                .v = cases[_i].v};
    struct omo_planes planes;
    size_t size;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    decode_good(bytes, size, false, &planes);
    ck_assert_ptr_null(planes.y);
    ck_assert(planes.full_range);
    ck_assert_int_eq(planes.colour, OMO_COLOUR_BT601);
    ck_assert_double_eq_tol(planes.scale_x, cases[_i].scale_x, 1e-12);
    ck_assert_double_eq_tol(planes.scale_y, cases[_i].scale_y, 1e-12);
    ck_assert_double_eq_tol(planes.offset_x, cases[_i].offset_x, 1e-12);
    ck_assert_double_eq_tol(planes.offset_y, cases[_i].offset_y, 1e-12);
    ck_assert_int_eq(planes.chroma_width, cases[_i].chroma_width);
    ck_assert_int_eq(planes.chroma_height, cases[_i].chroma_height);
    free(bytes);
}
END_TEST

START_TEST(a_grey_picture_has_neutral_chroma)
{
    struct jpeg_fixture make = {
        .width = 19, .height = 9, .h = 1, .v = 1, .colour = FIXTURE_GREY};
    struct omo_planes planes;
    size_t size;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    decode_good(bytes, size, false, &planes);
    for (int row = 0; row < planes.chroma_height; row++)
        for (int x = 0; x < planes.chroma_width; x++) {
            ck_assert_int_eq(planes.cb[row * planes.chroma_stride + x], 128);
            ck_assert_int_eq(planes.cr[row * planes.chroma_stride + x], 128);
        }
    free(bytes);
}
END_TEST

/* Colour codings no camera uses are converted: same picture, close to the usual one. */
START_TEST(an_rgb_coded_picture_gives_the_same_colours)
{
    struct jpeg_fixture make = {.width = 40, .height = 24, .h = 1, .v = 1};
    struct omo_planes planes;
    double mean[2][2] = {{0}};

    for (int k = 0; k < 2; k++) {
        size_t size;
        uint8_t *bytes;

        make.colour = k == 0 ? FIXTURE_YCBCR : FIXTURE_RGB;
        bytes = jpeg_fixture_make(&make, &size);
        decode_good(bytes, size, true, &planes);
        ck_assert_int_eq(planes.chroma_width, 40);
        for (int i = 0; i < 40 * 24; i++) {
            int at = i / 40 * planes.chroma_stride + i % 40;

            mean[k][0] += planes.cb[at] / 960.0;
            mean[k][1] += planes.cr[at] / 960.0;
        }
        free(bytes);
    }
    ck_assert_double_eq_tol(mean[0][0], mean[1][0], 1.0);
    ck_assert_double_eq_tol(mean[0][1], mean[1][1], 1.0);
}
END_TEST

START_TEST(a_picture_of_four_inks_is_converted)
{
    struct jpeg_fixture make = {.width = 20, .height = 10, .colour = FIXTURE_CMYK};
    struct omo_planes planes;
    size_t size;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    decode_good(bytes, size, true, &planes);
    ck_assert_int_eq(planes.width, 20);
    ck_assert_ptr_nonnull(planes.y);
    free(bytes);
}
END_TEST

START_TEST(a_comment_of_limited_range_is_believed)
{
    struct jpeg_fixture make = {
        .width = 16, .height = 16, .h = 2, .v = 2, .comment = "CS=ITU601"};
    struct omo_planes planes;
    size_t size;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    decode_good(bytes, size, false, &planes);
    ck_assert(!planes.full_range);
    free(bytes);
}
END_TEST

/* ---- broken input ---- */

START_TEST(a_cut_picture_is_marked_damaged_and_its_upper_part_is_there)
{
    struct jpeg_fixture make = {.width = 200, .height = 120, .h = 2, .v = 2};
    struct omo_planes planes;
    bool damaged = false;
    uint8_t *bytes, *upper;
    size_t size, count;

    make.progressive = _i == 1;
    bytes = jpeg_fixture_make(&make, &size);
    decode_good(bytes, size, false, &planes);
    count = (size_t)planes.chroma_stride * 8;
    upper = malloc(count);
    memcpy(upper, planes.cb, count);
    ck_assert_int_eq(omo_jpeg_decode(jpeg, bytes, size / 2, false, &planes, &damaged),
                     OMO_OK);
    ck_assert(damaged);
    if (!make.progressive)
        ck_assert_mem_eq(planes.cb, upper, count);
    free(upper);
    free(bytes);
}
END_TEST

START_TEST(a_missing_end_marker_alone_is_no_damage)
{
    struct jpeg_fixture make = {.width = 64, .height = 64, .h = 2, .v = 2};
    struct omo_planes planes;
    size_t size;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    ck_assert_int_eq(bytes[size - 1], 0xd9);
    decode_good(bytes, size - 2, false, &planes);
    free(bytes);
}
END_TEST

START_TEST(every_cut_ends_with_a_status)
{
    struct jpeg_fixture make = {.width = 60, .height = 40, .h = 2, .v = 1};
    struct omo_planes planes;
    size_t size, pictures = 0;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    for (size_t cut = 0; cut < size; cut++) {
        /* A copy of its exact size, so that a checker sees a read past its end. */
        uint8_t *copy = malloc(cut > 0 ? cut : 1);
        enum omo_status status;

        memcpy(copy, bytes, cut);
        status = omo_jpeg_decode(jpeg, copy, cut, cut % 2, &planes, NULL);
        ck_assert(status == OMO_OK || status == OMO_ERR_FORMAT ||
                  status == OMO_ERR_DAMAGED);
        ck_assert_msg((status == OMO_ERR_FORMAT) == (cut < 2), "cut at %zu", cut);
        ck_assert(status == OMO_OK || *omo_jpeg_fault(jpeg) != '\0');
        pictures += status == OMO_OK;
        free(copy);
    }
    ck_assert_uint_gt(pictures, size / 2);
    free(bytes);
}
END_TEST

START_TEST(two_thousand_damaged_pictures_do_no_harm)
{
    unsigned state = 12345;

    for (int round = 0; round < 2000; round++) {
        struct jpeg_fixture make = kinds[round % 11].make;
        struct omo_planes planes;
        uint8_t *bytes;
        size_t size;

        make.width = 48;
        make.height = 35;
        bytes = jpeg_fixture_make(&make, &size);
        for (int change = 0; change < 1 + round % 12; change++) {
            state = state * 1664525u + 1013904223u;
            /* Not the size: four gigabytes of work would only be slow. */
            if ((state >> 8) % size > 200)
                bytes[(state >> 8) % size] = (uint8_t)(state >> 3);
        }
        (void)!omo_jpeg_decode(jpeg, bytes, size, round % 2, &planes, NULL);
        free(bytes);
    }
}
END_TEST

START_TEST(a_damaged_frame_leaves_no_trace_in_the_next)
{
    struct jpeg_fixture make = {.width = 80, .height = 60, .h = 2, .v = 2};
    struct omo_planes planes;
    size_t size, count;
    int stride;
    uint8_t *bytes = jpeg_fixture_make(&make, &size), *bad = malloc(size), *kept;

    decode_good(bytes, size, true, &planes);
    stride = planes.y_stride;
    count = (size_t)stride * 60;
    kept = malloc(count);
    memcpy(kept, planes.y, count);
    for (size_t at = 20; at < 600; at += 3) {
        memcpy(bad, bytes, size);
        bad[at] ^= 0x5a;
        (void)!omo_jpeg_decode(jpeg, bad, size, true, &planes, NULL);
        decode_good(bytes, size, true, &planes);
        compare_plane("after damage", planes.y, planes.y_stride, kept, stride, 80, 60);
    }
    free(kept);
    free(bad);
    free(bytes);
}
END_TEST

/* Size in the frame header: ff c0, length, precision, height, width. */
static void set_size(uint8_t *bytes, size_t size, unsigned width, unsigned height)
{
    for (size_t at = 2; at + 9 < size; at++)
        if (bytes[at] == 0xff && bytes[at + 1] == 0xc0) {
            bytes[at + 5] = (uint8_t)(height >> 8);
            bytes[at + 6] = (uint8_t)height;
            bytes[at + 7] = (uint8_t)(width >> 8);
            bytes[at + 8] = (uint8_t)width;
            return;
        }
    ck_abort_msg("no frame header");
}

START_TEST(a_giant_picture_is_refused)
{
    static const struct {
        unsigned width, height;
    } cases[] = {{8001, 8000}, {16385, 1}, {1, 16385}, {65500, 65500}};
    struct jpeg_fixture make = {.width = 16, .height = 16, .h = 2, .v = 2};
    struct omo_planes planes = {.width = -7};
    size_t size;
    uint8_t *bytes = jpeg_fixture_make(&make, &size);

    set_size(bytes, size, cases[_i].width, cases[_i].height);
    ck_assert_int_eq(omo_jpeg_decode(jpeg, bytes, size, true, &planes, NULL),
                     OMO_ERR_FORMAT);
    ck_assert_ptr_nonnull(strstr(omo_jpeg_fault(jpeg), "64 megapixels"));
    ck_assert_int_eq(planes.width, -7);
    free(bytes);
}
END_TEST

START_TEST(what_is_no_jpeg_is_refused)
{
    static const char *const cases[] = {"", "x", "hello, this is text", "\x89PNG\r\n"};
    struct omo_planes planes = {.width = -7};
    bool damaged = true;

    ck_assert_int_eq(omo_jpeg_decode(jpeg, (const uint8_t *)cases[_i], strlen(cases[_i]),
                                     true, &planes, &damaged),
                     OMO_ERR_FORMAT);
    ck_assert_int_eq(planes.width, -7);
    ck_assert(damaged);
    ck_assert_str_ne(omo_jpeg_fault(jpeg), "");
}
END_TEST

START_TEST(destroying_nothing_is_allowed)
{
    omo_jpeg_destroy(NULL);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("jpeg");
    TCase *good = tcase_create("good"), *broken = tcase_create("broken");
    SRunner *runner;
    int failed;

    tcase_add_checked_fixture(good, set_up, tear_down);
    tcase_add_loop_test(good, planes_equal_those_of_libjpeg_turbo_bit_for_bit, 0, 11);
    tcase_add_test(good, a_frame_without_tables_equals_the_one_with_them);
    tcase_add_loop_test(good, the_siting_of_each_subsampling_is_centred, 0, 5);
    tcase_add_test(good, a_grey_picture_has_neutral_chroma);
    tcase_add_test(good, an_rgb_coded_picture_gives_the_same_colours);
    tcase_add_test(good, a_picture_of_four_inks_is_converted);
    tcase_add_test(good, a_comment_of_limited_range_is_believed);
    suite_add_tcase(suite, good);
    tcase_add_checked_fixture(broken, set_up, tear_down);
    tcase_set_timeout(broken, 60);
    tcase_add_loop_test(broken,
                        a_cut_picture_is_marked_damaged_and_its_upper_part_is_there, 0,
                        2);
    tcase_add_test(broken, a_missing_end_marker_alone_is_no_damage);
    tcase_add_test(broken, every_cut_ends_with_a_status);
    tcase_add_test(broken, two_thousand_damaged_pictures_do_no_harm);
    tcase_add_test(broken, a_damaged_frame_leaves_no_trace_in_the_next);
    tcase_add_loop_test(broken, a_giant_picture_is_refused, 0, 4);
    tcase_add_loop_test(broken, what_is_no_jpeg_is_refused, 0, 4);
    tcase_add_test(broken, destroying_nothing_is_allowed);
    suite_add_tcase(suite, broken);
    runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
