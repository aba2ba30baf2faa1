/* The steps of the bench check, and the form. */
#include <glib.h>
#include <math.h>
#include <stdio.h>

#include "omogon/geometry.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/paper/bench.h"
#include "show/paper/page.h"

static const double left_mm = 14;

/* ---- the steps ---- */

static const char *const build_steps[] = {
    OMO_WORD("Lay a ruler on the printed line of each page: it must be 100 mm long."),
    OMO_WORD("Take a board or a box about 25 cm wide and 65 cm high that stands upright "
             "by itself. Glue the protractor to its face near the upper end, the thick "
             "line plumb: hang a thread with a weight beside it."),
    OMO_WORD("Glue the arm's end to its strip, cut out the window, and push a pin or a "
             "bolt through both crosses. The arm must turn without play and stay where "
             "it is left."),
    OMO_WORD("Stick on: shoulder on the arm right over the pin; elbow 310 mm and wrist "
             "560 mm from it on the arm's line; chest 170 mm and hip 490 mm below it on "
             "the board's line. Half a millimetre at the elbow is 0.1 degrees."),
};
static const char *const film_steps[] = {
    OMO_WORD(
        "Stand the camera level at the height of the pin, 2 to 2.5 m away, and point "
        "it squarely at the board: with the board on the line of 0 degrees, both "
        "sides of the board look equally long."),
    OMO_WORD("For each row of the form: film from the start. Leave the arm at 20 degrees "
             "for three seconds; lower down it would cover the stickers of the trunk."),
    OMO_WORD("Raise it slowly, in about four seconds, to the row's angle and never past "
             "it. Set it by the window, take the hands out of the picture, wait three "
             "seconds, stop."),
    OMO_WORD(
        "Do the rows in any order, best a shuffled one, and set the angle afresh for "
        "each. Turn the board by the lines for 15 and 30 degrees; the pin must stay "
        "where it is."),
};
static const char *const compare_steps[] = {
    OMO_WORD("Write each clip's name beside its angle and turn into the table that lies "
             "beside this sheet, assets/bench-check.csv, and ask for the comparison:"),
    "omogon check --bench bench-check.csv --movement flexion --side %s",
    OMO_WORD("Or measure one clip and fill in the form by hand:"),
    "omogon trace CLIP --movement flexion --side %s",
    OMO_WORD(
        "\"In the picture\" is the angle before any correction; beside it stands what "
        "a board turned so far shows there: tan of it = tan of the angle times cos "
        "of the turn. \"Corrected\" is what a person would be told."),
    OMO_WORD(
        "A board has no skin, no muscle and no shoulder blade. This checks camera, "
        "lens, level and turn. It says nothing about stickers that are not on the "
        "joint, which is most of what \"good to\" allows for. The correction expects a "
        "person, and may be off on a board by as much as it is good to."),
};

/** A list under its title; a step may hold the side's name. Returns where it ends. */
static double draw_list(const struct omo_sheet_settings *s, cairo_t *cairo, double y,
                        const char *title, const char *const *step, size_t count,
                        bool numbered)
{
    double width, height;
    omo_sheet_page_size(s, &width, &height);
    struct omo_page_text how = {.x = omo_page_mm(left_mm),
                                .y = y + 8,
                                .width = width - omo_page_mm(2 * left_mm),
                                .size = 12,
                                .bold = true};
    how.y += omo_page_text(cairo, &how, title) + 5;
    how.bold = false;
    how.size = 10.5;
    how.width -= omo_page_mm(7);
    for (size_t i = 0; i < count; i++) {
        char number[16];
        char **parts = g_strsplit(omo_word(step[i]), "%s", -1);
        char *text = g_strjoinv(omo_side_name(s->side), parts);
        snprintf(number, sizeof number, "%zu.", i + 1);
        how.x = omo_page_mm(left_mm);
        if (numbered)
            omo_page_text(cairo, &how, number);
        how.x = omo_page_mm(left_mm + 7);
        how.y += omo_page_text(cairo, &how, text) + 5;
        g_free(text);
        g_strfreev(parts);
    }
    return how.y;
}

void omo_bench_draw_steps(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double y = omo_bench_head(
        s, cairo, omo_word("Bench check: the steps"),
        omo_word(
            "An hour for two. No person is measured. The stickers are those of \"omogon "
            "stickers\"."));
    y = draw_list(s, cairo, y, omo_word("Build"), build_steps, G_N_ELEMENTS(build_steps),
                  true);
    y = draw_list(s, cairo, y, omo_word("Film"), film_steps, G_N_ELEMENTS(film_steps),
                  true);
    draw_list(s, cairo, y, omo_word("Compare"), compare_steps,
              G_N_ELEMENTS(compare_steps), false);
}

/* ---- the form ---- */

