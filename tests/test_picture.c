#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/picture.h"

/* Of equations evaluated in double precision. */
static const double exact = 1e-9;

/* ---- colour ---- */

/* JFIF 1.02 (Hamilton 1992), its conversion equations, rounded; the exact halves of red,
 * blue, yellow and cyan may round either way. */
static const struct {
    const char *name;
    double rgb[3], ycbcr[3];
    double angle_deg; /* of chroma, unclamped, computed from the same equations */
} colours[] = {
    {"red", {255, 0, 0}, {76, 85, 255}, 108.648},
    {"green", {0, 255, 0}, {150, 44, 21}, -128.351},
    {"blue", {0, 0, 255}, {29, 255, 107}, -9.237},
    {"yellow", {255, 255, 0}, {226, 0, 149}, 170.763},
    {"cyan", {0, 255, 255}, {179, 171, 0}, -71.352},
    {"magenta", {255, 0, 255}, {105, 212, 235}, 51.649},
    {"grey 128", {128, 128, 128}, {128, 128, 128}, NAN},
};

START_TEST(srgb_becomes_the_ycbcr_of_jfif)
{
    double got[3];

    omo_srgb_to_ycbcr(colours[_i].rgb, got);
    for (int i = 0; i < 3; i++)
        ck_assert_msg(fabs(got[i] - colours[_i].ycbcr[i]) <= 1.0, "%s: got %g, want %g",
                      colours[_i].name, got[i], colours[_i].ycbcr[i]);
    if (isfinite(colours[_i].angle_deg))
        ck_assert_double_eq_tol(atan2(got[2] - 128.0, got[1] - 128.0) * 180.0 / M_PI,
                                colours[_i].angle_deg, 1e-3);
}
END_TEST

START_TEST(ycbcr_comes_back_as_the_same_srgb)
{
    double ycbcr[3], rgb[3];

    omo_srgb_to_ycbcr(colours[_i].rgb, ycbcr);
    omo_ycbcr_to_srgb(ycbcr, rgb);
    for (int i = 0; i < 3; i++)
        ck_assert_double_eq_tol(rgb[i], colours[_i].rgb[i], exact);
}
END_TEST

START_TEST(impossible_colours_come_back_clamped)
{
    double ycbcr[3] = {255, 255, 255}, rgb[3];

    omo_ycbcr_to_srgb(ycbcr, rgb);
    ck_assert_double_eq_tol(rgb[0], 255.0, exact);
    ck_assert_double_eq_tol(rgb[2], 255.0, exact);
    ycbcr[0] = 0;
    ycbcr[1] = ycbcr[2] = 0;
    omo_ycbcr_to_srgb(ycbcr, rgb);
    ck_assert_double_eq_tol(rgb[0], 0.0, exact);
}
END_TEST

/* Chroma of coded RGB by the standards' definition, written out on its own:
 * Cb = (B - Y) / (2 (1 - Kb)), Cr = (R - Y) / (2 (1 - Kr)). */
static void coded_chroma(const double rgb[3], double kr, double kb, double range,
                         double *cb, double *cr)
{
    double y = kr * rgb[0] + (1 - kr - kb) * rgb[1] + kb * rgb[2];

    *cb = range * (rgb[2] - y) / (2 * (1 - kb));
    *cr = range * (rgb[0] - y) / (2 * (1 - kr));
}

