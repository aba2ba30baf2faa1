#include <math.h>
#include <stdio.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/screen_private.h"

/** Room for the instruction: two lines, more when the words need them. */
static int lines_needed(const struct omo_screen *screen, const char *text)
{
    const struct omo_measure_layout *l = &screen->layout;
    int line = 0, height = 0;
    if (text[0] == '\0' || l->instruction.w < 1)
        return 2;
    omo_text_size("Hg", l->large_px, false, 0, NULL, &line);
    omo_text_size(text, l->large_px, false, l->instruction.w, NULL, &height);
    return line > 0 ? (height + line - 1) / line : 2;
}

static struct omo_ink ink(double size_px, uint32_t colour, enum omo_align align)
{
    return (struct omo_ink){.size_px = size_px,
                            .colour = colour,
                            .ground = OMO_GREY_FRAME,
                            .align = align,
                            .pad_px = 2,
                            .smallest = 0.6};
}

static void draw_title(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    struct omo_ink bold = ink(l->small_px, OMO_GREY_LIGHT, OMO_ALIGN_LEFT);
    bold.bold = true;
    omo_text_tile(screen, &screen->title, &l->title, page->title, &bold);
    bool below = l->status.y > l->title.y;
    struct omo_ink quiet =
        ink(l->small_px, OMO_GREY_QUIET, below ? OMO_ALIGN_LEFT : OMO_ALIGN_RIGHT);
    omo_text_tile(screen, &screen->status, &l->status, page->status, &quiet);

    /* The sign: a camera's outline and words; filled lens when it is on. */
    const char *word = page->camera_on ? omo_word("camera on") : omo_word("camera off");
    uint64_t key = omo_hash_text(page->camera_on ? 1 : 2, word);
    key = omo_hash(key, &l->small_px, sizeof l->small_px);
    struct omo_pen pen =
        omo_tile_begin(screen, &screen->sign, l->sign.w, l->sign.h, key,
                       page->camera_on ? OMO_GREY_LIGHT : OMO_GREY_PANEL);
    if (pen.cairo != NULL) {
        uint32_t colour = page->camera_on ? OMO_GREY_FRAME : OMO_GREY_LIGHT;
        double unit = l->small_px, y = l->sign.h / 2.0;
        omo_set_colour(pen.cairo, colour);
        cairo_set_line_width(pen.cairo, fmax(1.5, unit / 10));
        cairo_rectangle(pen.cairo, unit * 0.4, y - unit * 0.4, unit * 1.1, unit * 0.8);
        cairo_stroke(pen.cairo);
        cairo_arc(pen.cairo, unit * 0.95, y, unit * 0.22, 0, 2 * M_PI);
        if (page->camera_on)
            cairo_fill(pen.cairo);
        else
            cairo_stroke(pen.cairo);
        struct omo_ink on_sign = ink(l->small_px, colour, OMO_ALIGN_LEFT);
        on_sign.bold = true;
        int x = (int)(unit * 1.8);
        omo_text_draw(pen.cairo, &(SDL_Rect){x, 0, l->sign.w - x, l->sign.h}, word,
                      &on_sign);
        omo_tile_end(&screen->sign, &pen);
    }
    screen->sign.text = true;
    omo_tile_show(screen, &screen->sign, l->sign.x, l->sign.y);
}

static void draw_angle(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    const struct omo_live_view *view = page->view;
    char text[64];
    bool known = isfinite(view->angle_deg);
    if (known)
        snprintf(text, sizeof text, "%ld", lround(view->angle_deg));
    else
        omo_text_copy(text, sizeof text, "\xe2\x80\x93"); /* a dash */
    struct omo_ink figures = ink(l->digits_px, OMO_GREY_LIGHT, OMO_ALIGN_RIGHT);
    figures.smallest = 1;
    omo_text_tile(screen, &screen->angle, &l->angle, text, &figures);
    if (known) {
        struct omo_ink degree = ink(l->digits_px * 0.7, OMO_GREY_LIGHT, OMO_ALIGN_LEFT);
        degree.pad_px = 0;
        degree.smallest = 1;
        omo_text_tile(screen, &screen->degree, &l->degree, "°", &degree);
    }
    omo_good_to_words(known ? view->angle_u95_deg : (double)NAN, text, sizeof text);
    if (!known)
        omo_text_copy(text, sizeof text, omo_word("no angle now"));
    struct omo_ink words = ink(l->middle_px, OMO_GREY_QUIET, OMO_ALIGN_RIGHT);
    omo_text_tile(screen, &screen->good_to, &l->good_to, text, &words);
}

static void draw_raises(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    if (page->raises_most <= 0)
        return;
    char text[96];
    snprintf(text, sizeof text, omo_word("%d of %d raises"), page->view->raises,
             page->raises_most);
    struct omo_ink words = ink(l->middle_px, OMO_GREY_LIGHT, OMO_ALIGN_LEFT);
    omo_text_tile(screen, &screen->raises, &l->raises, text, &words);
}