#define COLUMNS 8
static const double column_mm[COLUMNS] = {17, 17, 46, 20, 20, 20, 20, 22};
static const double row_mm = 9.2, first_row_mm = 62;

static double column_left_mm(const struct omo_sheet_settings *s, int column)
{
    double width, height, all = 0, before = 0;
    omo_sheet_page_size(s, &width, &height);
    for (int i = 0; i < COLUMNS; i++) {
        all += column_mm[i];
        before += i < column ? column_mm[i] : 0;
    }
    return (width / omo_page_mm(1) - all) / 2 + before;
}

static void cell(const struct omo_sheet_settings *s, cairo_t *cairo, int column,
                 double y_mm, double size, const char *text)
{
    omo_page_text(cairo,
                  &(struct omo_page_text){.x = omo_page_mm(column_left_mm(s, column) + 1),
                                          .y = omo_page_mm(y_mm + 1.4),
                                          .width = omo_page_mm(column_mm[column] - 1.5),
                                          .size = size},
                  text);
}

static void draw_grid(const struct omo_sheet_settings *s, cairo_t *cairo, double from_mm,
                      int rows)
{
    double left = omo_page_mm(column_left_mm(s, 0)), top = omo_page_mm(from_mm);
    double right = omo_page_mm(column_left_mm(s, COLUMNS)), tall = omo_page_mm(row_mm);
    cairo_set_source_rgb(cairo, 0.4, 0.4, 0.4);
    cairo_set_line_width(cairo, omo_page_mm(0.2));
    for (int i = 0; i <= rows; i++) {
        cairo_move_to(cairo, left, top + i * tall);
        cairo_line_to(cairo, right, top + i * tall);
    }
    for (int i = 0; i <= COLUMNS; i++) {
        cairo_move_to(cairo, omo_page_mm(column_left_mm(s, i)), top);
        cairo_line_to(cairo, omo_page_mm(column_left_mm(s, i)), top + rows * tall);
    }
    cairo_stroke(cairo);
}

static void draw_rows(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    const char *const headings[COLUMNS] = {
        omo_word_in("column", "turn"),      omo_word_in("column", "set"),
        omo_word_in("column", "clip"),      omo_word_in("column", "picture"),
        omo_word_in("column", "expected"),  omo_word_in("column", "off"),
        omo_word_in("column", "corrected"), omo_word_in("column", "off"),
    };
    for (int i = 0; i < COLUMNS; i++)
        cell(s, cairo, i, first_row_mm, 8.5, headings[i]);
    for (int i = 0; i < OMO_BENCH_YAWS * OMO_BENCH_SETS; i++) {
        double yaw_deg = omo_bench_yaw_deg[i / OMO_BENCH_SETS];
        double set_deg = omo_bench_set_deg[i % OMO_BENCH_SETS];
        double y_mm = first_row_mm + (i + 1) * row_mm;
        char text[32];
        omo_number_text(yaw_deg, 0, text, sizeof text);
        cell(s, cairo, 0, y_mm, 11, text);
        omo_number_text(set_deg, 0, text, sizeof text);
        cell(s, cairo, 1, y_mm, 11, text);
        omo_number_text(omo_projected_angle_deg(set_deg, yaw_deg), 1, text, sizeof text);
        cell(s, cairo, 4, y_mm, 11, text);
    }
    draw_grid(s, cairo, first_row_mm, 1 + OMO_BENCH_YAWS * OMO_BENCH_SETS);
}

void omo_bench_draw_form(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double width, height;
    omo_sheet_page_size(s, &width, &height);
    omo_bench_head(s, cairo, omo_word("Bench check: the form"),
                   omo_word("Degrees. Set: read at the window. Picture: angle_image_deg "
                            "at the hold. Corrected: \"held 1 s\". Off: read minus "
                            "expected, and read minus set."));
    struct omo_page_text how = {.x = omo_page_mm(left_mm),
                                .y = omo_page_mm(32),
                                .size = 10};
    how.y += omo_page_text(cairo, &how,
                           omo_word("Date: ____________   Camera and picture size: "
                                    "______________________________")) +
             6;
    omo_page_text(cairo, &how,
                  omo_word("Distance: ________ m   Height of the pin: ________ m   "
                           "Lens profile: ________________"));
    draw_rows(s, cairo);
    how.y =
        omo_page_mm(first_row_mm + (2 + OMO_BENCH_YAWS * OMO_BENCH_SETS) * row_mm - 3);
    for (int i = 0; i < OMO_BENCH_YAWS; i++) {
        char line[200];
        snprintf(line, sizeof line,
                 omo_word("Turned by %.0f°: picture off by RMS ______ , at most ______ ; "
                          "corrected RMS ______ , at most ______"),
                 omo_bench_yaw_deg[i]);
        how.y += omo_page_text(cairo, &how, line) + 8;
    }
}
