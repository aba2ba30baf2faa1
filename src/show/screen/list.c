#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "show/screen/screen_private.h"

/* A page of words: title, paragraphs, large buttons with their number keys, cautions at
 * the foot, a figure at the right. Sizes shrink step by step until everything fits. */

#define SHRINK      0.94
#define LEAST       0.45
#define ITEM_LEAST  46
#define FIGURE_PART 0.42
/* Of the window's height: 10 mm of capitals on a laptop's screen. */
#define FAR_TITLE 0.1
/* What a letter may overhang. */
#define PAD_PX 3

/* Tiles of the page. */
enum {
    TITLE_TILE,
    FOOT_TILE,
    FIGURE_TILE,
    FIRST_LINE,
    FIRST_ITEM = FIRST_LINE + OMO_LINES_MOST
};

struct list_layout {
    double text_px, foot_px, title_px, small_px, scale;
    int columns, margin;
    SDL_Rect title, foot, figure, buttons;
    SDL_Rect line[OMO_LINES_MOST], item[OMO_ITEMS_MOST];
    int item_size_px;
    bool fits;
};

void omo_list_finish(struct omo_kept_list *list)
{
    for (int i = 0; i < list->line_count; i++)
        free(list->lines[i]);
    for (int i = 0; i < list->item_count; i++)
        free(list->items[i]);
    list->line_count = list->item_count = 0;
}

/** Of a tile that is `width` wide, margins included. */
static int height_of(const char *text, double size_px, bool bold, int width)
{
    int height = 0;
    omo_text_size(text, size_px, bold, width - 2 * PAD_PX, NULL, &height);
    return height + 4;
}

/** Room for an item's number key at its left. */
static int number_width(double size_px)
{
    int width = 0;
    omo_text_size("0", size_px, false, 0, &width, NULL);
    return width * 2;
}

static void lay(const struct omo_screen *screen, const struct omo_kept_list *list, int w,
                int h, double share, int columns, struct list_layout *l)
{
    memset(l, 0, sizeof *l);
    l->scale = fmax(fmin(screen->scale, fmin(w / 800.0, h / 600.0)), 0.5);
    l->margin = (int)fmax(8 * l->scale, h * 0.022);
    l->small_px = fmax(14 * l->scale, h * 0.023);
    l->text_px = fmax(fmax(18 * l->scale, h * 0.038) * share, 13 * l->scale);
    double title = list->far ? FAR_TITLE : 0.062;
    l->title_px = fmax(fmax(26 * l->scale, h * title) * share, 16 * l->scale);
    l->foot_px = fmax(fmax(15 * l->scale, h * 0.028) * share, 12 * l->scale);
    l->columns = columns;
    int m = l->margin, row = (int)lround(fmax(ITEM_LEAST * l->scale, h * 0.072));
    l->buttons = (SDL_Rect){m, h - m / 2 - row, w - 2 * m, row};
    int bottom = l->buttons.y - m, width = w - 2 * m;
    if (list->figure != NULL) {
        int part = (int)(w * FIGURE_PART);
        l->figure = (SDL_Rect){w - m - part, m, part, bottom - m};
        width -= part + m;
    }
    int y = m;
    if (list->title[0] != '\0') {
        int height = height_of(list->title, l->title_px, true, width);
        l->title = (SDL_Rect){m, y, width, height};
        y += height + m;
    }
    for (int i = 0; i < list->line_count; i++) {
        int height = height_of(list->lines[i], l->text_px, false, width);
        l->line[i] = (SDL_Rect){m, y, width, height};
        y += height + m / 2;
    }
    if (list->foot[0] != '\0') {
        int height = height_of(list->foot, l->foot_px, false, width);
        l->foot = (SDL_Rect){m, bottom - height, width, height};
        bottom -= height + m / 2;
    }
    y += m / 2;
    int gap = m / 2, pad = (int)l->text_px;
    int item_w = (width - gap * (columns - 1)) / columns;
    int tallest = (int)lround(fmax(ITEM_LEAST * l->scale, l->text_px * 1.7));
    for (int i = 0; i < list->item_count; i++) {
        int room = item_w - 2 * pad - number_width(l->text_px);
        int height = height_of(list->items[i], l->text_px, false, room) + gap;
        tallest = height > tallest ? height : tallest;
    }
    int rows = (list->item_count + columns - 1) / columns;
    for (int i = 0; i < list->item_count; i++)
        l->item[i] =
            (SDL_Rect){m + (i / (rows > 0 ? rows : 1)) * (item_w + gap),
                       y + (rows > 0 ? i % rows : 0) * (tallest + gap), item_w, tallest};
    y += rows * (tallest + gap);
    l->item_size_px = pad;
    l->fits = y <= bottom + gap;
}

