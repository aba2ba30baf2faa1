/* Photographs of a chessboard through the lens of tests/lens_fixture.c, for the tests.
 *   tool_board KIND OUT [ROLL PITCH]
 * KIND: many (all over the picture, tilted), flat (never tilted), few, corner (always in
 * one corner), blank, small (640x480), upright (standing on a table before a camera with
 * this roll and pitch), held (each picture several times over, as one file of JPEGs).
 * OUT: a folder, or for "held" a file. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>
#include <glib/gstdio.h>

#include "lens_fixture.h"
#include "omogon/picture.h"
#include "omogon/text.h"

#define COLUMNS 10 /* squares */
#define ROWS    7
#define GRID    4 /* px between the rays that are worked out; between them they are even */
#define FINE    3 /* samples across a pixel */

struct pose {
    double turn[3][3], at[3]; /* board to camera; the board's unit is a square */
};

struct studio {
    struct omo_lens lens;
    int wide, high; /* of the grid */
    double *ray;    /* x and y */
    uint8_t *grey;
    unsigned noise;
};

static void studio_open(struct studio *s, int width, int height)
{
    struct omo_lens lens = webcam();
    s->noise = 1;
    s->lens = lens;
    if (width != lens.width) {
        /* A part of the same sensor. */
        s->lens.value[OMO_LENS_CX] -= (lens.width - width) / 2.0;
        s->lens.value[OMO_LENS_CY] -= (lens.height - height) / 2.0;
        s->lens.width = width;
        s->lens.height = height;
    }
    s->wide = width / GRID + 2;
    s->high = height / GRID + 2;
    s->ray = g_new(double, 2 * s->wide * s->high);
    s->grey = g_malloc((size_t)width * (size_t)height);
    const double *v = s->lens.value;
    for (int j = 0; j < s->high; j++)
        for (int i = 0; i < s->wide; i++) {
            struct omo_point seen = {i * GRID - 0.5, j * GRID - 0.5};
            struct omo_point p = omo_lens_undistort(&s->lens, seen);
            s->ray[2 * (j * s->wide + i)] = (p.x - v[OMO_LENS_CX]) / v[OMO_LENS_FX];
            s->ray[2 * (j * s->wide + i) + 1] = (p.y - v[OMO_LENS_CY]) / v[OMO_LENS_FY];
        }
}

static void studio_close(struct studio *s)
{
    g_free(s->ray);
    g_free(s->grey);
}

/** Ray of a place measured from the picture's upper left edge, px. */
static void ray_at(const struct studio *s, double x, double y, double ray[2])
{
    double gx = x / GRID, gy = y / GRID;
    int i = (int)gx, j = (int)gy;
    double fx = gx - i, fy = gy - j;
    for (int c = 0; c < 2; c++) {
        const double *at = s->ray + 2 * (j * s->wide + i) + c;
        double top = at[0] + fx * (at[2] - at[0]);
        double low = at[2 * s->wide] + fx * (at[2 * s->wide + 2] - at[2 * s->wide]);
        ray[c] = top + fy * (low - top);
    }
}

/** Light of a place on the board's plane, in squares from its inner corner 0. */
static double light(double u, double v)
{
    double x = u + 1, y = v + 1;
    if (x < -1 || y < -1 || x > COLUMNS + 1 || y > ROWS + 1)
        return NAN;
    bool inside = x >= 0 && y >= 0 && x < COLUMNS && y < ROWS;
    bool black = inside && ((int)x + (int)y) % 2 == 0;
    return black ? 35 : 215;
}

/** Where a ray meets the board: turn^-1 (t ray - at) has no third part. */
static double light_of(const struct pose *p, const double ray[2])
{
    double along = 0, far = 0, u = 0, v = 0;
    const double r[3] = {ray[0], ray[1], 1};
    for (int k = 0; k < 3; k++) {
        along += p->turn[k][2] * r[k];
        far += p->turn[k][2] * p->at[k];
    }
    double t = far / along;
    if (!(t > 0))
        return NAN;
    for (int k = 0; k < 3; k++) {
        u += p->turn[k][0] * (t * r[k] - p->at[k]);
        v += p->turn[k][1] * (t * r[k] - p->at[k]);
    }
    return light(u, v);
}

