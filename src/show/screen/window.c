#include <dlfcn.h>
#include <math.h>
#include <stdlib.h>

#include "omogon/log.h"
#include "show/screen/close.h"
#include "show/screen/screen_private.h"

#define WIDTH        1280
#define HEIGHT       720
#define WIDTH_LEAST  640
#define HEIGHT_LEAST 480
/* Share of the desktop a window may take before its frame no longer fits. */
#define DESKTOP_SHARE 0.97

/** Rasterisers that only pretend to be a graphics card, and cost more than SDL's own. */
static bool is_slow_gl(void)
{
    const unsigned char *(*get_string)(unsigned int) = NULL;
    void *address = SDL_GL_GetProcAddress("glGetString");
    if (address == NULL)
        return false;
    SDL_memcpy(&get_string, &address, sizeof get_string);
    const unsigned int GL_RENDERER_NAME = 0x1F01;
    const char *name = (const char *)get_string(GL_RENDERER_NAME);
    return name != NULL &&
           (SDL_strstr(name, "llvmpipe") != NULL ||
            SDL_strstr(name, "softpipe") != NULL || SDL_strstr(name, "Software") != NULL);
}

/* ---- a graphics driver that is not there ----
 *
 * SDL asks the X server for a context to see what there is. Without a driver the server
 * answers with an error, and Xlib's own way with errors ends the process. */

typedef int (*x_error_handler)(void *display, void *event);

static int ignore_x_error(void *display, void *event)
{
    (void)display;
    (void)event;
    return 0;
}

/** Puts a handler in place, if Xlib is in use at all; returns the one before. */
static x_error_handler swap_x_error_handler(x_error_handler handler)
{
    x_error_handler (*set)(x_error_handler) = NULL;
    void *library = dlopen("libX11.so.6", RTLD_LAZY | RTLD_NOLOAD);
    if (library == NULL)
        return NULL;
    void *address = dlsym(library, "XSetErrorHandler");
    SDL_memcpy(&set, &address, sizeof set);
    x_error_handler before = set != NULL ? set(handler) : NULL;
    dlclose(library);
    return before;
}

static bool software_wished(void)
{
    const char *driver = SDL_GetHint(SDL_HINT_RENDER_DRIVER);
    return driver != NULL && SDL_strcasecmp(driver, "software") == 0;
}

static SDL_Renderer *open_renderer(SDL_Window *window, bool *software)
{
    SDL_Renderer *renderer = NULL;
    if (!*software && !software_wished()) {
        x_error_handler before = swap_x_error_handler(ignore_x_error);
        renderer =
            SDL_CreateRenderer(window, -1,
                               SDL_RENDERER_ACCELERATED | SDL_RENDERER_PRESENTVSYNC);
        (void)swap_x_error_handler(before);
        SDL_RendererInfo info;
        if (renderer != NULL && SDL_GetRendererInfo(renderer, &info) == 0 &&
            SDL_strncmp(info.name, "opengl", 6) == 0 && is_slow_gl()) {
            SDL_DestroyRenderer(renderer);
            renderer = NULL;
        }
    }
    if (renderer == NULL) {
        /* Otherwise SDL brings the finished picture to the window through OpenGL, which
         * in software costs more than drawing it. */
        SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
        renderer = SDL_CreateRenderer(window, -1, SDL_RENDERER_SOFTWARE);
        *software = true;
    }
    return renderer;
}

/** What the display asks for, in halves: 1 up to about 120 dots an inch. */
static double display_scale(void)
{
    float dots = 0;
    if (SDL_GetDisplayDPI(0, &dots, NULL, NULL) != 0 || !(dots >= 96) || dots > 600)
        return 1;
    return fmin(fmax(floor((double)dots / 96 * 2 + 0.5) / 2, 1), 3);
}