START_TEST(chroma_of_other_spaces_becomes_that_of_jpeg)
{
    /* ITU-R BT.601-7 and BT.709-6; limited range spans 224 of 255. */
    static const struct {
        enum omo_colour_space colour;
        bool full;
        double kr, kb, range;
    } spaces[] = {{OMO_COLOUR_BT601, true, 0.299, 0.114, 1.0},
                  {OMO_COLOUR_BT601, false, 0.299, 0.114, 224.0 / 255.0},
                  {OMO_COLOUR_BT709, true, 0.2126, 0.0722, 1.0},
                  {OMO_COLOUR_BT709, false, 0.2126, 0.0722, 224.0 / 255.0}};
    double m[4];

    omo_chroma_to_bt601(spaces[_i].colour, spaces[_i].full, m);
    for (size_t c = 0; c < sizeof colours / sizeof colours[0]; c++) {
        double cb, cr, want[3];

        coded_chroma(colours[c].rgb, spaces[_i].kr, spaces[_i].kb, spaces[_i].range, &cb,
                     &cr);
        omo_srgb_to_ycbcr(colours[c].rgb, want);
        ck_assert_double_eq_tol(m[0] * cb + m[1] * cr, want[1] - 128.0, 1e-6);
        ck_assert_double_eq_tol(m[2] * cb + m[3] * cr, want[2] - 128.0, 1e-6);
    }
}
END_TEST

/* A weak colour given in BT.2020 (linear light through the primaries of ITU-R BT.2087,
 * then a 2.2 power) has to come back near its BT.709 chroma; a strong one may not. */
START_TEST(a_weak_wide_gamut_colour_becomes_its_usual_chroma)
{
    static const double to_2020[3][3] = {{0.6274, 0.3293, 0.0433},
                                         {0.0691, 0.9195, 0.0114},
                                         {0.0164, 0.0880, 0.8956}};
    static const double rgb[3] = {150, 130, 120};
    double wide[3], m[4], cb, cr, want[3];

    for (int i = 0; i < 3; i++) {
        double light = 0.0;

        for (int k = 0; k < 3; k++)
            light += to_2020[i][k] * pow(rgb[k] / 255.0, 2.2);
        wide[i] = 255.0 * pow(light, 1.0 / 2.2);
    }
    coded_chroma(wide, 0.2627, 0.0593, 224.0 / 255.0, &cb, &cr);
    omo_chroma_to_bt601(OMO_COLOUR_BT2020, false, m);
    omo_srgb_to_ycbcr(rgb, want);
    ck_assert_double_eq_tol(m[0] * cb + m[1] * cr, want[1] - 128.0, 1.0);
    ck_assert_double_eq_tol(m[2] * cb + m[3] * cr, want[2] - 128.0, 1.0);
}
END_TEST

START_TEST(jpeg_chroma_stays_as_it_is)
{
    double m[4];

    omo_chroma_to_bt601(OMO_COLOUR_BT601, true, m);
    ck_assert_double_eq_tol(m[0], 1.0, exact);
    ck_assert_double_eq_tol(m[1], 0.0, exact);
    ck_assert_double_eq_tol(m[2], 0.0, exact);
    ck_assert_double_eq_tol(m[3], 1.0, exact);
}
END_TEST

/* ---- turning ---- */

START_TEST(a_point_turns_clockwise)
{
    static const struct {
        int turns;
        double x, y, want_x, want_y;
    } cases[] = {
        {0, 10, 20, 10, 20},  {1, 0, 0, 479, 0},    {1, 639, 0, 479, 639},
        {1, 10, 20, 459, 10}, {2, 0, 0, 639, 479},  {2, 10.5, 20.25, 628.5, 458.75},
        {3, 0, 0, 0, 639},    {3, 10, 20, 20, 629}, {5, 10, 20, 459, 10},
    };
    struct omo_turned turned = {cases[_i].turns, 640, 480};
    double x = cases[_i].x, y = cases[_i].y;

    omo_turn_point(&turned, &x, &y);
    ck_assert_double_eq_tol(x, cases[_i].want_x, exact);
    ck_assert_double_eq_tol(y, cases[_i].want_y, exact);
}
END_TEST

/* Each sample of a small picture is found again in the turned pixels where the point
 * turns to. */
