/* Everything on these pages that is measured with is drawn in true size. */
#include "show/paper/bench.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>

#include "omogon/words.h"
#include "show/paper/page.h"

const double omo_bench_set_deg[OMO_BENCH_SETS] = {30, 60, 90, 120, 150};
const double omo_bench_yaw_deg[OMO_BENCH_YAWS] = {0, 15, 30};

static const double left_mm = 14, foot_mm = 21;
/* Of the protractor: its edge, and how far in the ticks and the numbers reach. */
static const double edge_mm = 95, tick_mm = 4, number_at_mm = 80;
/* Of the arm's end: half its width, the window through which the ticks are read. */
static const double arm_half_mm = 25, window_half_mm = 10, window_from_mm = 72,
                    window_to_mm = 100, arm_shown_mm = 116;
static const double turn_reach_mm = 76;

static double page_width_mm(const struct omo_sheet_settings *s)
{
    double width, height;
    omo_sheet_page_size(s, &width, &height);
    return width / omo_page_mm(1);
}

static void line_mm(cairo_t *cairo, double x1, double y1, double x2, double y2,
                    double width)
{
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_width(cairo, omo_page_mm(width));
    cairo_move_to(cairo, omo_page_mm(x1), omo_page_mm(y1));
    cairo_line_to(cairo, omo_page_mm(x2), omo_page_mm(y2));
    cairo_stroke(cairo);
}

static void words_mm(cairo_t *cairo, double x, double y, double width, const char *text)
{
    omo_page_text(cairo,
                  &(struct omo_page_text){.x = omo_page_mm(x),
                                          .y = omo_page_mm(y),
                                          .width = omo_page_mm(width),
                                          .size = 9},
                  text);
}

/** A cross in a small ring: where the pin goes through. */
static void draw_hinge(cairo_t *cairo, double x, double y)
{
    line_mm(cairo, x - 4, y, x + 4, y, 0.2);
    line_mm(cairo, x, y - 4, x, y + 4, 0.2);
    cairo_arc(cairo, omo_page_mm(x), omo_page_mm(y), omo_page_mm(1.5), 0, 2 * G_PI);
    cairo_stroke(cairo);
}

double omo_bench_head(const struct omo_sheet_settings *s, cairo_t *cairo,
                      const char *title, const char *advice)
{
    double left = omo_page_mm(left_mm), y = omo_page_mm(9);
    double wide = omo_page_mm(page_width_mm(s) - 2 * left_mm);
    y += omo_page_text(cairo,
                       &(struct omo_page_text){
                           .x = left, .y = y, .width = wide, .size = 14, .bold = true},
                       title) +
         3;
    y += omo_page_text(
        cairo, &(struct omo_page_text){.x = left, .y = y, .width = wide, .size = 9.5},
        advice);
    return y;
}

static void draw_ruler(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double width, height, left = omo_page_mm(left_mm);
    omo_sheet_page_size(s, &width, &height);
    omo_page_ruler(cairo, left, height - omo_page_mm(foot_mm), width - 2 * left);
}

/* ---- page 1: the protractor ---- */

/** A number that stands upright as seen from the hinge's side. */
static void tick_number(cairo_t *cairo, double x, double y, int degrees)
{
    char text[16];
    snprintf(text, sizeof text, "%d", degrees);
    omo_page_letter(cairo, omo_page_mm(x), omo_page_mm(y), omo_page_mm(3.2), 0, text);
}

/** Ticks of one degree; 0 hangs down, the arm rises to the side the person faces. */
static void draw_protractor(cairo_t *cairo, double x, double y, double facing)
{
    for (int degrees = 0; degrees <= 180; degrees++) {
        double turn = degrees * G_PI / 180, across = facing * sin(turn), up = -cos(turn);
        double length = degrees % 10 == 0  ? 2 * tick_mm
                        : degrees % 5 == 0 ? 1.5 * tick_mm
                                           : tick_mm;
        double from = edge_mm - length;
        line_mm(cairo, x + from * across, y - from * up, x + edge_mm * across,
                y - edge_mm * up, degrees % 5 == 0 ? 0.3 : 0.15);
        /* The first and the last would stand on the trunk's line. */
        double beside = degrees % 180 == 0 ? 5 * facing : number_at_mm * across;
        if (degrees % 10 == 0)
            tick_number(cairo, x + beside, y - number_at_mm * up, degrees);
    }
    cairo_new_path(cairo);
    double first = facing > 0 ? -G_PI / 2 : G_PI / 2;
    cairo_arc(cairo, omo_page_mm(x), omo_page_mm(y), omo_page_mm(edge_mm), first,
              first + G_PI);
    cairo_set_line_width(cairo, omo_page_mm(0.3));
    cairo_stroke(cairo);
}

