/**
 * Figures as plain descriptions, drawn by a writer; no window, no SDL.
 *
 * A figure has the coordinates of a picture: (0, 0) is the centre of the top-left pixel,
 * x right, y down. Angles are degrees clockwise from picture right. Colours are
 * 0xAARRGGBB, not premultiplied.
 */
#ifndef OMOGON_DRAW_H
#define OMOGON_DRAW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/geometry.h"
#include "omogon/motion.h"
#include "omogon/picture.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- the description ---- */

/** What a mark is. */
enum omo_mark_kind {
    OMO_MARK_LINE,  /**< through points[0..count-1] */
    OMO_MARK_RING,  /**< about at, radius */
    OMO_MARK_ARC,   /**< about at, radius, from_deg, turned by sweep_deg */
    OMO_MARK_SHAPE, /**< points[0..count-1], closed and filled with colour */
    OMO_MARK_TEXT,  /**< its baseline at `at`, size px high (em) */
};

/** Which part of a text stands at its place. */
enum omo_anchor { OMO_ANCHOR_START, OMO_ANCHOR_MIDDLE, OMO_ANCHOR_END };

/**
 * One thing in a figure. The edge is drawn under the colour and reaches edge_width beyond
 * it on either side, so that a thin line or a word stands out from any picture; 0: none.
 */
struct omo_mark {
    enum omo_mark_kind kind;
    struct omo_point at;
    double radius, from_deg, sweep_deg;
    const struct omo_point *points; /**< copied by omo_figure_add */
    size_t count;
    uint32_t colour;
    double width; /**< of a line, ring or arc */
    uint32_t edge;
    double edge_width;
    double dash;      /**< length of a dash and of the gap after it, 0: solid */
    const char *text; /**< UTF-8, copied by omo_figure_add */
    double size;
    enum omo_anchor anchor;
    int bold;
};

struct omo_figure;
/** Its size in px. The caller's to destroy; NULL: no memory. */
OMO_API struct omo_figure *omo_figure_create(double width, double height);
/** Frees it; NULL is fine. */
OMO_API void omo_figure_destroy(struct omo_figure *figure);
/** What it was made with, px. */
OMO_API void omo_figure_size(const struct omo_figure *figure, double *width,
                             double *height);
/** Adds on top of what is there. */
OMO_API void omo_figure_add(struct omo_figure *figure, const struct omo_mark *mark);
/** Marks that were added. */
OMO_API size_t omo_figure_count(const struct omo_figure *figure);
/** Lent until the next add. */
OMO_API const struct omo_mark *omo_figure_at(const struct omo_figure *figure,
                                             size_t index);

/** Contrast of two opaque colours, 1..21, as the Web Content Accessibility Guidelines 2.1
 *  define it. */
OMO_API double omo_contrast_ratio(uint32_t a, uint32_t b);

/* ---- writers ---- */

/** Draws the figure over packed 0xffRRGGBB pixels (native-endian), with cairo. */
OMO_API OMO_MUST_CHECK enum omo_status omo_figure_paint(const struct omo_figure *figure,
                                                        uint32_t *pixels, int width,
                                                        int height, int stride_pixels);

/** A kind of file. */
enum omo_figure_kind {
    OMO_FIGURE_SVG, /**< words stay words */
    OMO_FIGURE_PDF, /**< likewise; a page of the figure's size, 96 px an inch */
    OMO_FIGURE_PNG, /**< on white, two pixels for one of the figure */
};
/** By the end of a file's name, in any case; false for another. */
OMO_API bool omo_figure_kind_of(const char *path, enum omo_figure_kind *kind);
/**
 * The figure as the bytes of a file; free() them. The same figure gives the same bytes
 * with the same libraries. `title` and `description` (UTF-8) say it in words.
 * OMO_ERR_MEMORY with one sentence.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_figure_bytes(const struct omo_figure *figure,
                                                        enum omo_figure_kind kind,
                                                        const char *title,
                                                        const char *description,
                                                        char **bytes, size_t *size);

/* ---- the annotated still ---- */

/**
 * One annotated JPEG: arm and trunk lines, ringed and named markers, the angle with its
 * uncertainty, caption, cautions, on a strip below the photograph. The head of the
 * measured person is covered unless asked otherwise; when it cannot be located nothing is
 * written and OMO_ERR_EMPTY returned with a sentence. Other people in the room are not
 * looked for. Atomic, mode 0600.
 */
struct omo_still {
    const struct omo_planes *planes; /**< with luma */
    int quarter_turns;
    const struct omo_trace_row *row; /**< the frame's row */
    const struct omo_result *result;
    const struct omo_measure_settings *settings;
    const char *caption; /**< e.g. "flexion, right, standing" */
    int show_head;       /**< 0: cover it */
};
/** The same as packed 0xffRRGGBB pixels, free() them. Silent: OMO_ERR_EMPTY when the head
 *  cannot be located, OMO_ERR_MEMORY, OMO_ERR_ARG. */
OMO_API OMO_MUST_CHECK enum omo_status omo_still_paint(const struct omo_still *still,
                                                       uint32_t **pixels, int *width,
                                                       int *height);
/** One sentence on failure; `path` is then as it was. */
OMO_API OMO_MUST_CHECK enum omo_status omo_still_write(const struct omo_still *still,
                                                       const char *path);

#ifdef __cplusplus
}
#endif

#endif
