#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "omogon/clock.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/screen_private.h"

/*
 * Opens the window with pages made up here and prints what comes back, for
 * test_screen.py. Arguments are KEY=VALUE:
 *   page=measure|list   width height scale software full seconds
 *   picture=black|white|grey|noise|room|halves|none  camera_width camera_height
 *   chroma=420|422|444
 *   angle u95 best last hike lean raises movement instruction fault mirror flash held
 *   copy=PATH  writes the window's copy of itself
 *   wake=1     waits until a thread wakes it
 *   frames=N   draws N pictures as fast as it can and tells the processor time of one
 * Lines: "ready W H", "tile NAME X Y W H text|drawing", "action NAME ITEM", "copy W H",
 * "woken 1 none", "frame_ms N".
 */

static const char *const action_names[OMO_ACTION_COUNT] = {
    "none",  "quit",  "back",   "mark", "hold-stop", "enough", "begin",
    "still", "sound", "mirror", "full", "help",      "choose",
};

static int argument_count;
static char **arguments;

static const char *word_of(const char *key, const char *otherwise)
{
    size_t length = strlen(key);
    for (int i = 1; i < argument_count; i++)
        if (strncmp(arguments[i], key, length) == 0 && arguments[i][length] == '=')
            return arguments[i] + length + 1;
    return otherwise;
}

static double number_of(const char *key, double otherwise)
{
    double value = otherwise;
    const char *text = word_of(key, NULL);
    if (text != NULL && !omo_number_parse(text, &value))
        value = NAN;
    return value;
}

static bool flag_of(const char *key, bool otherwise)
{
    return number_of(key, otherwise ? 1 : 0) > 0;
}

struct camera {
    struct omo_planes planes;
    uint8_t *bytes;
};

static uint32_t dice = 1;

static uint8_t noise(void)
{
    dice = dice * 1664525u + 1013904223u;
    return (uint8_t)(dice >> 24);
}

/** A wall, a floor, a figure of plain shapes: enough to see how the overlay reads. */
static void paint_room(struct camera *camera, uint8_t *y, uint8_t *cb, uint8_t *cr)
{
    const struct omo_planes *p = &camera->planes;
    for (int j = 0; j < p->height; j++)
        for (int i = 0; i < p->width; i++) {
            double u = (double)i / p->width, v = (double)j / p->height;
            double light = v > 0.85 ? 110 : 190 - 40 * u;
            bool trunk = fabs(u - 0.5) < 0.075 && v > 0.3 && v < 0.85;
            bool head =
                hypot((u - 0.5) * p->width, (v - 0.2) * p->height) < p->height * 0.085;
            if (trunk)
                light = 70;
            if (head)
                light = 150;
            y[(size_t)j * (size_t)p->width + (size_t)i] = (uint8_t)(light + noise() / 32);
        }
    for (int j = 0; j < p->chroma_height; j++)
        for (int i = 0; i < p->chroma_width; i++) {
            double u = (double)i / p->chroma_width, v = (double)j / p->chroma_height;
            size_t at = (size_t)j * (size_t)p->chroma_width + (size_t)i;
            cb[at] = v > 0.85 ? 115 : 124;
            cr[at] = v > 0.85 ? 140 : 131;
            if (fabs(u - 0.5) < 0.075 && v > 0.3 && v < 0.85)
                cb[at] = 150;
        }
}