static void lay_until_it_fits(const struct omo_screen *screen,
                              const struct omo_kept_list *list, struct list_layout *l)
{
    int w, h;
    omo_screen_size(screen, &w, &h);
    for (double share = 1; share >= LEAST; share *= SHRINK)
        for (int columns = 1; columns <= (list->item_count > 3 ? 2 : 1); columns++) {
            lay(screen, list, w, h, share, columns, l);
            if (l->fits)
                return;
        }
}

static void draw_figure(struct omo_screen *screen, const SDL_Rect *at)
{
    struct omo_kept_list *list = &screen->list;
    struct omo_tile *tile = &screen->list_tile[FIGURE_TILE];
    if (list->figure_new || tile->width != at->w || tile->height != at->h)
        tile->key = 0;
    struct omo_pen pen = omo_tile_begin(screen, tile, at->w, at->h, 1, OMO_GREY_FRAME);
    if (pen.cairo != NULL) {
        cairo_surface_flush(pen.surface);
        int stride = cairo_image_surface_get_stride(pen.surface);
        uint32_t *pixels = (uint32_t *)(void *)cairo_image_surface_get_data(pen.surface);
        if (pixels != NULL)
            list->figure(pixels, at->w, at->h, stride / 4, list->user);
        cairo_surface_mark_dirty(pen.surface);
        omo_tile_end(tile, &pen);
    }
    list->figure_new = false;
    omo_tile_show(screen, tile, at->x, at->y);
}

static void draw_item(struct omo_screen *screen, const struct list_layout *l, int i)
{
    const struct omo_kept_list *list = &screen->list;
    struct omo_tile *tile = &screen->list_tile[FIRST_ITEM + i];
    const SDL_Rect *at = &l->item[i];
    bool chosen = i == list->chosen;
    const char *text = list->items[i];
    struct omo_ink ink = {.size_px = l->text_px,
                          .colour = chosen ? OMO_GREY_FRAME : OMO_GREY_LIGHT,
                          .ground = chosen ? OMO_GREY_LIGHT : OMO_GREY_BUTTON,
                          .align = OMO_ALIGN_LEFT,
                          .pad_px = l->item_size_px,
                          .smallest = 0.6};
    uint64_t key = omo_hash_text(OMO_HASH_START, text);
    key = omo_hash(key, &i, sizeof i);
    key = omo_hash(key, &chosen, sizeof chosen);
    key = omo_hash(key, &ink.size_px, sizeof ink.size_px);
    struct omo_pen pen = omo_tile_begin(screen, tile, at->w, at->h, key, ink.ground);
    if (pen.cairo != NULL) {
        int number = number_width(l->text_px);
        /* Numbers are their own keys, and a text that is typed leaves none. */
        if (i < 10 && !list->numbers && !list->entry) {
            char key_text[8];
            snprintf(key_text, sizeof key_text, "%d", (i + 1) % 10);
            omo_text_draw(pen.cairo, &(SDL_Rect){0, 0, number + 2 * ink.pad_px, at->h},
                          key_text, &ink);
        }
        omo_text_draw(pen.cairo, &(SDL_Rect){number, 0, at->w - number, at->h}, text,
                      &ink);
        if (chosen) {
            /* A bar at the left says it without its ground. */
            omo_set_colour(pen.cairo, OMO_GREY_FRAME);
            double bar = ink.pad_px * 0.25;
            cairo_rectangle(pen.cairo, bar, at->h * 0.2, bar, at->h * 0.6);
            cairo_fill(pen.cairo);
        }
        omo_tile_end(tile, &pen);
    }
    tile->text = true;
    omo_tile_show(screen, tile, at->x, at->y);
    omo_button_add(screen, at, OMO_ACTION_CHOOSE, i);
}