static void draw_first(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double facing = s->side == OMO_RIGHT ? 1 : -1, middle = page_width_mm(s) / 2;
    double x = middle - 45 * facing, y = 138;
    omo_bench_head(s, cairo, omo_word("Bench check: the protractor"),
                   omo_word("Known angles instead of a person, to see what camera and "
                            "program make of them. Glue this page to the board that "
                            "stands for the trunk, the thick line upright. The pin of "
                            "the hinge goes through the cross. Ticks are one degree "
                            "apart."));
    draw_protractor(cairo, x, y, facing);
    /* The trunk's line, on which chest and hip are marked further down. */
    line_mm(cairo, x, y - edge_mm - 4, x, y + edge_mm + 20, 0.6);
    draw_hinge(cairo, x, y);
    double beside = facing > 0 ? x + 6 : left_mm;
    words_mm(cairo, beside, y + edge_mm + 5, facing > 0 ? 100 : x - left_mm - 6,
             omo_word("Draw this line on down the board: chest 170 mm and hip 490 mm "
                      "below the cross."));
    draw_ruler(s, cairo);
}

/* ---- page 2: the arm's end and the turn lines ---- */

static void draw_arm(cairo_t *cairo, double x, double y)
{
    const double dash[] = {omo_page_mm(1.6), omo_page_mm(1.2)};
    double end = y + arm_shown_mm;
    line_mm(cairo, x, y + 8, x, y + window_from_mm, 0.3);
    line_mm(cairo, x, y + window_to_mm, x, end, 0.3);
    draw_hinge(cairo, x, y);
    cairo_rectangle(cairo, omo_page_mm(x - window_half_mm),
                    omo_page_mm(y + window_from_mm), omo_page_mm(2 * window_half_mm),
                    omo_page_mm(window_to_mm - window_from_mm));
    cairo_set_line_width(cairo, omo_page_mm(0.3));
    cairo_stroke(cairo);
    cairo_save(cairo);
    cairo_set_dash(cairo, dash, 2, 0);
    cairo_arc(cairo, omo_page_mm(x), omo_page_mm(y), omo_page_mm(arm_half_mm), G_PI, 0);
    cairo_line_to(cairo, omo_page_mm(x + arm_half_mm), omo_page_mm(end));
    cairo_move_to(cairo, omo_page_mm(x - arm_half_mm), omo_page_mm(y));
    cairo_line_to(cairo, omo_page_mm(x - arm_half_mm), omo_page_mm(end));
    cairo_set_line_width(cairo, omo_page_mm(0.2));
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

/** Lines through one point, turned to either side. */
static void draw_turns(cairo_t *cairo, double x, double y)
{
    for (int i = 0; i < OMO_BENCH_YAWS; i++) {
        for (int side = -1; side <= 1; side += 2) {
            double turn = side * omo_bench_yaw_deg[i] * G_PI / 180;
            double across = turn_reach_mm * cos(turn), down = turn_reach_mm * sin(turn);
            line_mm(cairo, x - across, y - down, x + across, y + down,
                    i == 0 ? 0.5 : 0.3);
            if (side < 0 && i == 0)
                continue;
            char text[16];
            snprintf(text, sizeof text, "%.0f°", omo_bench_yaw_deg[i]);
            double off = 1 + 6 / turn_reach_mm;
            omo_page_letter(cairo, omo_page_mm(x + off * across),
                            omo_page_mm(y + off * down), omo_page_mm(4), 0, text);
        }
    }
    draw_hinge(cairo, x, y);
}

static void draw_second(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double middle = page_width_mm(s) / 2, arm_x = left_mm + arm_half_mm + 2, arm_y = 50;
    double beside = arm_x + arm_half_mm + 8;
    double wide = page_width_mm(s) - beside - left_mm;
    omo_bench_head(s, cairo, omo_word("Bench check: the arm's end, and lines to turn by"),
                   omo_word("Cut out the arm's end along the dashed lines."));
    draw_arm(cairo, arm_x, arm_y);
    words_mm(cairo, beside, arm_y, wide,
             omo_word("The arm: glue this to the end of a stiff strip 50 mm wide and "
                      "620 mm long. The pin goes through the cross."));
    words_mm(cairo, beside, arm_y + 24, wide,
             omo_word("Draw the middle line on down the strip with a long ruler: elbow "
                      "310 mm and wrist 560 mm from the cross."));
    words_mm(cairo, beside, arm_y + 56, wide,
             omo_word("Cut out the window. An angle is set when its tick stands in line "
                      "with the middle line above and below."));
    double y = arm_y + arm_shown_mm + 42;
    words_mm(
        cairo, beside, arm_y + 98, wide,
        omo_word(
            "Below: lay this half under the board, its cross below the pin, the thick "
            "line square to the camera's direction, and set the board's lower "
            "edge on the line of the turn."));
    draw_turns(cairo, middle, y);
    draw_ruler(s, cairo);
}

enum omo_status omo_bench_draw(const struct omo_sheet_settings *settings, int page,
                               cairo_t *cairo)
{
    switch (page) {
    case 0:
        draw_first(settings, cairo);
        return OMO_OK;
    case 1:
        draw_second(settings, cairo);
        return OMO_OK;
    case 2:
        omo_bench_draw_steps(settings, cairo);
        return OMO_OK;
    case 3:
        omo_bench_draw_form(settings, cairo);
        return OMO_OK;
    default:
        return OMO_ERR_ARG;
    }
}
