/* What a camera sends need not be what it should be. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "source/camera_parts.h"

/* SOI, an application's segment, a frame header of 640x480 and a scan's beginning. */
static const uint8_t header[] = {0xff, 0xd8, 0xff, 0xe0, 0,    4,    'a',  'b',  0xff,
                                 0xff, 0xc0, 0,    11,   8,    0x01, 0xe0, 0x02, 0x80,
                                 1,    1,    0x11, 0,    0xff, 0xda, 0,    8};

/* In memory of exactly this size, so that a sanitizer sees a step beyond it. */
static bool size_of_first(size_t size, int *width, int *height)
{
    uint8_t *bytes = malloc(size > 0 ? size : 1);
    bool found;

    ck_assert_ptr_nonnull(bytes);
    memcpy(bytes, header, size);
    found = omo_camera_jpeg_size(bytes, size, width, height);
    free(bytes);
    return found;
}

START_TEST(a_jpegs_size_stands_in_its_frame_header)
{
    int width = 0, height = 0;

    ck_assert(omo_camera_jpeg_size(header, sizeof header, &width, &height));
    ck_assert_int_eq(width, 640);
    ck_assert_int_eq(height, 480);
}
END_TEST

START_TEST(a_header_that_breaks_off_has_no_size)
{
    int width, height;

    for (size_t size = 0; size <= sizeof header; size++)
        ck_assert_msg(size_of_first(size, &width, &height) == (size >= 18),
                      "at %zu bytes", size);
}
END_TEST

static const struct {
    const char *name;
    size_t at;
    uint8_t value;
} spoilt[] = {
    {"no picture begins", 1, 0xd9},        {"bytes between segments", 8, 0},
    {"a segment of no length", 5, 1},      {"a segment beyond the end", 4, 0xff},
    {"a scan before the frame", 10, 0xda}, {"tables instead of a frame", 10, 0xc4},
};

START_TEST(a_spoilt_header_has_no_size)
{
    uint8_t bytes[sizeof header];
    int width, height;

    memcpy(bytes, header, sizeof header);
    bytes[spoilt[_i].at] = spoilt[_i].value;
    ck_assert_msg(!omo_camera_jpeg_size(bytes, sizeof bytes, &width, &height), "%s",
                  spoilt[_i].name);
}
END_TEST

START_TEST(a_picture_without_an_extent_has_no_size)
{
    uint8_t bytes[sizeof header];
    int width, height;

    memcpy(bytes, header, sizeof header);
    memset(bytes + 14, 0, 2);
    ck_assert(!omo_camera_jpeg_size(bytes, sizeof bytes, &width, &height));
}
END_TEST

static const struct {
    const char *name, *format;
    int width, height;
    size_t size;
    enum omo_status status;
} packets[] = {
    {"yuyv", "YUYV", 4, 3, 24, OMO_OK},
    {"yuyv with bytes to spare", "YUYV", 4, 3, 30, OMO_OK},
    {"yuyv a byte short", "YUYV", 4, 3, 23, OMO_ERR_DAMAGED},
    {"yuyv of odd width", "YUYV", 3, 4, 24, OMO_ERR_DAMAGED},
    {"nv12", "NV12", 4, 2, 12, OMO_OK},
    {"nv12 a byte short", "NV12", 4, 2, 11, OMO_ERR_DAMAGED},
    {"nv12 of odd width", "NV12", 3, 2, 12, OMO_ERR_DAMAGED},
    {"nv12 of odd height", "NV12", 4, 3, 18, OMO_ERR_DAMAGED},
    {"no width", "YUYV", 0, 3, 24, OMO_ERR_DAMAGED},
    {"a negative height", "NV12", 4, -2, 12, OMO_ERR_DAMAGED},
    {"nothing in it", "YUYV", 4, 3, 0, OMO_ERR_DAMAGED},
    {"no jpeg", "MJPG", 4, 3, 24, OMO_ERR_DAMAGED},
    {"another format", "GREY", 4, 3, 24, OMO_ERR_FORMAT},
};