START_TEST(pixels_turn_as_points_do)
{
    enum { WIDTH = 5, HEIGHT = 3 };
    uint8_t y[WIDTH * HEIGHT], neutral[WIDTH * HEIGHT];
    uint32_t pixels[WIDTH * HEIGHT];
    struct omo_planes planes = {.width = WIDTH,
                                .height = HEIGHT,
                                .chroma_width = WIDTH,
                                .chroma_height = HEIGHT,
                                .y = y,
                                .cb = neutral,
                                .cr = neutral,
                                .y_stride = WIDTH,
                                .chroma_stride = WIDTH,
                                .scale_x = 1,
                                .scale_y = 1,
                                .full_range = true};
    struct omo_turned turned = {_i, WIDTH, HEIGHT};
    int upright_width = _i % 2 ? HEIGHT : WIDTH;

    memset(neutral, 128, sizeof neutral);
    for (int i = 0; i < WIDTH * HEIGHT; i++)
        y[i] = (uint8_t)(10 * i + 3);
    ck_assert_int_eq(omo_planes_to_rgb32(&planes, _i, pixels), OMO_OK);
    for (int row = 0; row < HEIGHT; row++)
        for (int column = 0; column < WIDTH; column++) {
            double to_x = column, to_y = row;
            uint32_t want = y[row * WIDTH + column];

            omo_turn_point(&turned, &to_x, &to_y);
            ck_assert_uint_eq(pixels[(int)to_y * upright_width + (int)to_x],
                              0xff000000u | want << 16 | want << 8 | want);
        }
}
END_TEST

START_TEST(pixels_have_the_colour_of_their_space)
{
    /* Pure green as each space codes it, from the standards' equations. */
    static const struct {
        enum omo_colour_space colour;
        bool full;
        uint8_t y, cb, cr;
    } cases[] = {{OMO_COLOUR_BT601, true, 150, 44, 21},
                 {OMO_COLOUR_BT601, false, 145, 54, 34},
                 {OMO_COLOUR_BT709, true, 182, 30, 12},
                 {OMO_COLOUR_BT709, false, 173, 42, 26}};
    uint32_t pixel;
    struct omo_planes planes = {.width = 1,
                                .height = 1,
                                .chroma_width = 1,
                                .chroma_height = 1,
                                .y = &cases[_i].y,
                                .cb = &cases[_i].cb,
                                .cr = &cases[_i].cr,
                                .y_stride = 1,
                                .chroma_stride = 1,
                                .scale_x = 2,
                                .scale_y = 2,
                                .offset_x = 0.5,
                                .offset_y = 0.5,
                                .colour = cases[_i].colour,
                                .full_range = cases[_i].full};

    ck_assert_int_eq(omo_planes_to_rgb32(&planes, 0, &pixel), OMO_OK);
    ck_assert_uint_ge(pixel >> 8 & 255u, 253u);
    ck_assert_uint_le(pixel >> 16 & 255u, 2u);
    ck_assert_uint_le(pixel & 255u, 2u);
    planes.y = NULL;
    ck_assert_int_eq(omo_planes_to_rgb32(&planes, 0, &pixel), OMO_ERR_ARG);
}
END_TEST

/* ---- writing ---- */

struct painting {
    struct omo_planes planes;
    uint8_t *y, *cb, *cr;
};

/* Smooth ramps: what little a JPEG of quality 100 changes is known to be small. */
static struct painting paint(int width, int height, int scale_x, int scale_y)
{
    struct painting p = {.planes = {.width = width,
                                    .height = height,
                                    .chroma_width = (width + scale_x - 1) / scale_x,
                                    .chroma_height = (height + scale_y - 1) / scale_y,
                                    .scale_x = scale_x,
                                    .scale_y = scale_y,
                                    .offset_x = (scale_x - 1) / 2.0,
                                    .offset_y = (scale_y - 1) / 2.0,
                                    .full_range = true}};
    int stride = width + 3;