static bool make_camera(struct camera *camera, const char *kind)
{
    if (strcmp(kind, "none") == 0)
        return false;
    struct omo_planes *p = &camera->planes;
    *p = (struct omo_planes){.width = (int)number_of("camera_width", 1280),
                             .height = (int)number_of("camera_height", 720),
                             .full_range = true};
    const char *chroma = word_of("chroma", "420");
    p->scale_x = strcmp(chroma, "444") == 0 ? 1 : 2;
    p->scale_y = strcmp(chroma, "420") == 0 ? 2 : 1;
    p->chroma_width = (p->width + (int)p->scale_x - 1) / (int)p->scale_x;
    p->chroma_height = (p->height + (int)p->scale_y - 1) / (int)p->scale_y;
    size_t luma = (size_t)p->width * (size_t)p->height;
    size_t part = (size_t)p->chroma_width * (size_t)p->chroma_height;
    camera->bytes = malloc(luma + 2 * part);
    if (camera->bytes == NULL)
        return false;
    uint8_t *y = camera->bytes, *cb = y + luma, *cr = cb + part;
    memset(cb, 128, 2 * part);
    if (strcmp(kind, "room") == 0)
        paint_room(camera, y, cb, cr);
    else if (strcmp(kind, "noise") == 0)
        for (size_t i = 0; i < luma + 2 * part; i++)
            y[i] = noise();
    else if (strcmp(kind, "halves") == 0)
        /* Left reddish, right bluish: which way round it is shown. */
        for (size_t i = 0; i < luma; i++) {
            y[i] = 128;
            if (i < part) {
                bool left = (int)(i % (size_t)p->chroma_width) < p->chroma_width / 2;
                cb[i] = left ? 100 : 190;
                cr[i] = left ? 190 : 100;
            }
        }
    else
        memset(y,
               strcmp(kind, "white") == 0  ? 255
               : strcmp(kind, "grey") == 0 ? 128
                                           : 0,
               luma);
    p->y = y;
    p->cb = cb;
    p->cr = cr;
    p->y_stride = p->width;
    p->chroma_stride = p->chroma_width;
    return true;
}

/** Markers of a right arm raised by this angle. */
static void place_markers(struct omo_live_view *view, const struct omo_planes *p,
                          double angle_deg)
{
    double h = p->height, a = angle_deg * M_PI / 180;
    double sx = p->width * 0.5 - h * 0.11, sy = h * 0.36, arm = h * 0.2;
    const double place[OMO_ROLE_COUNT][2] = {{sx, sy},
                                             {sx - sin(a) * arm, sy + cos(a) * arm},
                                             {sx - sin(a) * arm * 1.85,
                                              sy + cos(a) * arm * 1.85},
                                             {sx + h * 0.015, sy + h * 0.36},
                                             {p->width * 0.5, sy + h * 0.04}};
    /* The acromion's is worn by few. */
    for (int i = 0; i <= OMO_CHEST; i++)
        view->markers.role[i] = (struct omo_marker){.seen = OMO_SEEN,
                                                    .x_px = place[i][0],
                                                    .y_px = place[i][1],
                                                    .diameter_px = h * 0.036,
                                                    .sigma_px = 0.1};
}

static struct omo_movement movement_of(const char *name)
{
    struct omo_movement movement = {.geometry = OMO_GEOMETRY_ELEVATION,
                                    .view = OMO_VIEW_FRONT,
                                    .sign = 1,
                                    .wrap_low_deg = -90};
    omo_text_copy(movement.name, sizeof movement.name, name);
    if (strcmp(name, "flexion") == 0 || strcmp(name, "extension") == 0)
        movement.view = OMO_VIEW_SIDE;
    if (strstr(name, "rotation") != NULL) {
        movement.geometry = OMO_GEOMETRY_ROTATION;
        movement.view = OMO_VIEW_ALONG_ARM;
    }
    if (strcmp(name, "pendulum") == 0)
        movement.geometry = OMO_GEOMETRY_PENDULUM;
    return movement;
}

static void print_tile(const struct omo_tile *tile, void *user)
{
    (void)user;
    printf("tile %s %d %d %d %d %s\n", tile->name, tile->at.x, tile->at.y, tile->at.w,
           tile->at.h, tile->text ? "text" : "drawing");
}

static void print_tiles(struct omo_screen *screen)
{
    int w, h;
    omo_screen_size(screen, &w, &h);
    omo_screen_each_tile(screen, print_tile, NULL);
    if (screen->page == OMO_PAGE_MEASURE && screen->picture != NULL &&
        !screen->measure.page.flash) {
        SDL_Rect at = screen->picture_at;
        printf("tile picture %d %d %d %d drawing\n", at.x, at.y, at.w, at.h);
    }
    printf("ready %d %d\n", w, h);
    fflush(stdout);
}

