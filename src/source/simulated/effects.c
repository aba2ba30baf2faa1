#include "effects.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CODE_STEPS  16384 /* table from linear light to sRGB */
#define NOISE_COUNT (1 << 17)
#define FINE        16 /* planes hold sixteenths of a grey level before noise */
#define BLUR_REACH  6
#define NOISE_MAX   2047 /* so that 15 times as much is still a short */

struct omo_effects {
    const struct omo_scene *scene;
    int width, height, chroma_width, chroma_height, step_x, step_y;
    omo_float4 *room;                    /* sharp */
    omo_float4 *light;                   /* per pixel: vignetting, gradient, sun */
    omo_float4 *row_sum;                 /* one row, blurred downwards */
    float *chroma_row;                   /* sums of Cb and of Cr of one chroma row */
    int16_t *y, *cb, *cr;                /* developed frame, sixteenths */
    int16_t *room_y, *room_cb, *room_cr; /* the same of the room alone */
    uint8_t *out_y, *out_cb, *out_cr;
    int *dirty_low, *dirty_high; /* spans of y that differ from room_y */
    float code[CODE_STEPS + 2];
    int16_t noise[NOISE_COUNT], chroma_noise[NOISE_COUNT]; /* sixteenths */
    float kernel[BLUR_REACH + 1];
    int reach;
    omo_float4 gain;
};
/* ---- tables ---- */

/** Normal noise of standard deviation sigma, in grey levels. */
static void make_noise(int16_t *out, double sigma, bool smooth, uint64_t seed)
{
    struct omo_random random = {seed};
    double before = omo_random_normal(&random), now = omo_random_normal(&random);
    for (int i = 0; i < NOISE_COUNT; i++) {
        double next = omo_random_normal(&random);
        /* colour noise keeps together over neighbours, as after demosaicing */
        double value = smooth ? (before + 2 * now + next) / 2.449489742783178 : now;
        before = now;
        now = next;
        value = omo_sim_clamp(value * sigma * FINE, -NOISE_MAX, NOISE_MAX);
        out[i] = (int16_t)floor(value + 0.5);
    }
}

static void make_tables(struct omo_effects *e)
{
    const struct omo_scene *s = e->scene;
    for (int i = 0; i <= CODE_STEPS + 1; i++)
        e->code[i] = (float)(255 * omo_sim_coded(fmin((double)i / CODE_STEPS, 1)));
    /* Independent noise in red, green and blue gives luma 0.67 and a colour difference
       0.64 of it; averaging pixels of a colour sample takes its share. */
    double colour = s->noise * 0.64 * s->chroma_noise / sqrt(e->step_x * e->step_y);
    make_noise(e->noise, s->noise * 0.67, false, (uint64_t)s->seed ^ 0x6e6f697365u);
    make_noise(e->chroma_noise, colour, true, (uint64_t)s->seed ^ 0x6368726fu);
    double sum = 0, weight[BLUR_REACH + 1];
    e->reach = s->blur_px < 0.05 ? 0 : (int)ceil(2.5 * s->blur_px);
    if (e->reach > BLUR_REACH)
        e->reach = BLUR_REACH;
    for (int i = 0; i <= e->reach; i++) {
        double sigma = fmax(s->blur_px, 0.05);
        weight[i] = omo_sim_exp(-i * i / (2 * sigma * sigma));
        sum += i == 0 ? weight[i] : 2 * weight[i];
    }
    for (int i = 0; i <= e->reach; i++)
        e->kernel[i] = (float)(weight[i] / sum);
}

/** How far a point lies in the sun that falls slanting through a window of two panes;
 *  x and y are shares of the picture's width and height. */