    p.y = malloc((size_t)stride * (size_t)height);
    p.cb = malloc((size_t)stride * (size_t)height);
    p.cr = malloc((size_t)stride * (size_t)height);
    for (int row = 0; row < height; row++)
        for (int x = 0; x < width; x++) {
            p.y[row * stride + x] = (uint8_t)(40 + 150 * x / width);
            p.cb[row * stride + x] = (uint8_t)(60 + 120 * row / height);
            p.cr[row * stride + x] = (uint8_t)(200 - 100 * x / width);
        }
    p.planes.y = p.y;
    p.planes.cb = p.cb;
    p.planes.cr = p.cr;
    p.planes.y_stride = p.planes.chroma_stride = stride;
    return p;
}

static void painting_free(struct painting *p)
{
    free(p->y);
    free(p->cb);
    free(p->cr);
}

static void compare(const uint8_t *got, int got_stride, const uint8_t *want,
                    int want_stride, int width, int height)
{
    for (int row = 0; row < height; row++)
        for (int x = 0; x < width; x++)
            ck_assert_int_le(abs(got[row * got_stride + x] - want[row * want_stride + x]),
                             3);
}

START_TEST(planes_survive_being_written_and_read)
{
    static const struct {
        int width, height, scale_x, scale_y;
    } cases[] = {{64, 48, 2, 2}, {33, 17, 2, 2}, {33, 17, 2, 1}, {33, 17, 1, 1},
                 {33, 17, 1, 2}, {70, 9, 4, 1},  {1, 1, 2, 2},   {40, 40, 4, 2}};
    struct painting p =
        paint(cases[_i].width, cases[_i].height, cases[_i].scale_x, cases[_i].scale_y);
    struct omo_jpeg *jpeg = omo_jpeg_create();
    struct omo_planes got;
    uint8_t *bytes;
    size_t size;
    bool damaged;

    ck_assert_int_eq(omo_jpeg_encode(&p.planes, 100, &bytes, &size), OMO_OK);
    ck_assert_int_eq(omo_jpeg_decode(jpeg, bytes, size, true, &got, &damaged), OMO_OK);
    ck_assert(!damaged);
    ck_assert_int_eq(got.width, p.planes.width);
    ck_assert_int_eq(got.chroma_width, p.planes.chroma_width);
    ck_assert_int_eq(got.chroma_height, p.planes.chroma_height);
    compare(got.y, got.y_stride, p.y, p.planes.y_stride, got.width, got.height);
    compare(got.cb, got.chroma_stride, p.cb, p.planes.chroma_stride, got.chroma_width,
            got.chroma_height);
    compare(got.cr, got.chroma_stride, p.cr, p.planes.chroma_stride, got.chroma_width,
            got.chroma_height);
    free(bytes);
    omo_jpeg_destroy(jpeg);
    painting_free(&p);
}
END_TEST

START_TEST(a_grey_picture_is_written_without_chroma)
{
    struct painting p = paint(20, 30, 2, 2);
    struct omo_jpeg *jpeg = omo_jpeg_create();
    struct omo_planes got;
    uint8_t *bytes;
    size_t size;

    p.planes.cb = p.planes.cr = NULL;
    ck_assert_int_eq(omo_jpeg_encode(&p.planes, 90, &bytes, &size), OMO_OK);
    ck_assert_int_eq(omo_jpeg_decode(jpeg, bytes, size, true, &got, NULL), OMO_OK);
    compare(got.y, got.y_stride, p.y, p.planes.y_stride, 20, 30);
    ck_assert_int_eq(got.cb[0], 128);
    free(bytes);
    omo_jpeg_destroy(jpeg);
    painting_free(&p);
}
END_TEST

