/* The drawn figure: the body, its stickers and bony points, and their names. */
#include "omogon/placement.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "draw/placement_parts.h"
#include "omogon/words.h"

/** Mean width of a letter in the fonts used, as a share of the size. */
static const double letter_em = 0.63, bold_em = 0.71;
#define NAMES_MAX (OMO_ROLE_COUNT + OMO_BONY_COUNT)

struct name {
    const char *text;
    bool bold;
    double column; /**< +1 at picture right, -1 at picture left */
    double wish;   /**< px: baseline it would like to have */
    double baseline;
    struct omo_point to; /**< px: where its line ends */
    double gap;          /**< px: how far before `to` the line stops */
};

struct names {
    struct name name[NAMES_MAX];
    int count;
    double width[2]; /**< px of the left and the right column */
};

const char *omo_placement_letter(enum omo_role role)
{
    static const char *const letters[OMO_ROLE_COUNT] = {"S", "E", "W", "H", "C", "A"};
    return role < OMO_ROLE_COUNT ? letters[role] : "";
}

const char *omo_bony_name(enum omo_bony bony)
{
    static const char *const names[OMO_BONY_COUNT] = {
        OMO_WORD("bony edge"),  OMO_WORD("elbow bump"), OMO_WORD("elbow point"),
        OMO_WORD("wrist bump"), OMO_WORD("hip bone"),   OMO_WORD("breastbone notch"),
        OMO_WORD("side line"),  OMO_WORD("neck bump"),
    };
    return bony < OMO_BONY_COUNT ? omo_word(names[bony]) : "";
}

static const char *marker_name(const struct omo_placement_settings *settings,
                               enum omo_role role)
{
    static const char *const names[OMO_ROLE_COUNT] = {
        OMO_WORD("shoulder"), OMO_WORD("elbow"), OMO_WORD("wrist"),
        OMO_WORD("hip"),      OMO_WORD("chest"), OMO_WORD("acromion")};
    if (role == OMO_CHEST && settings->view == OMO_VIEW_FRONT && settings->from_behind)
        return omo_word(OMO_WORD("neck"));
    return omo_word(names[role]);
}

/* ---- names ---- */

static double text_width(const struct name *name, double size)
{
    return (name->bold ? bold_em : letter_em) * size *
           (double)g_utf8_strlen(name->text, -1);
}

static void want_name(struct names *names, const struct name *name, double size)
{
    int side = name->column > 0;
    names->name[names->count++] = *name;
    names->width[side] = fmax(names->width[side], text_width(name, size));
}

static int by_wish(const void *a, const void *b)
{
    const struct name *x = *(struct name *const *)a, *y = *(struct name *const *)b;
    return (x->wish > y->wish) - (x->wish < y->wish);
}

/** Pushes the names of a column apart, downwards, then back up from the lower border. */
static void spread(struct names *names, double column, double size, double height)
{
    struct name *in[NAMES_MAX];
    int count = 0;
    const double step = 1.35 * size;
    for (int i = 0; i < names->count; i++)
        if (names->name[i].column == column)
            in[count++] = &names->name[i];
    qsort(in, (size_t)count, sizeof in[0], by_wish);
    for (int i = 0; i < count; i++)
        in[i]->baseline = i == 0 ? fmax(in[i]->wish, size)
                                 : fmax(in[i]->wish, in[i - 1]->baseline + step);
    double below = height - 0.3 * size;
    for (int i = count - 1; i >= 0; i--) {
        in[i]->baseline = fmin(in[i]->baseline, below);
        below = in[i]->baseline - step;
    }
}