static double in_sun(double x, double y)
{
    double slanted = x - 0.36 * (y - 0.5), seen = 0;
    for (int pane = 0; pane < 2; pane++) {
        double left = 0.36 + 0.17 * pane;
        seen += omo_sim_smooth_step(slanted, left - 0.006, left + 0.006) *
                (1 - omo_sim_smooth_step(slanted, left + 0.144, left + 0.156));
    }
    return seen * omo_sim_smooth_step(y, 0.17, 0.19) *
           (1 - omo_sim_smooth_step(y, 0.78, 0.81));
}

static void make_light(struct omo_effects *e)
{
    const struct omo_scene *s = e->scene;
    const omo_float4 low_sun = {1.25f, 0.98f, 0.66f, 0};
    double cx = (e->width - 1) / 2.0, cy = (e->height - 1) / 2.0;
    double corner = cx * cx + cy * cy, sky = 1 / (1 + 0.45 * s->sun_ratio);
    for (int y = 0; y < e->height; y++) {
        for (int x = 0; x < e->width; x++) {
            double r2 = ((x - cx) * (x - cx) + (y - cy) * (y - cy)) / corner;
            double u = (double)x / e->width, v = (double)y / e->height;
            double lens = 1 - s->vignetting_ratio * r2 * (1.2 - 0.2 * r2);
            double across =
                1 + s->gradient_ratio * (0.5 - u) - 0.3 * s->gradient_ratio * (v - 0.5);
            double sun = s->sun_ratio > 0 ? s->sun_ratio * in_sun(u, v) : 0;
            omo_float4 light = ((float)across + low_sun * (float)sun) * (float)sky;
            light[3] = 1;
            e->light[y * e->width + x] = light * (float)lens;
        }
    }
}

static enum omo_status allocate(struct omo_effects *e)
{
    size_t pixels = (size_t)e->width * (size_t)e->height;
    size_t chroma = (size_t)e->chroma_width * (size_t)e->chroma_height;
    size_t margin = 2 * BLUR_REACH + 4;
    e->room = aligned_alloc(16, pixels * sizeof(omo_float4));
    e->light = aligned_alloc(16, pixels * sizeof(omo_float4));
    e->row_sum = aligned_alloc(16, ((size_t)e->width + margin) * sizeof(omo_float4));
    e->chroma_row = malloc(2 * (size_t)e->chroma_width * sizeof(float));
    e->y = calloc(pixels, sizeof(int16_t));
    e->room_y = calloc(pixels, sizeof(int16_t));
    e->cb = calloc(chroma, sizeof(int16_t));
    e->cr = calloc(chroma, sizeof(int16_t));
    e->room_cb = calloc(chroma, sizeof(int16_t));
    e->room_cr = calloc(chroma, sizeof(int16_t));
    e->out_y = malloc(pixels);
    e->out_cb = malloc(chroma);
    e->out_cr = malloc(chroma);
    e->dirty_low = malloc((size_t)e->height * sizeof(int));
    e->dirty_high = malloc((size_t)e->height * sizeof(int));
    if (!e->room || !e->light || !e->row_sum || !e->chroma_row || !e->y || !e->room_y ||
        !e->cb || !e->cr || !e->room_cb || !e->room_cr || !e->out_y || !e->out_cb ||
        !e->out_cr || !e->dirty_low || !e->dirty_high)
        return OMO_ERR_MEMORY;
    for (int y = 0; y < e->height; y++) {
        e->dirty_low[y] = e->width;
        e->dirty_high[y] = -1;
    }
    return OMO_OK;
}

enum omo_status omo_effects_create(const struct omo_scene *scene,
                                   struct omo_effects **out)
{
    struct omo_effects *e = calloc(1, sizeof *e);
    if (!e)
        return OMO_ERR_MEMORY;
    e->scene = scene;
    e->width = (int)scene->width;
    e->height = (int)scene->height;
    e->step_x = scene->subsampling == 2 ? 1 : 2;
    e->step_y = scene->subsampling == 0 ? 2 : 1;
    e->chroma_width = e->width / e->step_x;
    e->chroma_height = e->height / e->step_y;
    if (allocate(e) != OMO_OK) {
        omo_effects_destroy(e);
        return OMO_ERR_MEMORY;
    }
    make_tables(e);
    make_light(e);
    *out = e;
    return OMO_OK;
}

