/** What the files of the window share: the window itself, tiles, and the measuring page.
 */
#ifndef OMO_SCREEN_PRIVATE_H
#define OMO_SCREEN_PRIVATE_H

#include <SDL2/SDL.h>
#include <cairo.h>
#include <stdbool.h>
#include <stdint.h>

#include "show/screen/screen.h"

/* One quiet set of greys and one muted accent; nothing is said by colour alone. */
#define OMO_GREY_FRAME  0xff131517u /* behind everything */
#define OMO_GREY_PANEL  0xff1d2023u /* behind text */
#define OMO_GREY_BUTTON 0xff2c3135u
#define OMO_GREY_LINE   0xff7d848bu
#define OMO_GREY_QUIET  0xffc3c8ccu /* text that is not the main thing */
#define OMO_GREY_LIGHT  0xfff4f4f2u
#define OMO_GREY_FLASH  0xffe9e9e6u
#define OMO_ACCENT      0xff9cc0d2u

#define OMO_TEXT_MOST  400
#define OMO_ITEMS_MOST 24
#define OMO_LINES_MOST 24

/* ---- tiles: pieces of the window that are redrawn only when their key changes ---- */

enum omo_align { OMO_ALIGN_LEFT, OMO_ALIGN_CENTRE, OMO_ALIGN_RIGHT };

struct omo_ink {
    double size_px; /**< of the em */
    bool bold;
    uint32_t colour, ground;
    enum omo_align align;
    int pad_px;      /**< at the left and right */
    double smallest; /**< how far the size may be reduced to fit, 0.5..1 */
};

struct omo_tile {
    SDL_Texture *texture;
    int width, height; /**< of the texture */
    uint64_t key;      /**< hash of what is drawn on it */
    SDL_Rect at;       /**< where it was shown last */
    unsigned shown;    /**< number of the picture it was shown in */
    bool text;         /**< holds text, for the tests */
    const char *name;
};

/** What is drawn on while a tile is new; NULL cairo: the tile is as it should be. */
struct omo_pen {
    cairo_surface_t *surface;
    cairo_t *cairo;
};

/* ---- the measuring page's places, px ---- */

struct omo_measure_layout {
    int width, height;
    double scale; /**< effective: never so large that things do not fit */
    double small_px, middle_px, large_px, digits_px; /**< sizes of the em */
    int margin;
    SDL_Rect title, status, sign;
    SDL_Rect picture; /**< where the picture may be, before letterboxing */
    /* With both arms at once `other_` is the second one's, and apart takes the place of
     * hike and lean. */
    SDL_Rect other_angle, other_degree, other_good_to, apart;
    SDL_Rect angle, degree, good_to, hike, hike_ticks, lean, lean_ticks, raises, chart;
    SDL_Rect gauge;
    SDL_Rect instruction, mark, progress;
    SDL_Rect buttons;
};

struct omo_range {
    double low_deg, high_deg;
    int step_deg; /**< between figures */
};

enum omo_button_id {
    OMO_BUTTON_BEGIN,
    OMO_BUTTON_MARK,
    OMO_BUTTON_ENOUGH,
    OMO_BUTTON_STILL,
    OMO_BUTTON_SOUND,
    OMO_BUTTON_MIRROR,
    OMO_BUTTON_FULL,
    OMO_BUTTON_HELP,
    OMO_BUTTON_BACK,
    OMO_BUTTON_COUNT
};

struct omo_button {
    SDL_Rect at;
    enum omo_action action;
    int item;
};

#define OMO_CHART_MOST 2048

struct omo_chart {
    struct {
        double time_s, angle_deg[2];
    } sample[OMO_CHART_MOST];
    int first, count;
    double drawn_s; /**< right edge of what is drawn */
};

enum omo_page { OMO_PAGE_NONE, OMO_PAGE_MEASURE, OMO_PAGE_LIST };