static void draw_names(struct omo_figure *figure, const struct names *names, double width,
                       double size, double line)
{
    for (int i = 0; i < names->count; i++) {
        const struct name *n = &names->name[i];
        bool right = n->column > 0;
        struct omo_point from = {right ? width - names->width[1] - 0.3 * size
                                       : names->width[0] + 0.3 * size,
                                 n->baseline - 0.33 * size};
        double far = hypot(from.x - n->to.x, from.y - n->to.y);
        double share = far > n->gap ? n->gap / far : 1;
        struct omo_point ends[2] = {from,
                                    {n->to.x + share * (from.x - n->to.x),
                                     n->to.y + share * (from.y - n->to.y)}};
        omo_figure_add(figure,
                       &(struct omo_mark){.kind = OMO_MARK_LINE,
                                          .points = ends,
                                          .count = 2,
                                          .colour = n->bold ? OMO_INK : 0xff555555u,
                                          .width = line * (n->bold ? 1.1 : 0.8),
                                          .edge = OMO_PAPER,
                                          .edge_width = line});
    }
    for (int i = 0; i < names->count; i++) {
        const struct name *n = &names->name[i];
        bool right = n->column > 0;
        omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                  .at = {right ? width - names->width[1]
                                                               : names->width[0],
                                                         n->baseline},
                                                  .colour = OMO_INK,
                                                  .text = n->text,
                                                  .size = size,
                                                  .anchor = right ? OMO_ANCHOR_START
                                                                  : OMO_ANCHOR_END,
                                                  .bold = n->bold});
    }
}

/* ---- stickers and crosses ---- */

static void draw_cross(struct omo_figure *figure, struct omo_point at, double radius,
                       double line)
{
    for (int i = 0; i < 2; i++) {
        double dx = radius, dy = i ? radius : -radius;
        struct omo_point ends[2] = {{at.x - dx, at.y - dy}, {at.x + dx, at.y + dy}};
        omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                  .points = ends,
                                                  .count = 2,
                                                  .colour = OMO_INK,
                                                  .width = 1.5 * line,
                                                  .edge = OMO_PAPER,
                                                  .edge_width = line});
    }
}

static void draw_letter(struct omo_figure *figure, struct omo_point at, double size,
                        enum omo_role role, uint32_t ground)
{
    bool dark = omo_contrast_ratio(ground, OMO_PAPER) >= 4.5;
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                              .at = {at.x, at.y + 0.365 * size},
                                              .colour = dark ? OMO_PAPER : 0xff000000u,
                                              .text = omo_placement_letter(role),
                                              .size = size,
                                              .anchor = OMO_ANCHOR_MIDDLE,
                                              .bold = 1});
}

static void draw_sticker(struct omo_figure *figure, struct omo_point at, double radius,
                         enum omo_role role, uint32_t colour)
{
    struct omo_point disc[64];
    for (int i = 0; i < 64; i++)
        disc[i] = (struct omo_point){at.x + radius * cos(G_PI * i / 32),
                                     at.y + radius * sin(G_PI * i / 32)};
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                              .points = disc,
                                              .count = 64,
                                              .colour = colour});
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                              .at = at,
                                              .radius = radius,
                                              .colour = 0xff000000u,
                                              .width = 0.2 * radius,
                                              .edge = OMO_PAPER,
                                              .edge_width = 0.12 * radius});
    draw_letter(figure, at, 1.3 * radius, role, colour);
}

/** A band across a limb, bent as if it went round it; as wide as a sticker. */
static void draw_band(struct omo_pen *pen, const struct omo_spot *spot, double radius,
                      enum omo_role role, uint32_t colour)
{
    struct omo_point across = spot->across, along = {across.y, -across.x};
    double half = spot->half, wide = radius / pen->scale, bend = 0.25 * wide;
    if (along.y > 0)
        along = (struct omo_point){-along.x, -along.y};
    const double at[6][2] = {{-half, -wide}, {0, -wide + bend}, {half, -wide},
                             {half, wide},   {0, wide + bend},  {-half, wide}};
    struct omo_knot knot[6];
    for (int i = 0; i < 6; i++)
        knot[i] = (struct omo_knot){spot->at.x + at[i][0] * across.x +
                                        (at[i][1] - bend / 2) * along.x,
                                    spot->at.y + at[i][0] * across.y +
                                        (at[i][1] - bend / 2) * along.y,
                                    i % 3 != 1};
    omo_pen_fill(pen, knot, 6, colour, 2.2);
    draw_letter(pen->figure, omo_pen_at(pen, spot->at.x, spot->at.y), 1.3 * radius, role,
                colour);
}