enum omo_status omo_screen_open(const struct omo_screen_settings *settings,
                                struct omo_screen **out)
{
    SDL_SetHint(SDL_HINT_NO_SIGNAL_HANDLERS, "1");
    SDL_SetHint(SDL_HINT_VIDEO_X11_NET_WM_BYPASS_COMPOSITOR, "0");
    SDL_SetHint(SDL_HINT_RENDER_BATCHING, "1");
    SDL_SetHint(SDL_HINT_TOUCH_MOUSE_EVENTS, "1"); /* a touch is a click */
    SDL_SetHint(SDL_HINT_MOUSE_TOUCH_EVENTS, "0");
    if (SDL_InitSubSystem(SDL_INIT_VIDEO) != 0) {
        omo_error(
            "There is no display to open a window on (%s). Start the program on the "
            "desktop of the computer, or measure files with \"omogon trace\".",
            SDL_GetError());
        return OMO_ERR_OPEN;
    }
    struct omo_screen *screen = calloc(1, sizeof *screen);
    if (screen == NULL) {
        SDL_QuitSubSystem(SDL_INIT_VIDEO);
        return OMO_ERR_MEMORY;
    }
    screen->scale = settings->scale > 0 ? settings->scale : display_scale();
    screen->software = settings->software;
    screen->pressed = -1;
    screen->mouse_x = screen->mouse_y = -1;
    screen->full = settings->full_screen;
    screen->wake_event = SDL_RegisterEvents(1);
    int width = settings->width > 0 ? settings->width : WIDTH;
    int height = settings->height > 0 ? settings->height : HEIGHT;
    Uint32 flags = SDL_WINDOW_RESIZABLE | SDL_WINDOW_ALLOW_HIGHDPI;
    if (settings->full_screen)
        flags |= SDL_WINDOW_FULLSCREEN_DESKTOP;
    SDL_Rect desktop;
    double scale = screen->scale;
    if (SDL_GetDisplayUsableBounds(0, &desktop) == 0)
        scale = fmin(scale, fmin((double)desktop.w / width, (double)desktop.h / height));
    if (scale < 1 && settings->width <= 0)
        scale *= DESKTOP_SHARE; /* our own size gives way to a small desktop */
    else
        scale = fmax(scale, 1);
    width = (int)(width * scale);
    height = (int)(height * scale);
    screen->window =
        SDL_CreateWindow(settings->title != NULL ? settings->title : "omogon",
                         SDL_WINDOWPOS_CENTERED, SDL_WINDOWPOS_CENTERED, width, height,
                         flags);
    if (screen->window != NULL)
        screen->renderer = open_renderer(screen->window, &screen->software);
    if (screen->renderer == NULL) {
        omo_error("The window could not be opened: %s.", SDL_GetError());
        omo_screen_destroy(screen);
        return OMO_ERR_OPEN;
    }
    SDL_SetWindowMinimumSize(screen->window, WIDTH_LEAST, HEIGHT_LEAST);
    /* Where the system scales windows by itself, pixels are more than points. */
    int points = 0, pixels = 0;
    SDL_GetWindowSize(screen->window, &points, NULL);
    omo_screen_size(screen, &pixels, NULL);
    if (settings->scale <= 0 && points > 0 && pixels > points)
        screen->scale = (double)pixels / points;
    /* The text tells more than a screen saver. */
    SDL_DisableScreenSaver();
    SDL_StopTextInput();
    *out = screen;
    return OMO_OK;
}

static void each_own_tile(struct omo_screen *screen,
                          void (*each)(struct omo_screen *screen, struct omo_tile *tile,
                                       const char *name, int index, void *user),
                          void *user)
{
    const struct {
        struct omo_tile *tile;
        const char *name;
    } single[] = {
        {&screen->title, "title"},
        {&screen->status, "status"},
        {&screen->sign, "sign"},
        {&screen->angle, "angle"},
        {&screen->degree, "degree"},
        {&screen->good_to, "good-to"},
        {&screen->other_angle, "other-angle"},
        {&screen->other_degree, "other-degree"},
        {&screen->other_good_to, "other-good-to"},
        {&screen->apart, "apart"},
        {&screen->hike, "hike"},
        {&screen->hike_ticks, "hike-ticks"},
        {&screen->lean, "lean"},
        {&screen->lean_ticks, "lean-ticks"},
        {&screen->raises, "raises"},
        {&screen->chart_tile, "chart"},
        {&screen->gauge, "gauge"},
        {&screen->gauge_best, "gauge-best"},
        {&screen->gauge_last, "gauge-last"},
        {&screen->instruction, "instruction"},
        {&screen->mark, "mark"},
        {&screen->held, "held"},
    };
    for (size_t i = 0; i < sizeof single / sizeof single[0]; i++)
        each(screen, single[i].tile, single[i].name, -1, user);
    for (int i = 0; i < 2 * OMO_ROLE_COUNT; i++) {
        each(screen, &screen->ring[i], "ring", i, user);
        each(screen, &screen->name[i], "name", i, user);
    }
    for (int i = 0; i < OMO_BUTTON_COUNT; i++)
        each(screen, &screen->button_tile[i], "button", i, user);
    for (int i = 0; i < OMO_LIST_TILES; i++)
        each(screen, &screen->list_tile[i], "list", i, user);
}