/** A measuring page that outlives its caller's texts. */
struct omo_kept_measure {
    struct omo_live_view view, other;
    struct omo_measure_settings settings;
    struct omo_measure_page page; /**< its pointers point here */
    char title[OMO_TEXT_MOST], instruction[OMO_TEXT_MOST], status[OMO_TEXT_MOST];
};

struct omo_kept_list {
    char title[OMO_TEXT_MOST], foot[1200];
    char *lines[OMO_LINES_MOST], *items[OMO_ITEMS_MOST];
    int line_count, item_count;
    int chosen, given; /**< now, and as the caller gave it */
    int drawn;         /**< the one that is lit in the window */
    bool numbers, entry, far;
    char typed[OMO_TEXT_MOST];
    void (*figure)(uint32_t *pixels, int width, int height, int stride_pixels,
                   void *user);
    void *user;
    unsigned figure_version;
    bool figure_new; /**< to be asked for again at the next drawing */
};

#define OMO_LIST_TILES (OMO_ITEMS_MOST + OMO_LINES_MOST + 4)

struct omo_screen {
    SDL_Window *window;
    SDL_Renderer *renderer;
    bool software;
    double scale; /**< asked for, or the display's */
    Uint32 wake_event;
    bool full;
    bool stale; /**< the window changed: draw again */

    enum omo_page page;
    struct omo_kept_measure measure;
    struct omo_kept_list list;
    unsigned drawing; /**< number of the picture being drawn */

    /* picture.c */
    SDL_Texture *picture;
    int picture_width, picture_height;  /**< of the texture */
    int camera_width, camera_height;    /**< of the planes */
    bool picture_mirrored, want_mirror; /**< in the texture; on the last page */
    SDL_YUV_CONVERSION_MODE picture_mode;
    SDL_Rect picture_at;
    int fit_width, fit_height; /**< place of the picture on the last page; 0 none */
    uint32_t *columns;         /**< resampling table of one row */
    size_t columns_size;

    /* tiles */
    struct omo_tile other_angle, other_degree, other_good_to, apart;
    struct omo_tile title, status, sign, angle, degree, good_to, hike, hike_ticks, lean,
        lean_ticks, raises, chart_tile, gauge, gauge_best, gauge_last, instruction, mark,
        held, name[2 * OMO_ROLE_COUNT], ring[2 * OMO_ROLE_COUNT];
    int ring_px[2 * OMO_ROLE_COUNT];
    int name_side[2 * OMO_ROLE_COUNT];
    struct omo_tile button_tile[OMO_BUTTON_COUNT];
    struct omo_tile list_tile[OMO_LIST_TILES];
    struct omo_measure_layout layout;
    struct omo_chart chart;

    /* input.c */
    struct omo_button button[OMO_BUTTON_COUNT + OMO_ITEMS_MOST];
    int button_count;
    int pressed;          /**< index of the button the mouse went down on; -1 none */
    int mouse_x, mouse_y; /**< where the mouse was last; -1 not known */
    bool holding;         /**< a mark key or button is down */
    bool held_stop_sent;
    SDL_Keycode held_key; /**< SDLK_UNKNOWN: the mouse */
    int64_t held_since_ns;
};

/* tile.c */
/** Starts a tile of that size filled with `ground`, when `key` or the size is new. */
struct omo_pen omo_tile_begin(struct omo_screen *screen, struct omo_tile *tile, int width,
                              int height, uint64_t key, uint32_t ground);
void omo_tile_end(struct omo_tile *tile, struct omo_pen *pen);
void omo_tile_show(struct omo_screen *screen, struct omo_tile *tile, int x, int y);
void omo_tile_finish(struct omo_tile *tile);
/** A tile of text alone, wrapped, vertically centred, shown at once. */
void omo_text_tile(struct omo_screen *screen, struct omo_tile *tile, const SDL_Rect *at,
                   const char *text, const struct omo_ink *ink);
uint64_t omo_hash(uint64_t start, const void *bytes, size_t size);
uint64_t omo_hash_text(uint64_t start, const char *text);
#define OMO_HASH_START 1469598103934665603u