START_TEST(what_a_jpeg_cannot_express_is_refused)
{
    struct painting p = paint(32, 32, 2, 2);
    uint8_t *bytes = NULL;
    size_t size = 77;
    int quality = 90;

    switch (_i) {
    case 0:
        p.planes.offset_x = 0.0; /* sited on the left */
        break;
    case 1:
        p.planes.full_range = false;
        break;
    case 2:
        p.planes.colour = OMO_COLOUR_BT709;
        break;
    case 3:
        p.planes.y = NULL;
        break;
    case 4:
        p.planes.chroma_width = 15;
        break;
    case 5:
        p.planes.scale_x = 3.0;
        break;
    case 6:
        quality = 0;
        break;
    default:
        p.planes.width = 0;
        break;
    }
    ck_assert_int_eq(omo_jpeg_encode(&p.planes, quality, &bytes, &size), OMO_ERR_ARG);
    ck_assert_ptr_null(bytes);
    ck_assert_uint_eq(size, 77);
    painting_free(&p);
}
END_TEST

START_TEST(packed_pixels_survive_being_written_and_read)
{
    enum { WIDTH = 37, HEIGHT = 21, STRIDE = 40 };
    static uint32_t pixels[STRIDE * HEIGHT], got[WIDTH * HEIGHT];
    struct omo_jpeg *jpeg = omo_jpeg_create();
    struct omo_planes planes;
    uint8_t *bytes;
    size_t size;

    for (int i = 0; i < STRIDE * HEIGHT; i++)
        pixels[i] = i % STRIDE < WIDTH ? 0xff28aa46u : 0xffffffffu;
    ck_assert_int_eq(omo_jpeg_encode_rgb32(pixels, WIDTH, HEIGHT, STRIDE, 95, &bytes,
                                           &size),
                     OMO_OK);
    ck_assert_int_eq(omo_jpeg_decode(jpeg, bytes, size, true, &planes, NULL), OMO_OK);
    ck_assert_int_eq(planes.width, WIDTH);
    ck_assert_double_eq_tol(planes.scale_x, 2.0, exact);
    ck_assert_int_eq(omo_planes_to_rgb32(&planes, 0, got), OMO_OK);
    for (int i = 0; i < WIDTH * HEIGHT; i++)
        for (int shift = 0; shift < 24; shift += 8)
            ck_assert_int_le(abs((int)(got[i] >> shift & 255u) -
                                 (int)(0x28aa46u >> shift & 255u)),
                             4);
    ck_assert_int_eq(omo_jpeg_encode_rgb32(pixels, 10, 10, 9, 95, &bytes, &size),
                     OMO_ERR_ARG);
    free(bytes);
    omo_jpeg_destroy(jpeg);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("picture");
    TCase *colour = tcase_create("colour"), *turn = tcase_create("turn"),
          *write = tcase_create("write");
    SRunner *runner;
    int failed;

    tcase_add_loop_test(colour, srgb_becomes_the_ycbcr_of_jfif, 0, 7);
    tcase_add_loop_test(colour, ycbcr_comes_back_as_the_same_srgb, 0, 7);
    tcase_add_test(colour, impossible_colours_come_back_clamped);
    tcase_add_loop_test(colour, chroma_of_other_spaces_becomes_that_of_jpeg, 0, 4);
    tcase_add_test(colour, a_weak_wide_gamut_colour_becomes_its_usual_chroma);
    tcase_add_test(colour, jpeg_chroma_stays_as_it_is);
    suite_add_tcase(suite, colour);
    tcase_add_loop_test(turn, a_point_turns_clockwise, 0, 9);
    tcase_add_loop_test(turn, pixels_turn_as_points_do, 0, 4);
    tcase_add_loop_test(turn, pixels_have_the_colour_of_their_space, 0, 4);
    suite_add_tcase(suite, turn);
    tcase_add_loop_test(write, planes_survive_being_written_and_read, 0, 8);
    tcase_add_test(write, a_grey_picture_is_written_without_chroma);
    tcase_add_loop_test(write, what_a_jpeg_cannot_express_is_refused, 0, 8);
    tcase_add_test(write, packed_pixels_survive_being_written_and_read);
    suite_add_tcase(suite, write);
    runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