static void draw_instruction(struct omo_screen *screen,
                             const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    struct omo_ink words = ink(l->large_px, OMO_GREY_LIGHT, OMO_ALIGN_LEFT);
    words.smallest = 1;
    omo_text_tile(screen, &screen->instruction, &l->instruction, page->instruction,
                  &words);
    if (page->instruction_is_fault && page->instruction[0] != '\0') {
        struct omo_pen pen = omo_tile_begin(screen, &screen->mark, l->mark.w, l->mark.h,
                                            1, OMO_GREY_FRAME);
        if (pen.cairo != NULL) {
            /* A boxed exclamation mark: a shape, not a colour. */
            double size = l->mark.w - 4, y = (l->mark.h - size) / 2;
            omo_set_colour(pen.cairo, OMO_GREY_LIGHT);
            cairo_rectangle(pen.cairo, 2, y, size, size);
            cairo_fill(pen.cairo);
            struct omo_ink sign =
                ink(l->large_px * 0.8, OMO_GREY_FRAME, OMO_ALIGN_CENTRE);
            sign.bold = true;
            omo_text_draw(pen.cairo, &(SDL_Rect){0, 0, l->mark.w, l->mark.h}, "!", &sign);
            omo_tile_end(&screen->mark, &pen);
        }
        omo_tile_show(screen, &screen->mark, l->mark.x, l->mark.y);
    }
    /* How much of a stillness has passed: a straight bar. */
    double ratio = page->view->phase_ratio;
    if (isfinite(ratio)) {
        SDL_Rect bar = l->progress;
        omo_fill(screen, &bar, OMO_GREY_BUTTON);
        bar.w = (int)(bar.w * fmin(fmax(ratio, 0), 1));
        omo_fill(screen, &bar, OMO_GREY_LIGHT);
    }
}

static void draw_held(struct omo_screen *screen, const struct omo_measure_page *page,
                      const SDL_Rect *picture)
{
    /* `picture` is where it lies; without one, NULL. */
    bool there = picture != NULL;
    const struct omo_measure_layout *l = &screen->layout;
    if (!page->picture_held && there)
        return;
    const char *text =
        there ? omo_word("The picture stands still") : omo_word("No picture yet");
    struct omo_ink words = ink(l->middle_px, OMO_GREY_LIGHT, OMO_ALIGN_CENTRE);
    words.ground = OMO_GREY_PANEL;
    int width = 0, height = 0;
    omo_text_size(text, l->middle_px, false, 0, &width, &height);
    width += 3 * l->margin;
    if (width > l->picture.w)
        width = l->picture.w;
    SDL_Rect at = {l->picture.x + (l->picture.w - width) / 2,
                   there ? picture->y + l->margin
                         : l->picture.y + (l->picture.h - 2 * height) / 2,
                   width, height + l->margin};
    omo_text_tile(screen, &screen->held, &at, text, &words);
}

void omo_measure_draw(struct omo_screen *screen)
{
    const struct omo_measure_page *page = &screen->measure.page;
    omo_measure_layout(screen, 2);
    int lines = lines_needed(screen, page->instruction);
    if (lines > 2)
        omo_measure_layout(screen, lines);
    const struct omo_measure_layout *l = &screen->layout;
    SDL_Rect all = {0, 0, l->width, l->height}, at;
    omo_fill(screen, &all, page->flash ? OMO_GREY_FLASH : OMO_GREY_FRAME);

    /* A flash is the whole window gone light: the picture steps back for it, while the
     * words keep their dark ground. */
    bool there = false;
    if (!page->flash) {
        there = omo_picture_show(screen, &l->picture, page->mirror, &at);
        /* Over a picture that stands still nothing is measured, so nothing is drawn. */
        if (there && !page->picture_held)
            omo_markers_draw(screen, page, &at);
        draw_held(screen, page, there ? &at : NULL);
    }
    if (page->flash) {
        /* One piece of ground under figures and degree sign. */
        SDL_Rect ground = l->angle;
        ground.w += l->degree.w;
        if (page->other != NULL)
            ground.h = l->other_angle.y + l->other_angle.h - l->angle.y;
        omo_fill(screen, &ground, OMO_GREY_FRAME);
    }
    draw_title(screen, page);
    if (page->other != NULL) {
        omo_both_angles_draw(screen, page);
    } else {
        draw_angle(screen, page);
        omo_disturbances_draw(screen, page);
    }
    draw_raises(screen, page);
    omo_chart_draw(screen, page);
    omo_gauge_draw(screen, page);
    draw_instruction(screen, page);
    omo_buttons_draw(screen, &l->buttons, l->small_px, l->scale, true, page->sound_on,
                     page->mirror);
}

void omo_screen_measure(struct omo_screen *screen, const struct omo_measure_page *page)
{
    struct omo_kept_measure *kept = &screen->measure;
    kept->page = *page;
    kept->view = *page->view;
    kept->settings = *page->settings;
    omo_text_copy(kept->title, sizeof kept->title, page->title);
    omo_text_copy(kept->instruction, sizeof kept->instruction, page->instruction);
    omo_text_copy(kept->status, sizeof kept->status, page->status);
    if (page->other != NULL) {
        kept->other = *page->other;
        kept->page.other = &kept->other;
    }
    kept->page.view = &kept->view;
    kept->page.settings = &kept->settings;
    kept->page.title = kept->title;
    kept->page.instruction = kept->instruction;
    kept->page.status = kept->status;
    omo_chart_add(&screen->chart, page->view->time_s, page->view->angle_deg,
                  page->other ? page->other->angle_deg : (double)NAN);
    screen->page = OMO_PAGE_MEASURE;
    omo_screen_draw(screen, true);
}