void omo_effects_destroy(struct omo_effects *e)
{
    if (!e)
        return;
    free(e->room);
    free(e->light);
    free(e->row_sum);
    free(e->chroma_row);
    free(e->y);
    free(e->cb);
    free(e->cr);
    free(e->room_y);
    free(e->room_cb);
    free(e->room_cr);
    free(e->out_y);
    free(e->out_cb);
    free(e->out_cr);
    free(e->dirty_low);
    free(e->dirty_high);
    free(e);
}

/* ---- development ---- */

static int clamp_int(int x, int low, int high)
{
    return x < low ? low : x > high ? high : x;
}

/** Blurs row y of the canvas over columns from..to into row_sum, vertically. */
static void blur_down(struct omo_effects *e, const struct omo_canvas *canvas, int y,
                      int from, int to)
{
    const omo_float4 *middle = canvas->pixel + (size_t)y * (size_t)e->width;
    for (int x = from; x <= to; x++)
        e->row_sum[x] = middle[x] * e->kernel[0];
    for (int k = 1; k <= e->reach; k++) {
        size_t above = (size_t)clamp_int(y - k, 0, e->height - 1);
        size_t below = (size_t)clamp_int(y + k, 0, e->height - 1);
        const omo_float4 *a = canvas->pixel + above * (size_t)e->width;
        const omo_float4 *b = canvas->pixel + below * (size_t)e->width;
        float weight = e->kernel[k];
        for (int x = from; x <= to; x++)
            e->row_sum[x] += (a[x] + b[x]) * weight;
    }
}

static inline omo_float4 blur_across(const struct omo_effects *e, int x)
{
    omo_float4 sum = e->row_sum[x] * e->kernel[0];
    if (x >= e->reach && x < e->width - e->reach) {
        for (int k = 1; k <= e->reach; k++)
            sum += (e->row_sum[x - k] + e->row_sum[x + k]) * e->kernel[k];
        return sum;
    }
    for (int k = 1; k <= e->reach; k++)
        sum += (e->row_sum[clamp_int(x - k, 0, e->width - 1)] +
                e->row_sum[clamp_int(x + k, 0, e->width - 1)]) *
               e->kernel[k];
    return sum;
}

static inline float coded(const struct omo_effects *e, float linear)
{
    float at = linear * CODE_STEPS;
    at = at < 0 ? 0 : at > CODE_STEPS ? CODE_STEPS : at;
    int i = (int)at;
    return e->code[i] + (e->code[i + 1] - e->code[i]) * (at - (float)i);
}

/** One block of step_y rows, columns from..to (aligned to step_x, inclusive). */
static void develop_rows(struct omo_effects *e, const struct omo_canvas *canvas, int y,
                         int from, int to)
{
    const int first = from / e->step_x, last = to / e->step_x;
    float *cb = e->chroma_row, *cr = e->chroma_row + e->chroma_width;
    for (int i = first; i <= last; i++)
        cb[i] = cr[i] = 0;
    for (int k = 0; k < e->step_y; k++) {
        size_t base = (size_t)(y + k) * (size_t)e->width;
        blur_down(e, canvas, y + k, clamp_int(from - e->reach, 0, e->width - 1),
                  clamp_int(to + e->reach, 0, e->width - 1));
        for (int x = from; x <= to; x++) {
            omo_float4 v = blur_across(e, x) * e->light[base + (size_t)x] * e->gain;
            float r = coded(e, v[0]), g = coded(e, v[1]), b = coded(e, v[2]);
            float luma = 0.299f * r + 0.587f * g + 0.114f * b;
            e->y[base + (size_t)x] = (int16_t)(luma * FINE + 0.5f);
            int i = x / e->step_x;
            cb[i] += (b - luma) * (0.5f / 0.886f);
            cr[i] += (r - luma) * (0.5f / 0.701f);
        }
    }
    float share = (float)FINE / (float)(e->step_x * e->step_y);
    size_t base = (size_t)(y / e->step_y) * (size_t)e->chroma_width;
    for (int i = first; i <= last; i++) {
        e->cb[base + (size_t)i] = (int16_t)(cb[i] * share + 128 * FINE + 0.5f);
        e->cr[base + (size_t)i] = (int16_t)(cr[i] * share + 128 * FINE + 0.5f);
    }
}

