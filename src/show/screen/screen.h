/**
 * The window: SDL2, main thread only. It draws pages out of plain descriptions and turns
 * keys, mouse, touch and presentation remotes into actions. It measures nothing.
 */
#ifndef OMO_SHOW_SCREEN_H
#define OMO_SHOW_SCREEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/live.h"
#include "omogon/picture.h"
#include "omogon/status.h"

enum omo_action {
    OMO_ACTION_NONE,
    OMO_ACTION_QUIT,      /**< window closed, Q */
    OMO_ACTION_BACK,      /**< Escape */
    OMO_ACTION_MARK,      /**< any key that is not another action; a remote's button; a
                               press on the picture or on "Mark pain". At the press */
    OMO_ACTION_HOLD_STOP, /**< the same, held for a second: comes after its MARK */
    OMO_ACTION_ENOUGH,    /**< E: enough for today */
    OMO_ACTION_BEGIN,     /**< Enter: take neutral now / go on */
    OMO_ACTION_STILL,     /**< P: keep a still */
    OMO_ACTION_SOUND,     /**< S: sound on or off */
    OMO_ACTION_MIRROR,    /**< M */
    OMO_ACTION_FULL,      /**< F, F11: already done when it is told */
    OMO_ACTION_HELP,      /**< H, F1: where the markers go */
    OMO_ACTION_CHOOSE,    /**< an item of a list page: `item` */
    OMO_ACTION_TYPED,     /**< the typed text of a list page is another now */
    OMO_ACTION_COUNT
};
struct omo_input {
    enum omo_action action;
    int item;
};

struct omo_screen_settings {
    int width, height; /**< logical; 0: 1280 x 720 */
    bool full_screen;
    double scale;  /**< text and lines; 0: from the display */
    bool software; /**< SDL's software renderer, also taken when nothing else works */
    const char *title;
};

struct omo_screen;
/** OMO_ERR_OPEN with one sentence when there is no display. */
OMO_MUST_CHECK enum omo_status omo_screen_open(const struct omo_screen_settings *settings,
                                               struct omo_screen **out);
void omo_screen_destroy(struct omo_screen *screen);

/** Waits up to wait_ms for an input; false: none came. Handles resizing by itself: draws
 *  the last page again, whose texts it has kept. */
bool omo_screen_input(struct omo_screen *screen, int wait_ms, struct omo_input *input);
/** Posts a user event that ends a wait (any thread). */
void omo_screen_wake(struct omo_screen *screen);

/** The camera's picture for the next page, upright, straight into a YUV texture; NULL:
 *  none. Without luma the last picture stays. Drawn in software it takes its size and
 * side from the page before. */
void omo_screen_picture(struct omo_screen *screen, const struct omo_planes *planes);

/** The measuring page. Texts are finished and translated; "" leaves a place empty. */
struct omo_measure_page {
    const struct omo_live_view *view;
    const struct omo_live_view
        *other; /**< both arms at once: the other arm's; else NULL */
    const struct omo_measure_settings *settings; /**< of the first arm */
    const char *title;                           /**< "flexion, your right, standing" */
    const char *instruction;                     /**< one line, at most eight words */
    bool instruction_is_fault; /**< a cue, not a step: drawn with a mark beside it */
    const char *status;        /**< small: camera and its rate */
    double last_time_deg;      /**< highest of the last session; NAN none */
    bool mirror;               /**< display only; the sign and names are never mirrored */
    bool camera_on;            /**< the sign */
    bool sound_on;
    bool flash; /**< whole-screen light-dark change now */
    int raises_most;
    bool picture_held; /**< the camera gives no picture now */
    bool
        words_first; /**< a step of a programme: the instruction is larger than figures */
    /** Optional drawing in the strip chart's place, as on the list page; NULL: the chart.
     */
    void (*figure)(uint32_t *pixels, int width, int height, int stride_pixels,
                   void *user);
    void *user;
    unsigned figure_version;
};
void omo_screen_measure(struct omo_screen *screen, const struct omo_measure_page *page);

/** A page of words with choices: start, movement, side, result, cautions. */
struct omo_list_page {
    const char *title;
    const char *const *lines; /**< paragraphs, wrapped */
    int line_count;
    const char *const *items; /**< buttons; each also by its number key */
    int item_count;
    int chosen;       /**< highlighted, -1 none; moved with the arrow keys and the mouse,
                           and told back when the same page is drawn again */
    const char *foot; /**< cautions, small but readable */
    /** Items are the numbers 0, 1, 2 ...: a digit's key chooses its own number, + the
     *  last one. Else 1 is the first item and 0 the tenth. */
    bool numbers;
    /** Keys are a text being typed: omo_screen_entry(). Enter is BEGIN, nothing else of
     *  the keyboard has a meaning but Escape. */
    bool entry;
    bool far; /**< read from two metres: the title as large as fits */
    /** Optional drawing at the right: fills packed pixels of the asked size; NULL none.
     *  Asked for again when a text, `figure`, `user`, `figure_version` or the size
     *  changes. */
    void (*figure)(uint32_t *pixels, int width, int height, int stride_pixels,
                   void *user);
    void *user;
    unsigned figure_version;
};
void omo_screen_list(struct omo_screen *screen, struct omo_list_page *page);
/** What was typed on the list page, UTF-8; lent until the next input. Emptied by
 *  omo_screen_entry_clear(). */
const char *omo_screen_entry(const struct omo_screen *screen);
void omo_screen_entry_clear(struct omo_screen *screen);

/** Size of the drawable, px, and the last presented picture as packed 0xffRRGGBB (for
 *  stills of the window and tests); free() it. */
void omo_screen_size(const struct omo_screen *screen, int *width, int *height);
OMO_MUST_CHECK enum omo_status omo_screen_copy(struct omo_screen *screen,
                                               uint32_t **pixels, int *width,
                                               int *height);

#endif