/** The window's own copy of itself, as plain bytes red green blue. */
static void write_copy(struct omo_screen *screen, const char *path)
{
    uint32_t *pixels;
    int w, h;
    if (omo_screen_copy(screen, &pixels, &w, &h) != OMO_OK)
        return;
    FILE *file = fopen(path, "wb");
    for (int i = 0; file != NULL && i < w * h; i++) {
        fputc(pixels[i] >> 16 & 255, file);
        fputc(pixels[i] >> 8 & 255, file);
        fputc(pixels[i] & 255, file);
    }
    free(pixels);
    if (file != NULL && fclose(file) == 0)
        printf("copy %d %d\n", w, h);
    fflush(stdout);
}

static int wake_later(void *screen)
{
    SDL_Delay(200);
    omo_screen_wake(screen);
    return 0;
}

/** Waits for ten seconds, and is woken long before. */
static void wait_to_be_woken(struct omo_screen *screen)
{
    struct omo_input input;
    while (omo_screen_input(screen, 50, &input))
        ; /* what the window's opening brought */
    SDL_Thread *thread = SDL_CreateThread(wake_later, "wake", screen);
    int64_t began_ns = omo_clock_ns();
    bool came = omo_screen_input(screen, 10000, &input);
    printf("woken %d %s\n", omo_clock_ns() - began_ns < 5000000000,
           came ? "input" : "none");
    SDL_WaitThread(thread, NULL);
}

static double cpu_s(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_utime.tv_sec + (double)usage.ru_utime.tv_usec * 1e-6 +
           (double)usage.ru_stime.tv_sec + (double)usage.ru_stime.tv_usec * 1e-6;
}

static double frames_cost(struct omo_screen *screen, struct omo_measure_page *page,
                          struct omo_live_view *view, const struct camera *camera,
                          int frames)
{
    double began = cpu_s();
    for (int i = 0; i < frames; i++) {
        struct omo_input input;
        /* As a raise goes: every figure changes now and then, none in every picture. */
        view->time_s += 1 / 30.0;
        view->angle_deg = 60 + 50 * sin(view->time_s);
        view->best_deg = fmax(view->best_deg, view->angle_deg);
        view->hike_ratio = 0.04 + 0.04 * sin(view->time_s);
        view->trunk_lean_deg = 3 * sin(view->time_s * 0.7);
        place_markers(view, &camera->planes, view->angle_deg);
        omo_screen_picture(screen, &camera->planes);
        omo_screen_measure(screen, page);
        while (omo_screen_input(screen, 0, &input))
            ;
    }
    return (cpu_s() - began) / frames;
}

static void draw_stripes(uint32_t *pixels, int width, int height, int stride, void *user)
{
    (void)user;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            pixels[(size_t)y * (size_t)stride + (size_t)x] =
                (x / 16 + y / 16) % 2 ? 0xff505458u : 0xff303438u;
}

static struct omo_list_page list_page(void)
{
    static const char *const lines[] = {
        "Choose what you want to measure. The camera stands at hip height, about two "
        "metres away, and sees you from head to hip with the arm raised.",
        "You can stop at any time: lower the arm, or say enough for today.",
    };
    static const char *const items[] = {
        "Raise the arm to the front (flexion)",
        "Raise the arm to the side (abduction)",
        "Arm to the back (extension)",
        "Across the body (adduction)",
        "Turn the forearm out",
        "Turn the forearm in",
        "Raise the arm in the shoulder's plane",
        "Let the arm swing (pendulum)",
    };
    struct omo_list_page page = {
        .title = "Which movement?",
        .lines = lines,
        .line_count = 2,
        .items = items,
        .item_count = (int)number_of("items", 8),
        .chosen = 0,
        .foot =
            "This measures; it does not treat. New or strong pain, numbness, or an arm "
            "that changed after a fall: see a doctor before you measure.",
        .figure = flag_of("figure", true) ? draw_stripes : NULL,
    };
    return page;
}