static double noise(struct studio *s)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        s->noise = s->noise * 1664525u + 1013904223u;
        sum += (double)(s->noise >> 8) / 16777216.0;
    }
    return sum;
}

static void photograph(struct studio *s, const struct pose *pose)
{
    for (int y = 0; y < s->lens.height; y++)
        for (int x = 0; x < s->lens.width; x++) {
            double sum = 0;
            for (int k = 0; k < FINE * FINE; k++) {
                double ray[2];
                ray_at(s, x + (k % FINE + 0.5) / FINE, y + (k / FINE + 0.5) / FINE, ray);
                double value = pose ? light_of(pose, ray) : (double)NAN;
                sum += isnan(value) ? 90 + 0.03 * x : value;
            }
            double value = sum / (FINE * FINE) + 1.5 * noise(s);
            s->grey[y * s->lens.width + x] = (uint8_t)lround(fmin(fmax(value, 0), 255));
        }
}

static void put(struct studio *s, FILE *out)
{
    uint8_t *bytes = NULL;
    size_t size = 0;
    struct omo_planes planes = {.width = s->lens.width,
                                .height = s->lens.height,
                                .y = s->grey,
                                .y_stride = s->lens.width,
                                .scale_x = 1,
                                .scale_y = 1,
                                .colour = OMO_COLOUR_BT601,
                                .full_range = true};
    if (omo_jpeg_encode(&planes, 93, &bytes, &size) != OMO_OK ||
        fwrite(bytes, 1, size, out) != size)
        exit(1);
    free(bytes);
}

static void multiply(double a[3][3], double b[3][3], double out[3][3])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[i][k] = a[i][0] * b[0][k] + a[i][1] * b[1][k] + a[i][2] * b[2][k];
}

static void turn_about(int axis, double angle_deg, double m[3][3])
{
    double c = cos(angle_deg * M_PI / 180), s = sin(angle_deg * M_PI / 180);
    int i = (axis + 1) % 3, k = (axis + 2) % 3;
    memset(m, 0, 9 * sizeof(double));
    m[axis][axis] = 1;
    m[i][i] = m[k][k] = c;
    m[i][k] = -s;
    m[k][i] = s;
}

/** The board's middle seen at (x, y) of the picture (0..1), so many squares away. */
static struct pose held_at(const struct studio *s, double x, double y, double far,
                           double about_x, double about_y, double about_z)
{
    struct pose p;
    double a[3][3], b[3][3], c[3][3], ray[2];
    turn_about(2, about_z, a);
    turn_about(1, about_y, b);
    multiply(b, a, c);
    turn_about(0, about_x, a);
    multiply(a, c, p.turn);
    ray_at(s, x * s->lens.width, y * s->lens.height, ray);
    for (int k = 0; k < 3; k++) {
        double middle = far * (k < 2 ? ray[k] : 1);
        p.at[k] =
            middle - p.turn[k][0] * (COLUMNS / 2.0 - 1) - p.turn[k][1] * (ROWS / 2.0 - 1);
    }
    return p;
}

/** Upright on a table, facing the way it is turned, before a camera with roll and pitch.
 */
static struct pose standing(const struct studio *s, double turned_deg, double roll_deg,
                            double pitch_deg)
{
    double yaw[3][3], pitch[3][3], roll[3][3], both[3][3];
    struct pose p = held_at(s, 0.5, 0.55, 17, 0, 0, 0);
    turn_about(1, turned_deg, yaw);
    turn_about(0, -pitch_deg, pitch); /* looking up lowers what is ahead */
    turn_about(2, roll_deg, roll);
    multiply(roll, pitch, both);
    multiply(both, yaw, p.turn);
    for (int k = 0; k < 3; k++)
        p.at[k] += (k == 0) * (COLUMNS / 2.0 - 1) + (k == 1) * (ROWS / 2.0 - 1) -
                   p.turn[k][0] * (COLUMNS / 2.0 - 1) - p.turn[k][1] * (ROWS / 2.0 - 1);
    return p;
}