static void draw_marker(struct omo_pen *pen, const struct omo_spot *spot, double radius,
                        enum omo_role role, uint32_t colour)
{
    if (colour == 0)
        colour = OMO_PAPER;
    if (spot->half > 0)
        draw_band(pen, spot, radius, role, colour);
    else
        draw_sticker(pen->figure, omo_pen_at(pen, spot->at.x, spot->at.y), radius, role,
                     colour);
}

/* ---- the whole ---- */

static void draw_body(struct omo_pen *pen, const struct omo_layout *layout,
                      const struct omo_placement_settings *settings,
                      struct omo_spots *spots)
{
    memset(spots, 0, sizeof *spots);
    if (settings->view == OMO_VIEW_FRONT)
        omo_draw_front(pen, layout, settings, spots);
    else
        omo_draw_side(pen, layout, settings, spots);
}

/** The measured side lies where the camera sees it: a right arm at picture left from the
 *  front; a right side faces picture right. */
static double turn_of(const struct omo_placement_settings *settings)
{
    bool right = settings->side == OMO_RIGHT;
    if (settings->view == OMO_VIEW_FRONT && !settings->from_behind)
        right = !right;
    return right ? 1 : -1;
}

static double text_size(const struct omo_placement_settings *settings)
{
    return settings->text_size > 0 ? settings->text_size
                                   : fmax(10, settings->height / 38);
}

static void want_names(const struct omo_placement_settings *settings,
                       const struct omo_spots *spots, const struct omo_pen *pen,
                       double ring, double cross, struct names *names)
{
    double size = text_size(settings);
    memset(names, 0, sizeof *names);
    for (int i = 0; i < NAMES_MAX; i++) {
        bool marker = i < OMO_ROLE_COUNT;
        const struct omo_spot *s =
            marker ? &spots->marker[i] : &spots->bony[i - OMO_ROLE_COUNT];
        if (!s->shown || (!marker && settings->no_bony_names))
            continue;
        struct omo_point to = omo_pen_at(pen, s->named_at.x, s->named_at.y);
        struct name name = {.text = marker ? marker_name(settings, (enum omo_role)i)
                                           : omo_bony_name(
                                                 (enum omo_bony)(i - OMO_ROLE_COUNT)),
                            .bold = marker,
                            .column = s->column * pen->turn,
                            .wish = to.y - s->lift * pen->scale + 0.33 * size,
                            .to = to,
                            .gap = marker ? 1.2 * ring : 1.3 * cross};
        want_name(names, &name, size);
    }
}

struct frame {
    double ring, cross, line;
    struct names names;
};

/** The largest ring that leaves a gap between the two stickers at the shoulder, in units
 * of the body. */
static double ring_room(const struct omo_spots *spots)
{
    const struct omo_spot *a = &spots->marker[OMO_SHOULDER],
                          *b = &spots->marker[OMO_ACROMION];
    if (!b->shown || a->half > 0)
        return INFINITY;
    return hypot(a->at.x - b->at.x, a->at.y - b->at.y) / 2.15;
}

/** Scale and origin, so that body and names fill the picture. */
static void fit(const struct omo_placement_settings *settings, struct omo_pen *pen,
                const struct omo_spots *spots, struct frame *frame)
{
    double size = text_size(settings);
    want_names(settings, spots, pen, 0, 0, &frame->names);
    double left = frame->names.width[0], right = frame->names.width[1];
    left = left > 0 ? left + size : 0.3 * size;
    right = right > 0 ? right + size : 0.3 * size;
    double wide = spots->high_x - spots->low_x, high = spots->high_y - spots->low_y;
    pen->scale = fmin((settings->width - left - right) / wide, settings->height / high);
    double middle = (spots->high_x + spots->low_x) / 2 * pen->turn;
    pen->origin.x = left + (settings->width - left - right) / 2 - pen->scale * middle;
    pen->origin.y = (settings->height + pen->scale * (spots->high_y + spots->low_y)) / 2;
    pen->line = fmax(0.55, 1.15 * pen->scale);
    frame->line = pen->line;
    frame->ring = fmax(12.5 * pen->scale, 7.5);
    frame->ring = fmin(frame->ring, ring_room(spots) * pen->scale);
    frame->cross = fmax(4.5 * pen->scale, 2.5);
    want_names(settings, spots, pen, frame->ring, frame->cross, &frame->names);
    spread(&frame->names, 1, size, settings->height);
    spread(&frame->names, -1, size, settings->height);
}