int main(int argc, char **argv)
{
    argument_count = argc;
    arguments = argv;
    setlocale(LC_ALL, "");
    omo_words_bind();
    struct omo_screen_settings settings = {
        .width = (int)number_of("width", 0),
        .height = (int)number_of("height", 0),
        .full_screen = flag_of("full", false),
        .scale = number_of("scale", 1),
        .software = flag_of("software", true),
        .title = "window under test",
    };
    struct omo_screen *screen = NULL;
    if (omo_screen_open(&settings, &screen) != OMO_OK)
        return 1;

    struct camera camera = {.bytes = NULL};
    bool seen = make_camera(&camera, word_of("picture", "room"));
    struct omo_movement movement = movement_of(word_of("movement", "abduction"));
    struct omo_measure_settings measure = {.movement = &movement, .side = OMO_RIGHT};
    struct omo_live_view view = {
        .phase = OMO_PHASE_RAISE,
        .phase_ratio = number_of("ratio", NAN),
        .angle_deg = number_of("angle", 118),
        .angle_u95_deg = number_of("u95", 6),
        .best_deg = number_of("best", 121),
        .hike_ratio = number_of("hike", 0.04),
        .trunk_lean_deg = number_of("lean", 3),
        .raises = (int)number_of("raises", 2),
    };
    struct omo_measure_page page = {
        .view = &view,
        .settings = &measure,
        .title = word_of("title", "abduction, your right, standing"),
        .instruction = word_of("instruction", "Wrist hidden: keep your arm as it is"),
        .instruction_is_fault = flag_of("fault", true),
        .status = word_of("status", "1280 x 720, 30 a second"),
        .last_time_deg = number_of("last", 96),
        .mirror = flag_of("mirror", true),
        .camera_on = seen,
        .sound_on = flag_of("sound", false),
        .flash = flag_of("flash", false),
        .raises_most = 5,
        .picture_held = flag_of("held", false),
    };
    struct omo_list_page list = list_page();
    bool words = strcmp(word_of("page", "measure"), "list") == 0;
    int frames = (int)number_of("frames", 0);
    if (frames > 0) {
        frames_cost(screen, &page, &view, &camera, 30);
        printf("frame_ms %.3f\n",
               1000 * frames_cost(screen, &page, &view, &camera, frames));
        omo_screen_destroy(screen);
        free(camera.bytes);
        return 0;
    }
    if (words) {
        omo_screen_list(screen, &list);
    } else {
        if (seen)
            place_markers(&view, &camera.planes, view.angle_deg);
        /* Twenty seconds of raises for the chart. */
        double angle_deg = view.angle_deg;
        for (int i = 0; i < 560; i++) {
            view.time_s = i / 28.0;
            double share = 0.5 - 0.5 * cos(view.time_s * 0.95 + 1.1);
            omo_chart_add(&screen->chart, view.time_s, 5 + share * (angle_deg - 5),
                          5 + 0.7 * share * (angle_deg - 5));
        }
        for (int i = 0; i < 2; i++) {
            omo_screen_picture(screen, seen ? &camera.planes : NULL);
            omo_screen_measure(screen, &page);
        }
    }
    if (flag_of("wake", false))
        wait_to_be_woken(screen);
    int width = 0, height = 0;
    int64_t end_ns = omo_clock_ns() + (int64_t)(number_of("seconds", 60) * 1e9);
    struct omo_input input = {OMO_ACTION_NONE, -1};
    while (input.action != OMO_ACTION_QUIT && omo_clock_ns() < end_ns) {
        omo_screen_input(screen, width == 0 ? 100 : 300, &input);
        if (input.action != OMO_ACTION_NONE)
            printf("action %s %d\n", action_names[input.action], input.item);
        int w, h;
        omo_screen_size(screen, &w, &h);
        bool resized = w != width || h != height;
        width = w;
        height = h;
        if (input.action == OMO_ACTION_MIRROR)
            page.mirror = !page.mirror;
        if (words) {
            if (resized)
                omo_screen_list(screen, &list);
        } else if (resized || input.action == OMO_ACTION_MIRROR) {
            /* Twice: the picture takes its size and side from the page before. */
            for (int i = 0; i < 2; i++) {
                omo_screen_picture(screen, seen ? &camera.planes : NULL);
                omo_screen_measure(screen, &page);
            }
        }
        if (resized) {
            print_tiles(screen);
            const char *path = word_of("copy", NULL);
            if (path != NULL)
                write_copy(screen, path);
        }
        fflush(stdout);
    }
    omo_screen_destroy(screen);
    free(camera.bytes);
    return 0;
}
