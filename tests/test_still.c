/* The annotated still: what stands out, what is covered, what is written. */
#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "draw/still_layout.h"
#include "drawn_body.h"
#include "omogon/files.h"
#include "omogon/log.h"

/* Success criterion 1.4.3 of the Web Content Accessibility Guidelines 2.1. */
static const double CONTRAST_MIN = 4.5;

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
    Suite *suite = suite_create("still");
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