START_TEST(only_whole_packets_are_taken_apart)
{
    struct omo_unpacker *unpacker;
    struct omo_packet packet = {.width = packets[_i].width,
                                .height = packets[_i].height,
                                .size = packets[_i].size};
    struct omo_planes planes = {.width = -1};
    bool damaged = true;
    enum omo_status status;

    packet.bytes = calloc(1, packets[_i].size > 0 ? packets[_i].size : 1);
    ck_assert_ptr_nonnull(packet.bytes);
    strcpy(packet.format, packets[_i].format);
    ck_assert_int_eq(omo_unpacker_create(&unpacker), OMO_OK);
    status = omo_unpack(unpacker, &packet, true, &planes, &damaged);
    ck_assert_msg(status == packets[_i].status, "%s: %s", packets[_i].name,
                  omo_status_text(status));
    if (status == OMO_OK)
        ck_assert_int_eq(planes.width, packets[_i].width);
    else
        ck_assert_int_eq(planes.width, -1); /* untouched */
    ck_assert_int_eq(damaged, status != OMO_OK);
    omo_unpacker_destroy(unpacker);
    omo_packet_finish(&packet);
    ck_assert_ptr_null(packet.bytes);
}
END_TEST

START_TEST(raw_chroma_lies_between_its_luma_samples)
{
    /* Two rows of two pixels; both raw formats. */
    uint8_t yuyv[] = {10, 90, 11, 200, 20, 91, 21, 201};
    uint8_t nv12[] = {10, 11, 20, 21, 90, 200};
    struct omo_packet packet = {
        .bytes = yuyv, .size = sizeof yuyv, .width = 2, .height = 2, .format = "YUYV"};
    struct omo_unpacker *unpacker;
    struct omo_planes planes;

    ck_assert_int_eq(omo_unpacker_create(&unpacker), OMO_OK);
    ck_assert_int_eq(omo_unpack(unpacker, &packet, true, &planes, NULL), OMO_OK);
    ck_assert_int_eq(planes.chroma_height, 2);
    ck_assert(planes.scale_x == 2 && planes.scale_y == 1);
    ck_assert(planes.offset_x == 0.5 && planes.offset_y == 0);
    ck_assert_int_eq(planes.y[planes.y_stride + 1], 21);
    ck_assert_int_eq(planes.cb[planes.chroma_stride], 91);
    ck_assert_int_eq(planes.cr[0], 200);

    packet.bytes = nv12;
    packet.size = sizeof nv12;
    strcpy(packet.format, "NV12");
    ck_assert_int_eq(omo_unpack(unpacker, &packet, false, &planes, NULL), OMO_OK);
    ck_assert_int_eq(planes.chroma_height, 1);
    ck_assert(planes.scale_x == 2 && planes.scale_y == 2);
    ck_assert(planes.offset_x == 0.5 && planes.offset_y == 0.5);
    ck_assert_int_eq(planes.cb[0], 90);
    ck_assert_int_eq(planes.cr[0], 200);
    omo_unpacker_destroy(unpacker);
}
END_TEST

START_TEST(nothing_to_release_is_fine)
{
    struct omo_packet packet = {0};

    omo_packet_finish(&packet);
    omo_unpacker_destroy(NULL);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("packet");
    TCase *tests = tcase_create("packets");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_test(tests, a_jpegs_size_stands_in_its_frame_header);
    tcase_add_test(tests, a_header_that_breaks_off_has_no_size);
    tcase_add_loop_test(tests, a_spoilt_header_has_no_size, 0,
                        (int)(sizeof spoilt / sizeof spoilt[0]));
    tcase_add_test(tests, a_picture_without_an_extent_has_no_size);
    tcase_add_loop_test(tests, only_whole_packets_are_taken_apart, 0,
                        (int)(sizeof packets / sizeof packets[0]));
    tcase_add_test(tests, raw_chroma_lies_between_its_luma_samples);
    tcase_add_test(tests, nothing_to_release_is_fine);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
