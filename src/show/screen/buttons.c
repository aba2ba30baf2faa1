#include <math.h>

#include "omogon/words.h"
#include "show/screen/screen_private.h"

struct button_text {
    enum omo_action action;
    const char *label, *key;
};

/** Words of a button; the state of a switch is a word too. */
static struct button_text text_of(enum omo_button_id id, bool sound_on, bool mirror,
                                  bool full)
{
    switch (id) {
    case OMO_BUTTON_BEGIN:
        return (struct button_text){OMO_ACTION_BEGIN, omo_word("Begin"),
                                    omo_word("Enter")};
    case OMO_BUTTON_MARK:
        return (struct button_text){OMO_ACTION_MARK, omo_word("Mark pain"),
                                    omo_word("any other key")};
    case OMO_BUTTON_ENOUGH:
        return (struct button_text){OMO_ACTION_ENOUGH, omo_word("Enough for today"), "E"};
    case OMO_BUTTON_STILL:
        return (struct button_text){OMO_ACTION_STILL, omo_word("Still"), "P"};
    case OMO_BUTTON_SOUND:
        return (struct button_text){OMO_ACTION_SOUND,
                                    sound_on ? omo_word("Sound is on")
                                             : omo_word("Sound is off"),
                                    "S"};
    case OMO_BUTTON_MIRROR:
        return (struct button_text){OMO_ACTION_MIRROR,
                                    mirror ? omo_word("Mirror is on")
                                           : omo_word("Mirror is off"),
                                    "M"};
    case OMO_BUTTON_FULL:
        return (struct button_text){OMO_ACTION_FULL,
                                    full ? omo_word("Window") : omo_word("Full screen"),
                                    "F"};
    case OMO_BUTTON_HELP:
        return (struct button_text){OMO_ACTION_HELP, omo_word("Help"), "H"};
    case OMO_BUTTON_BACK:
    case OMO_BUTTON_COUNT:
        break;
    }
    return (struct button_text){OMO_ACTION_BACK, omo_word("Back"), omo_word("Esc")};
}

static void draw_button(struct omo_screen *screen, struct omo_tile *tile,
                        const SDL_Rect *at, const struct button_text *text,
                        double size_px)
{
    uint64_t key = omo_hash_text(OMO_HASH_START, text->label);
    key = omo_hash_text(key, text->key);
    key = omo_hash(key, &size_px, sizeof size_px);
    struct omo_pen pen = omo_tile_begin(screen, tile, at->w, at->h, key, OMO_GREY_BUTTON);
    if (pen.cairo != NULL) {
        struct omo_ink ink = {.size_px = size_px,
                              .bold = true,
                              .colour = OMO_GREY_LIGHT,
                              .align = OMO_ALIGN_CENTRE,
                              .pad_px = 3,
                              .smallest = 0.6};
        int split = at->h * 58 / 100;
        omo_text_draw(pen.cairo, &(SDL_Rect){0, 1, at->w, split}, text->label, &ink);
        ink.bold = false;
        ink.size_px = size_px * 0.9;
        omo_text_draw(pen.cairo, &(SDL_Rect){0, split, at->w, at->h - split - 2},
                      text->key, &ink);
        omo_tile_end(tile, &pen);
    }
    tile->text = true;
    omo_tile_show(screen, tile, at->x, at->y);
    omo_button_add(screen, at, text->action, -1);
}

void omo_buttons_draw(struct omo_screen *screen, const SDL_Rect *row, double size_px,
                      double scale, bool measuring, bool sound_on, bool mirror)
{
    enum omo_button_id shown[OMO_BUTTON_COUNT];
    int count = 0;
    for (int id = 0; id < OMO_BUTTON_COUNT; id++)
        if (measuring || id == OMO_BUTTON_SOUND || id >= OMO_BUTTON_FULL)
            shown[count++] = (enum omo_button_id)id;
    if (!measuring) {
        /* A page of words does not know whether the sound is on. */
        count = 0;
        shown[count++] = OMO_BUTTON_FULL;
        shown[count++] = OMO_BUTTON_HELP;
        shown[count++] = OMO_BUTTON_BACK;
    }
    /* As wide as its words ask for, and what is left in equal parts. */
    int wanted[OMO_BUTTON_COUNT], sum = 0, gap = (int)fmax(4, 6 * scale);
    for (int i = 0; i < count; i++) {
        struct button_text text = text_of(shown[i], sound_on, mirror, screen->full);
        int label = 0, key = 0;
        omo_text_size(text.label, size_px, true, 0, &label, NULL);
        omo_text_size(text.key, size_px * 0.9, false, 0, &key, NULL);
        wanted[i] = (label > key ? label : key) + 8;
        /* No narrower than high: it has to be hit by a finger. */
        if (wanted[i] < row->h)
            wanted[i] = row->h;
        sum += wanted[i];
    }
    int left = row->w - sum - gap * (count - 1);
    int x = row->x;
    for (int i = 0; i < count; i++) {
        struct button_text text = text_of(shown[i], sound_on, mirror, screen->full);
        int width = wanted[i];
        if (left >= 0 && measuring)
            width += left / count;
        else if (left < 0)
            /* Too many words for the row: what is over a finger's width shrinks. */
            width =
                row->h + (int)((double)(wanted[i] - row->h) *
                               (sum + left - count * row->h) / (sum - count * row->h));
        else
            width += (int)(size_px * 3);
        SDL_Rect at = {x, row->y, width, row->h};
        draw_button(screen, &screen->button_tile[shown[i]], &at, &text, size_px);
        x += width + gap;
    }
}