void omo_effects_take_room(struct omo_effects *e, const struct omo_canvas *canvas)
{
    size_t pixels = (size_t)e->width * (size_t)e->height;
    size_t chroma = (size_t)e->chroma_width * (size_t)e->chroma_height;
    memcpy(e->room, canvas->pixel, pixels * sizeof(omo_float4));
    for (int y = 0; y < e->height; y += e->step_y)
        develop_rows(e, canvas, y, 0, e->width - 1);
    memcpy(e->room_y, e->y, pixels * sizeof(int16_t));
    memcpy(e->room_cb, e->cb, chroma * sizeof(int16_t));
    memcpy(e->room_cr, e->cr, chroma * sizeof(int16_t));
    for (int y = 0; y < e->height; y++) {
        e->dirty_low[y] = e->width;
        e->dirty_high[y] = -1;
    }
}

/** Gives developed rows that were touched last time back to the room. */
static void clean_rows(struct omo_effects *e, int y)
{
    int low = e->dirty_low[y], high = e->dirty_high[y];
    if (low > high)
        return;
    for (int k = 0; k < e->step_y; k++) {
        size_t at = (size_t)(y + k) * (size_t)e->width + (size_t)low;
        memcpy(e->y + at, e->room_y + at, (size_t)(high - low + 1) * sizeof(int16_t));
    }
    size_t at =
        (size_t)(y / e->step_y) * (size_t)e->chroma_width + (size_t)(low / e->step_x);
    size_t count = (size_t)(high / e->step_x - low / e->step_x + 1);
    memcpy(e->cb + at, e->room_cb + at, count * sizeof(int16_t));
    memcpy(e->cr + at, e->room_cr + at, count * sizeof(int16_t));
    e->dirty_low[y] = e->width;
    e->dirty_high[y] = -1;
}

static void touched(const struct omo_effects *e, const struct omo_canvas *canvas, int y,
                    int *from, int *to)
{
    int low = e->width, high = -1;
    for (int k = y - e->reach; k < y + e->step_y + e->reach; k++) {
        if (k < 0 || k >= e->height)
            continue;
        low = canvas->low[k] < low ? canvas->low[k] : low;
        high = canvas->high[k] > high ? canvas->high[k] : high;
    }
    low = clamp_int(low - e->reach, 0, e->width);
    high = high < 0 ? -1 : clamp_int(high + e->reach, 0, e->width - 1);
    *from = low - low % e->step_x;
    *to = high < 0 ? -1 : high - high % e->step_x + e->step_x - 1;
}

/* Eight samples at once; the compiler makes vector instructions of it where there are. */
typedef int16_t short8 __attribute__((vector_size(16)));
typedef uint8_t byte8 __attribute__((vector_size(8)));

/** Adds noise, a little more in the dark where coding lifts it, and rounds to bytes. */
static inline byte8 noisy(short8 value, short8 noise)
{
    short8 more = (noise * (8 - (value >> 8))) >> 5;
    short8 sum = (value + noise + more + FINE / 2) >> 4;
    short8 low = sum > 0, high = sum > 255;
    sum = (sum & low & ~high) | (high & 255);
    return __builtin_convertvector(sum, byte8);
}