void omo_list_draw(struct omo_screen *screen)
{
    struct omo_kept_list *list = &screen->list;
    struct list_layout l;
    list->drawn = list->chosen;
    lay_until_it_fits(screen, list, &l);
    int w, h;
    omo_screen_size(screen, &w, &h);
    SDL_Rect all = {0, 0, w, h};
    omo_fill(screen, &all, OMO_GREY_FRAME);
    struct omo_ink ink = {.size_px = l.title_px,
                          .bold = true,
                          .colour = OMO_GREY_LIGHT,
                          .ground = OMO_GREY_FRAME,
                          .align = OMO_ALIGN_LEFT,
                          .pad_px = PAD_PX,
                          .smallest = 0.6};
    omo_text_tile(screen, &screen->list_tile[TITLE_TILE], &l.title, list->title, &ink);
    ink.bold = false;
    ink.size_px = l.text_px;
    for (int i = 0; i < list->line_count; i++)
        omo_text_tile(screen, &screen->list_tile[FIRST_LINE + i], &l.line[i],
                      list->lines[i], &ink);
    ink.size_px = l.foot_px;
    ink.colour = OMO_GREY_QUIET;
    omo_text_tile(screen, &screen->list_tile[FOOT_TILE], &l.foot, list->foot, &ink);
    if (list->figure != NULL)
        draw_figure(screen, &l.figure);
    for (int i = 0; i < list->item_count; i++)
        draw_item(screen, &l, i);
    omo_buttons_draw(screen, &l.buttons, l.small_px, l.scale, false, false, false);
}

/** Whether the caller shows the page that is there. */
static bool same_page(const struct omo_kept_list *list, const struct omo_list_page *page)
{
    if (list->item_count != page->item_count || list->line_count != page->line_count ||
        strcmp(list->title, page->title != NULL ? page->title : "") != 0)
        return false;
    for (int i = 0; i < list->item_count; i++)
        if (strcmp(list->items[i], page->items[i]) != 0)
            return false;
    return true;
}

/** Whether it would look the same, so that nothing has to be drawn or asked for. */
static bool same_looks(const struct omo_kept_list *list, const struct omo_list_page *page)
{
    if (strcmp(list->foot, page->foot != NULL ? page->foot : "") != 0 ||
        list->figure != page->figure || list->user != page->user ||
        list->figure_version != page->figure_version)
        return false;
    for (int i = 0; i < list->line_count; i++)
        if (strcmp(list->lines[i], page->lines[i]) != 0)
            return false;
    return true;
}

static int keep_texts(char **to, const char *const *from, int count, int most)
{
    int kept = 0;
    for (int i = 0; i < count && kept < most; i++) {
        to[kept] = strdup(from[i] != NULL ? from[i] : "");
        if (to[kept] == NULL)
            break;
        kept++;
    }
    return kept;
}

/** Keys are letters only where something is typed: an input method would keep them. */
static void write_letters(bool entry)
{
    if (entry && !SDL_IsTextInputActive())
        SDL_StartTextInput();
    else if (!entry && SDL_IsTextInputActive())
        SDL_StopTextInput();
}

void omo_screen_list(struct omo_screen *screen, struct omo_list_page *page)
{
    struct omo_kept_list *list = &screen->list;
    bool same = screen->page == OMO_PAGE_LIST && same_page(list, page);
    /* The arrow keys moved it since: unless the caller did so too, theirs counts. */
    if (!same || (page->chosen != list->given && page->chosen != list->chosen))
        list->chosen = page->chosen;
    if (list->chosen >= page->item_count)
        list->chosen = page->item_count - 1;
    int chosen = list->chosen;
    bool same_words = same && same_looks(list, page);
    if (same_words && chosen == list->drawn && !screen->stale) {
        list->given = page->chosen = chosen;
        return;
    }
    omo_list_finish(list);
    list->chosen = chosen;
    list->given = page->chosen = chosen;
    omo_text_copy(list->title, sizeof list->title,
                  page->title != NULL ? page->title : "");
    omo_text_copy(list->foot, sizeof list->foot, page->foot != NULL ? page->foot : "");
    list->line_count =
        keep_texts(list->lines, page->lines, page->line_count, OMO_LINES_MOST);
    list->item_count =
        keep_texts(list->items, page->items, page->item_count, OMO_ITEMS_MOST);
    list->figure = page->figure;
    list->user = page->user;
    list->figure_version = page->figure_version;
    list->numbers = page->numbers;
    list->entry = page->entry;
    list->far = page->far;
    list->figure_new = list->figure_new || !same_words;
    screen->page = OMO_PAGE_LIST;
    write_letters(page->entry);
    omo_screen_draw(screen, true);
}

const char *omo_screen_entry(const struct omo_screen *screen)
{
    return screen->list.typed;
}

void omo_screen_entry_clear(struct omo_screen *screen)
{
    screen->list.typed[0] = '\0';
}