/* Middle (share of the picture), distance in squares, tilts. */
static const double many[][6] = {
    {.50, .50, 11, 0, 0, 0},     {.20, .27, 18, 0, 0, 3},     {.80, .27, 18, 0, 0, -4},
    {.20, .73, 18, 0, 0, 0},     {.80, .73, 18, 0, 0, 5},     {.50, .50, 14, 28, 0, 0},
    {.50, .50, 14, -28, 0, 4},   {.50, .50, 14, 0, 30, 0},    {.50, .50, 14, 0, -30, -6},
    {.22, .30, 17, 25, 20, 0},   {.78, .30, 17, 22, -25, 8},  {.22, .70, 17, -25, 22, -5},
    {.78, .70, 17, -22, -24, 0}, {.50, .28, 16, 30, 0, 0},    {.50, .72, 16, -30, 10, 0},
    {.24, .50, 16, 5, 32, 12},   {.76, .50, 16, -5, -32, 0},  {.40, .55, 12, 18, 18, 20},
    {.60, .45, 12, -18, -20, 0}, {.50, .50, 20, 35, 30, -15},
};
#define MANY ((int)(sizeof many / sizeof many[0]))

static struct pose pose_of(const struct studio *s, const char *kind, int i,
                           double roll_deg, double pitch_deg)
{
    const double *m = many[i];
    if (!strcmp(kind, "upright"))
        return standing(s, i * 12 - 12, roll_deg, pitch_deg);
    if (!strcmp(kind, "flat"))
        return held_at(s, m[0], m[1], 17 + i % 3, 0, 0, m[5]);
    if (!strcmp(kind, "corner"))
        return held_at(s, 0.24 + 0.004 * i, 0.3 + 0.004 * i, 17 + 0.4 * i, m[3], m[4], 0);
    return held_at(s, m[0], m[1], m[2], m[3], m[4], m[5]);
}

int main(int argc, char **argv)
{
    double roll_deg = 0, pitch_deg = 0;
    if (argc < 3 || (argc == 5 && (!omo_number_parse(argv[3], &roll_deg) ||
                                   !omo_number_parse(argv[4], &pitch_deg))))
        return 2;
    const char *kind = argv[1];
    struct studio studio;
    bool small = !strcmp(kind, "small"), held = !strcmp(kind, "held");
    studio_open(&studio, small ? 640 : 1280, small ? 480 : 720);
    int count = MANY;
    if (!strcmp(kind, "few") || small)
        count = 4;
    else if (!strcmp(kind, "upright"))
        count = 3;
    else if (!strcmp(kind, "blank"))
        count = 1;
    else if (!strcmp(kind, "flat") || !strcmp(kind, "corner"))
        count = 14;
    FILE *out = NULL;
    if (held)
        out = fopen(argv[2], "wb");
    else
        g_mkdir_with_parents(argv[2], 0700);
    for (int i = 0; i < count; i++) {
        g_autofree char *path = held ? NULL : g_strdup_printf("%s/%02d.jpg", argv[2], i);
        struct pose pose = pose_of(&studio, kind, i, roll_deg, pitch_deg);
        photograph(&studio, strcmp(kind, "blank") ? &pose : NULL);
        if (path)
            out = fopen(path, "wb");
        if (!out)
            return 1;
        for (int times = held ? 15 : 1; times > 0; times--)
            put(&studio, out);
        if (path && fclose(out) != 0)
            return 1;
    }
    if (held && fclose(out) != 0)
        return 1;
    studio_close(&studio);
    return 0;
}