static void finish_tile(struct omo_screen *screen, struct omo_tile *tile,
                        const char *name, int index, void *user)
{
    (void)screen, (void)name, (void)index, (void)user;
    omo_tile_finish(tile);
}

struct teller {
    void (*each)(const struct omo_tile *tile, void *user);
    void *user;
};

static void tell_tile(struct omo_screen *screen, struct omo_tile *tile, const char *name,
                      int index, void *user)
{
    const struct teller *teller = user;
    (void)index;
    tile->name = name;
    if (tile->texture != NULL && tile->shown == screen->drawing)
        teller->each(tile, teller->user);
}

void omo_screen_each_tile(struct omo_screen *screen,
                          void (*each)(const struct omo_tile *tile, void *user),
                          void *user)
{
    struct teller teller = {each, user};
    each_own_tile(screen, tell_tile, &teller);
}

void omo_screen_destroy(struct omo_screen *screen)
{
    if (screen == NULL)
        return;
    each_own_tile(screen, finish_tile, NULL);
    omo_picture_finish(screen);
    omo_list_finish(&screen->list);
    if (screen->renderer != NULL)
        SDL_DestroyRenderer(screen->renderer);
    omo_window_close(screen->window);
    free(screen);
    SDL_QuitSubSystem(SDL_INIT_VIDEO);
}

void omo_screen_size(const struct omo_screen *screen, int *width, int *height)
{
    int w = 0, h = 0;
    SDL_GetRendererOutputSize(screen->renderer, &w, &h);
    if (width != NULL)
        *width = w;
    if (height != NULL)
        *height = h;
}

void omo_screen_draw(struct omo_screen *screen, bool present)
{
    screen->drawing++;
    screen->button_count = 0;
    switch (screen->page) {
    case OMO_PAGE_NONE:
        return;
    case OMO_PAGE_MEASURE:
        omo_measure_draw(screen);
        break;
    case OMO_PAGE_LIST:
        omo_list_draw(screen);
        break;
    }
    screen->stale = false;
    if (present)
        SDL_RenderPresent(screen->renderer);
}

void omo_screen_toggle_full(struct omo_screen *screen)
{
    screen->full = !screen->full;
    SDL_SetWindowFullscreen(screen->window,
                            screen->full ? SDL_WINDOW_FULLSCREEN_DESKTOP : 0);
    screen->stale = true;
}

enum omo_status omo_screen_copy(struct omo_screen *screen, uint32_t **pixels, int *width,
                                int *height)
{
    int w, h;
    omo_screen_size(screen, &w, &h);
    if (w < 1 || h < 1 || screen->page == OMO_PAGE_NONE)
        return OMO_ERR_EMPTY;
    uint32_t *copy = malloc((size_t)w * (size_t)h * sizeof *copy);
    if (copy == NULL)
        return OMO_ERR_MEMORY;
    /* After presenting, what a card holds is undefined: drawn once more, and read. */
    omo_screen_draw(screen, false);
    if (SDL_RenderReadPixels(screen->renderer, NULL, SDL_PIXELFORMAT_ARGB8888, copy,
                             w * (int)sizeof *copy) != 0) {
        omo_error("The window's picture could not be read: %s.", SDL_GetError());
        free(copy);
        return OMO_ERR_IO;
    }
    for (size_t i = 0; i < (size_t)w * (size_t)h; i++)
        copy[i] |= 0xff000000u;
    *pixels = copy;
    *width = w;
    *height = h;
    return OMO_OK;
}