static void fill_map(const struct omo_spots *spots, const struct omo_pen *pen,
                     double ring, struct omo_placement_map *map)
{
    memset(map, 0, sizeof *map);
    map->ring_radius = ring;
    map->px_per_stature = 1000 * pen->scale;
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        map->shown[i] = spots->marker[i].shown;
        map->marker[i] = omo_pen_at(pen, spots->marker[i].at.x, spots->marker[i].at.y);
    }
    for (int i = 0; i < OMO_BONY_COUNT; i++) {
        map->bony_shown[i] = spots->bony[i].shown;
        map->bony[i] = omo_pen_at(pen, spots->bony[i].at.x, spots->bony[i].at.y);
    }
}

/** Draws on `figure`; the outline's curves into `outline` when not NULL. */
static enum omo_status compose(const struct omo_placement_settings *settings,
                               struct omo_figure *figure, struct omo_placement_map *map,
                               struct omo_curve *outline, int *outline_count)
{
    struct omo_layout layout;
    enum omo_status status = omo_layout_load(NULL, &layout);
    if (status != OMO_OK)
        return status;
    /* Once to learn how large the body is, once to draw it. */
    struct omo_spots spots;
    struct frame frame;
    struct omo_figure *trial = omo_figure_create(1, 1);
    struct omo_pen pen = {.figure = trial, .scale = 1, .turn = turn_of(settings)};
    draw_body(&pen, &layout, settings, &spots);
    omo_figure_destroy(trial);
    fit(settings, &pen, &spots, &frame);
    pen.figure = figure;
    pen.body = outline;
    draw_body(&pen, &layout, settings, &spots);
    if (outline_count)
        *outline_count = pen.body_count;

    for (int i = 0; i < OMO_BONY_COUNT; i++) {
        const struct omo_spot *s = &spots.bony[i];
        if (!s->shown)
            continue;
        draw_cross(figure, omo_pen_at(&pen, s->at.x, s->at.y), frame.cross, frame.line);
        draw_cross(figure, omo_pen_at(&pen, s->named_at.x, s->named_at.y), frame.cross,
                   frame.line);
    }
    draw_names(figure, &frame.names, settings->width, text_size(settings), frame.line);
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        if (spots.marker[i].shown)
            draw_marker(&pen, &spots.marker[i], frame.ring, (enum omo_role)i,
                        settings->colour[i]);
    if (map)
        fill_map(&spots, &pen, frame.ring, map);
    return OMO_OK;
}

enum omo_status omo_placement_figure(const struct omo_placement_settings *settings,
                                     struct omo_figure **figure,
                                     struct omo_placement_map *map)
{
    if (!(settings->width >= 16 && settings->height >= 16))
        return OMO_ERR_ARG;
    struct omo_figure *made = omo_figure_create(settings->width, settings->height);
    enum omo_status status = compose(settings, made, map, NULL, NULL);
    if (status == OMO_OK)
        *figure = made;
    else
        omo_figure_destroy(made);
    return status;
}

int omo_placement_outline(const struct omo_placement_settings *settings,
                          struct omo_curve outline[OMO_BODY_PARTS])
{
    struct omo_figure *figure = omo_figure_create(settings->width, settings->height);
    int count = 0;
    if (compose(settings, figure, NULL, outline, &count) != OMO_OK)
        count = 0;
    omo_figure_destroy(figure);
    return count;
}