/* text.c */
/** Ink height of a capital H, and of a figure, of a font with an em of 1 px. */
double omo_cap_ratio(void);
double omo_figure_ratio(void);
/** Width and height of a wrapped text; width_px 0: one line. */
void omo_text_size(const char *text, double size_px, bool bold, int width_px, int *width,
                   int *height);
/** Draws into a box; the size is reduced down to ink->smallest until it fits. */
void omo_text_draw(cairo_t *cairo, const SDL_Rect *box, const char *text,
                   const struct omo_ink *ink);
void omo_set_colour(cairo_t *cairo, uint32_t colour);

/* strokes.c */
/** A straight line with smooth edges: a dark one under a light one. */
void omo_stroke(struct omo_screen *screen, double x0, double y0, double x1, double y1,
                double width_px, uint32_t core, uint32_t edge, double edge_px);
/** A polygon of three corners, filled. */
void omo_wedge(struct omo_screen *screen, const SDL_FPoint corner[3], uint32_t colour);
void omo_fill(struct omo_screen *screen, const SDL_Rect *rect, uint32_t colour);
/** A ring of this outer diameter as a picture with an alpha channel. */
void omo_ring_show(struct omo_screen *screen, struct omo_tile *tile, double x, double y,
                   int diameter_px, double line_px);

/* picture.c */
/** Draws the picture into its place and says where it came to lie (letterboxed). False:
 *  there is none. */
bool omo_picture_show(struct omo_screen *screen, const SDL_Rect *area, bool mirror,
                      SDL_Rect *at);
void omo_picture_finish(struct omo_screen *screen);

/* measure.c and its parts */
void omo_measure_draw(struct omo_screen *screen);
void omo_measure_layout(struct omo_screen *screen, int lines);
struct omo_range omo_range_of(const struct omo_measure_settings *settings);
void omo_gauge_draw(struct omo_screen *screen, const struct omo_measure_page *page);
/** `other_deg`: the other arm's, NAN none. */
void omo_chart_add(struct omo_chart *chart, double time_s, double angle_deg,
                   double other_deg);
void omo_chart_draw(struct omo_screen *screen, const struct omo_measure_page *page);
void omo_markers_draw(struct omo_screen *screen, const struct omo_measure_page *page,
                      const SDL_Rect *at);
/** Angles and their difference, where both arms are measured at once. */
void omo_both_angles_draw(struct omo_screen *screen, const struct omo_measure_page *page);
void omo_disturbances_draw(struct omo_screen *screen,
                           const struct omo_measure_page *page);
/** "left 12° lower" of the two arms' angles, by the first one's side; "" when one is not
 *  known. */
void omo_apart_words(double first_deg, double other_deg, enum omo_side first, char *text,
                     size_t size);
/** "good to 3 degrees": an expanded uncertainty rounded up; "" without a value. */
void omo_good_to_words(double u95_deg, char *text, size_t size);
/** "shoulder up 4 %", "trunk 3 degrees back"; "" without a value. */
void omo_hike_words(double hike_ratio, char *text, size_t size);
void omo_lean_words(double lean_deg, const struct omo_measure_settings *settings,
                    char *text, size_t size);

/* buttons.c */
void omo_buttons_draw(struct omo_screen *screen, const SDL_Rect *row, double size_px,
                      double scale, bool measuring, bool sound_on, bool mirror);
/** Adds a place that can be clicked. */
void omo_button_add(struct omo_screen *screen, const SDL_Rect *at, enum omo_action action,
                    int item);

/* list.c */
void omo_list_draw(struct omo_screen *screen);
void omo_list_finish(struct omo_kept_list *list);

/* window.c */
/** Draws the present page; `present` shows it. */
void omo_screen_draw(struct omo_screen *screen, bool present);
void omo_screen_toggle_full(struct omo_screen *screen);

/* For tests: every tile shown in the last picture, in order. */
void omo_screen_each_tile(struct omo_screen *screen,
                          void (*each)(const struct omo_tile *tile, void *user),
                          void *user);

#endif