static void add_noise(const int16_t *noise, const int16_t *in, uint8_t *out, int count,
                      uint64_t key)
{
    struct omo_random random = {key};
    const int16_t *n = noise + omo_random_bits(&random) % (uint64_t)(NOISE_COUNT - count);
    short8 value, some;
    byte8 bytes;
    int i = 0;
    for (; i + 8 <= count; i += 8) {
        memcpy(&value, in + i, sizeof value);
        memcpy(&some, n + i, sizeof some);
        bytes = noisy(value, some);
        memcpy(out + i, &bytes, sizeof bytes);
    }
    if (i == count)
        return;
    size_t rest = (size_t)(count - i);
    value = some = (short8){0};
    memcpy(&value, in + i, rest * sizeof(int16_t));
    memcpy(&some, n + i, rest * sizeof(int16_t));
    bytes = noisy(value, some);
    memcpy(out + i, &bytes, rest);
}

static void expose(struct omo_effects *e, long frame)
{
    uint64_t key = ((uint64_t)e->scene->seed * 1000003u + (uint64_t)frame) * 3;
    for (int y = 0; y < e->height; y++) {
        size_t at = (size_t)y * (size_t)e->width;
        add_noise(e->noise, e->y + at, e->out_y + at, e->width,
                  key * 65537u + (uint64_t)y);
    }
    for (int y = 0; y < e->chroma_height; y++) {
        size_t at = (size_t)y * (size_t)e->chroma_width;
        add_noise(e->chroma_noise, e->cb + at, e->out_cb + at, e->chroma_width,
                  (key + 1) * 65537u + (uint64_t)y);
        add_noise(e->chroma_noise, e->cr + at, e->out_cr + at, e->chroma_width,
                  (key + 2) * 65537u + (uint64_t)y);
    }
}

void omo_effects_set_light(struct omo_effects *e, double time_s)
{
    const struct omo_scene *s = e->scene;
    double swing = 0.5 - 0.5 * omo_sim_cos_deg(180 * time_s / s->drift_s);
    double bright = omo_sim_exp(s->exposure_stops * 0.69314718055994531) *
                    (1 + s->drift_ratio * swing);
    if (omo_scene_switched(s, time_s))
        bright *= omo_sim_exp(s->switch_stops * 0.69314718055994531);
    e->gain = (omo_float4){(float)(bright * s->cast[0] / 100),
                           (float)(bright * s->cast[1] / 100),
                           (float)(bright * s->cast[2] / 100), 1};
}

void omo_effects_develop(struct omo_effects *e, struct omo_canvas *canvas, long frame,
                         bool everything, struct omo_planes *planes)
{
    for (int y = 0; y < e->height; y += e->step_y) {
        int from = 0, to = e->width - 1;
        clean_rows(e, y);
        if (!everything)
            touched(e, canvas, y, &from, &to);
        if (from > to)
            continue;
        develop_rows(e, canvas, y, from, to);
        e->dirty_low[y] = from;
        e->dirty_high[y] = to;
    }
    expose(e, frame);
    *planes = (struct omo_planes){
        .width = e->width,
        .height = e->height,
        .chroma_width = e->chroma_width,
        .chroma_height = e->chroma_height,
        .y = e->out_y,
        .cb = e->out_cb,
        .cr = e->out_cr,
        .y_stride = e->width,
        .chroma_stride = e->chroma_width,
        .scale_x = e->step_x,
        .scale_y = e->step_y,
        .offset_x = 0.5 * (e->step_x - 1),
        .offset_y = 0.5 * (e->step_y - 1),
        .colour = OMO_COLOUR_BT601,
        .full_range = true,
    };
}

void omo_effects_restore(const struct omo_effects *e, struct omo_canvas *canvas)
{
    for (int y = 0; y < e->height; y++) {
        int low = canvas->low[y], high = canvas->high[y];
        if (low <= high) {
            size_t at = (size_t)y * (size_t)e->width + (size_t)low;
            memcpy(canvas->pixel + at, e->room + at,
                   (size_t)(high - low + 1) * sizeof(omo_float4));
        }
        canvas->low[y] = e->width;
        canvas->high[y] = -1;
    }
}
