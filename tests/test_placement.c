/* Where the markers go: on the right side of the right body, named without a clash, and
 * in an order a person with one stiff arm can follow. */
#include <check.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#include "draw/placement_parts.h"
#include "omogon/motion.h"
#include "omogon/placement.h"

/** Every picture that can be asked for. */
static const struct picture {
    const char *name;
    enum omo_view view;
    bool from_behind;
    enum omo_side side;
    bool modest;
    bool bands;
    bool acromion;
} pictures[] = {
    {"front right", OMO_VIEW_FRONT, false, OMO_RIGHT, false, false, false},
    {"front left", OMO_VIEW_FRONT, false, OMO_LEFT, false, false, false},
    {"front right modest", OMO_VIEW_FRONT, false, OMO_RIGHT, true, false, false},
    {"front left modest", OMO_VIEW_FRONT, false, OMO_LEFT, true, false, false},
    {"behind right", OMO_VIEW_FRONT, true, OMO_RIGHT, false, false, false},
    {"behind left", OMO_VIEW_FRONT, true, OMO_LEFT, false, false, false},
    {"behind right modest", OMO_VIEW_FRONT, true, OMO_RIGHT, true, false, false},
    {"behind left modest", OMO_VIEW_FRONT, true, OMO_LEFT, true, false, false},
    {"side right", OMO_VIEW_SIDE, false, OMO_RIGHT, false, false, false},
    {"side left", OMO_VIEW_SIDE, false, OMO_LEFT, false, false, false},
    {"side right modest", OMO_VIEW_SIDE, false, OMO_RIGHT, true, false, false},
    {"side left modest", OMO_VIEW_SIDE, false, OMO_LEFT, true, false, false},
    {"along right", OMO_VIEW_ALONG_ARM, false, OMO_RIGHT, false, false, false},
    {"along left", OMO_VIEW_ALONG_ARM, false, OMO_LEFT, false, false, false},
    {"along right modest", OMO_VIEW_ALONG_ARM, false, OMO_RIGHT, true, false, false},
    {"along left modest", OMO_VIEW_ALONG_ARM, false, OMO_LEFT, true, false, false},
    {"front right bands", OMO_VIEW_FRONT, false, OMO_RIGHT, false, true, false},
    {"behind left bands", OMO_VIEW_FRONT, true, OMO_LEFT, true, true, false},
    {"side left bands", OMO_VIEW_SIDE, false, OMO_LEFT, true, true, false},
    {"side right bands", OMO_VIEW_SIDE, false, OMO_RIGHT, false, true, false},
    {"along right bands", OMO_VIEW_ALONG_ARM, false, OMO_RIGHT, false, true, false},
    {"front left acromion", OMO_VIEW_FRONT, false, OMO_LEFT, false, false, true},
    {"behind right acromion", OMO_VIEW_FRONT, true, OMO_RIGHT, true, false, true},
    {"side left acromion", OMO_VIEW_SIDE, false, OMO_LEFT, true, false, true},
    {"side right bands, acromion", OMO_VIEW_SIDE, false, OMO_RIGHT, false, true, true},
    {"front right bands, acromion", OMO_VIEW_FRONT, false, OMO_RIGHT, true, true, true},
    {"along right acromion", OMO_VIEW_ALONG_ARM, false, OMO_RIGHT, false, false, true},
};
#define PICTURES ((int)(sizeof pictures / sizeof pictures[0]))

static const double SIZES[][2] = {{300, 300}, {420, 595}, {640, 720}, {1240, 1748}};
#define SIZE_COUNT (sizeof SIZES / sizeof SIZES[0])

static struct omo_placement_settings settings_of(int i, double width, double height)
{
    struct omo_placement_settings s = {.view = pictures[i].view,
                                       .from_behind = pictures[i].from_behind,
                                       .side = pictures[i].side,
                                       .modest = pictures[i].modest,
                                       .bands = pictures[i].bands,
                                       .acromion = pictures[i].acromion,
                                       .width = width,
                                       .height = height,
                                       .no_bony_names = width < 400};
    return s;
}

static struct omo_placement_map map_of(int i)
{
    struct omo_placement_settings s = settings_of(i, 800, 800);
    struct omo_placement_map map;
    struct omo_figure *figure = NULL;
    ck_assert_int_eq(omo_placement_figure(&s, &figure, &map), OMO_OK);
    omo_figure_destroy(figure);
    return map;
}

/* ---- the right places ---- */

START_TEST(every_marker_a_movement_needs_is_in_its_picture)
{
    struct omo_movement_table *table = NULL;
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    ck_assert_int_gt(omo_movement_count(table), 0);
    for (int m = 0; m < omo_movement_count(table); m++) {
        const struct omo_movement *movement = omo_movement_at(table, m);
        if (movement->view != pictures[_i].view)
            continue;
        struct omo_placement_map map = map_of(_i);
        struct omo_placement_settings s = settings_of(_i, 800, 800);
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            bool needed = movement->needed >> role & 1;
            ck_assert_msg(!needed || map.shown[role], "%s, %s: no %s", pictures[_i].name,
                          movement->name, omo_role_name((enum omo_role)role));
            ck_assert_msg(map.shown[role] ==
                              (omo_placement_place(&s, (enum omo_role)role)[0] != 0),
                          "%s: %s is drawn or told, not both", pictures[_i].name,
                          omo_role_name((enum omo_role)role));
        }
    }
    omo_movement_table_destroy(table);
}
END_TEST

START_TEST(trunk_markers_are_shown_where_the_trunk_is_measured)
{
    struct omo_placement_map map = map_of(_i);
    bool trunk = pictures[_i].view != OMO_VIEW_ALONG_ARM;
    ck_assert_int_eq(map.shown[OMO_HIP], trunk);
    ck_assert_int_eq(map.shown[OMO_CHEST], trunk);
    if (trunk)
        ck_assert_msg(map.marker[OMO_CHEST].y < map.marker[OMO_HIP].y,
                      "%s: the chest is the upper of the two", pictures[_i].name);
}
END_TEST

START_TEST(the_measured_side_lies_where_the_camera_sees_it)
{
    struct omo_placement_map map = map_of(_i);
    bool right = pictures[_i].side == OMO_RIGHT;
    if (pictures[_i].view == OMO_VIEW_FRONT) {
        /* From the front a right arm is at picture left; the chest's marker lies on the
         * middle line. */
        bool at_left = right != pictures[_i].from_behind;
        static const enum omo_role roles[] = {OMO_SHOULDER, OMO_ELBOW, OMO_WRIST,
                                              OMO_HIP};
        for (int k = 0; k < 4; k++)
            ck_assert_msg((map.marker[roles[k]].x < map.marker[OMO_CHEST].x) == at_left,
                          "%s: %s on the wrong side", pictures[_i].name,
                          omo_role_name(roles[k]));
    } else {
        /* A right side faces picture right, and the forearm is held forward. */
        ck_assert_msg((map.marker[OMO_WRIST].x > map.marker[OMO_ELBOW].x) == right,
                      "%s: faces the wrong way", pictures[_i].name);
    }
}
END_TEST

static bool in_outline(const struct omo_curve *outline, int count, struct omo_point p)
{
    for (int i = 0; i < count; i++)
        if (omo_curve_holds(&outline[i], p))
            return true;
    return false;
}

START_TEST(markers_and_bony_points_lie_on_the_body)
{
    static struct omo_curve outline[OMO_BODY_PARTS];
    struct omo_placement_settings s = settings_of(_i, 800, 800);
    struct omo_placement_map map = map_of(_i);
    int count = omo_placement_outline(&s, outline);
    ck_assert_int_ge(count, 3);
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        ck_assert_msg(!map.shown[i] || in_outline(outline, count, map.marker[i]),
                      "%s: %s off the body", pictures[_i].name,
                      omo_role_name((enum omo_role)i));
    for (int i = 0; i < OMO_BONY_COUNT; i++)
        ck_assert_msg(!map.bony_shown[i] || in_outline(outline, count, map.bony[i]),
                      "%s: %s off the body", pictures[_i].name,
                      omo_bony_name((enum omo_bony)i));
    ck_assert(!in_outline(outline, count, (struct omo_point){2, 2}));
}
END_TEST

static double apart(struct omo_point a, struct omo_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

START_TEST(limbs_have_the_lengths_of_the_body_table)
{
    struct omo_layout layout;
    ck_assert_int_eq(omo_layout_load(NULL, &layout), OMO_OK);
    struct omo_placement_map map = map_of(_i);
    /* Markers lie on the skin near the joints: 0.02 of stature are 3.4 cm. */
    const double tolerance = 0.02;
    ck_assert_double_eq_tol(apart(map.marker[OMO_ELBOW], map.marker[OMO_WRIST]) /
                                map.px_per_stature,
                            layout.forearm, tolerance);
    if (pictures[_i].bands)
        return;
    if (map.shown[OMO_SHOULDER] && map.bony_shown[OMO_BONY_ACROMION]) {
        ck_assert_double_eq_tol(apart(map.bony[OMO_BONY_ACROMION],
                                      map.marker[OMO_ELBOW]) /
                                    map.px_per_stature,
                                layout.upper_arm, tolerance);
        /* Two finger-widths: 3 to 4 cm of 1.7 m. */
        double below = (map.marker[OMO_SHOULDER].y - map.bony[OMO_BONY_ACROMION].y) /
                       map.px_per_stature * 1700;
        ck_assert_msg(below > 29 && below < 41, "%s: %.0f mm below the bony edge",
                      pictures[_i].name, below);
    }
}
END_TEST

START_TEST(the_elbow_marker_is_two_centimetres_above_the_crease_in_front)
{
    struct omo_layout layout;
    ck_assert_int_eq(omo_layout_load(NULL, &layout), OMO_OK);
    struct omo_placement_map map = map_of(0);
    double along = apart(map.bony[OMO_BONY_ACROMION], map.marker[OMO_ELBOW]);
    double joint = layout.upper_arm * map.px_per_stature;
    ck_assert_double_eq_tol((joint - along) / map.px_per_stature * 1700, 20, 3);
}
END_TEST

/* 20 to 70 mm of someone 1.7 m tall, as the tracker expects it, and the two stickers
 * (drawn larger than life) side by side or nearly so. */
START_TEST(the_acromion_is_shown_where_it_is_worn_above_the_shoulder)
{
    struct omo_placement_map map = map_of(_i);
    bool worn = pictures[_i].acromion && pictures[_i].view != OMO_VIEW_ALONG_ARM;
    ck_assert_int_eq(map.shown[OMO_ACROMION], worn);
    if (!worn || pictures[_i].bands)
        return;
    double above = (map.marker[OMO_SHOULDER].y - map.marker[OMO_ACROMION].y) /
                   map.px_per_stature * 1700;
    ck_assert_msg(above > 20 && above < 70, "%s: %.0f mm above", pictures[_i].name,
                  above);
    ck_assert_double_gt(apart(map.marker[OMO_SHOULDER], map.marker[OMO_ACROMION]),
                        1.9 * map.ring_radius);
}
END_TEST

/* ---- readable ---- */

struct box {
    double left, top, right, bottom;
    const char *text;
};

/** Ink and line of a text as pango sets it. */
static struct box box_of(cairo_t *cairo, const struct omo_mark *mark)
{
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    PangoFontDescription *font =
        pango_font_description_from_string("DejaVu Sans, sans-serif");
    pango_font_description_set_absolute_size(font, mark->size * PANGO_SCALE);
    if (mark->bold)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    pango_layout_set_font_description(layout, font);
    pango_layout_set_text(layout, mark->text, -1);
    PangoRectangle ink, line;
    pango_layout_get_extents(layout, &ink, &line);
    double width = (double)line.width / PANGO_SCALE;
    double base = (double)pango_layout_get_baseline(layout) / PANGO_SCALE;
    double left = mark->at.x - (mark->anchor == OMO_ANCHOR_END      ? width
                                : mark->anchor == OMO_ANCHOR_MIDDLE ? width / 2
                                                                    : 0);
    double top = mark->at.y - base + (double)ink.y / PANGO_SCALE;
    pango_font_description_free(font);
    g_object_unref(layout);
    return (struct box){left, top, left + width, top + (double)ink.height / PANGO_SCALE,
                        mark->text};
}

static bool touch(struct box a, struct box b)
{
    return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

static void check_texts(int picture, double width, double height)
{
    struct omo_placement_settings s = settings_of(picture, width, height);
    struct omo_placement_map map;
    struct omo_figure *figure = NULL;
    ck_assert_int_eq(omo_placement_figure(&s, &figure, &map), OMO_OK);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 8, 8);
    cairo_t *cairo = cairo_create(surface);
    struct box box[40];
    int count = 0;
    for (size_t i = 0; i < omo_figure_count(figure); i++) {
        const struct omo_mark *mark = omo_figure_at(figure, i);
        if (mark->kind != OMO_MARK_TEXT)
            continue;
        ck_assert_int_lt(count, 40);
        struct box b = box_of(cairo, mark);
        ck_assert_msg(b.left >= 0 && b.top >= 0 && b.right <= width && b.bottom <= height,
                      "%s at %.0f: \"%s\" is cut", pictures[picture].name, width, b.text);
        for (int k = 0; k < count; k++)
            ck_assert_msg(!touch(b, box[k]), "%s at %.0f: \"%s\" meets \"%s\"",
                          pictures[picture].name, width, b.text, box[k].text);
        box[count++] = b;
    }
    for (int i = 0; i < OMO_ACROMION; i++) {
        if (!map.shown[i])
            continue;
        struct omo_point p = map.marker[i];
        double r = map.ring_radius;
        struct box ring = {p.x - r, p.y - r, p.x + r, p.y + r, NULL};
        for (int k = 0; k < count; k++)
            ck_assert_msg(strlen(box[k].text) == 1 || !touch(ring, box[k]),
                          "%s at %.0f: \"%s\" covers a sticker", pictures[picture].name,
                          width, box[k].text);
        for (int k = 0; k < i; k++)
            ck_assert_msg(!map.shown[k] || apart(p, map.marker[k]) > 2 * r,
                          "%s at %.0f: %s and %s overlap", pictures[picture].name, width,
                          omo_role_name((enum omo_role)i),
                          omo_role_name((enum omo_role)k));
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    omo_figure_destroy(figure);
}

START_TEST(names_and_stickers_keep_clear_of_one_another)
{
    for (size_t k = 0; k < SIZE_COUNT; k++)
        check_texts(_i, SIZES[k][0], SIZES[k][1]);
}
END_TEST

START_TEST(each_sticker_carries_its_letter)
{
    struct omo_placement_settings s = settings_of(_i, 800, 800);
    struct omo_placement_map map;
    struct omo_figure *figure = NULL;
    ck_assert_int_eq(omo_placement_figure(&s, &figure, &map), OMO_OK);
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        int found = 0;
        for (size_t i = 0; i < omo_figure_count(figure); i++) {
            const struct omo_mark *mark = omo_figure_at(figure, i);
            if (mark->kind == OMO_MARK_TEXT &&
                !strcmp(mark->text, omo_placement_letter((enum omo_role)role)) &&
                apart(mark->at, map.marker[role]) < map.ring_radius)
                found++;
        }
        ck_assert_int_eq(found, map.shown[role]);
    }
    omo_figure_destroy(figure);
}
END_TEST

static bool is_grey(uint32_t colour)
{
    return (colour >> 16 & 0xff) == (colour >> 8 & 0xff) &&
           (colour & 0xff) == (colour >> 8 & 0xff);
}

START_TEST(without_colours_nothing_is_coloured)
{
    struct omo_placement_settings s = settings_of(_i, 800, 800);
    struct omo_figure *figure = NULL;
    ck_assert_int_eq(omo_placement_figure(&s, &figure, NULL), OMO_OK);
    for (size_t i = 0; i < omo_figure_count(figure); i++) {
        const struct omo_mark *mark = omo_figure_at(figure, i);
        ck_assert(is_grey(mark->colour) && is_grey(mark->edge));
    }
    omo_figure_destroy(figure);
}
END_TEST

START_TEST(letters_stand_out_from_the_default_colours)
{
    /* models/markers-default.ini; 4.5:1 is success criterion 1.4.3 of the Web Content
     * Accessibility Guidelines 2.1. */
    static const uint32_t colours[] = {0xff28aa46u, 0xff2d3cc8u, 0xffd71e82u, 0xff14afcdu,
                                       0xff14afcdu};
    struct omo_placement_settings s = settings_of(0, 800, 800);
    struct omo_placement_map map;
    struct omo_figure *figure = NULL;
    memcpy(s.colour, colours, sizeof colours);
    ck_assert_int_eq(omo_placement_figure(&s, &figure, &map), OMO_OK);
    int letters = 0;
    for (size_t i = 0; i < omo_figure_count(figure); i++) {
        const struct omo_mark *mark = omo_figure_at(figure, i);
        for (int role = 0; role < OMO_ACROMION; role++) {
            if (mark->kind != OMO_MARK_TEXT ||
                apart(mark->at, map.marker[role]) > map.ring_radius)
                continue;
            letters++;
            ck_assert_double_ge(omo_contrast_ratio(mark->colour, colours[role]), 4.5);
        }
    }
    ck_assert_int_eq(letters, OMO_ACROMION);
    omo_figure_destroy(figure);
}
END_TEST

START_TEST(an_empty_picture_is_refused)
{
    struct omo_placement_settings s = settings_of(0, 0, 0);
    struct omo_figure *figure = NULL;
    ck_assert_int_eq(omo_placement_figure(&s, &figure, NULL), OMO_ERR_ARG);
    ck_assert_ptr_null(figure);
    s.width = NAN;
    s.height = 300;
    ck_assert_int_eq(omo_placement_figure(&s, &figure, NULL), OMO_ERR_ARG);
}
END_TEST

/* ---- the order ---- */

static int words_in(const char *text)
{
    int count = 0;
    bool inside = false;
    for (; *text; text++) {
        if (*text != ' ' && !inside)
            count++;
        inside = *text != ' ';
    }
    return count;
}

START_TEST(the_stiff_arm_only_rests)
{
    struct omo_placement_settings s = settings_of(_i, 0, 0);
    for (int stiff = 0; stiff <= 1; stiff++) {
        enum omo_side other = s.side == OMO_LEFT ? OMO_RIGHT : OMO_LEFT;
        enum omo_side stiff_side = stiff ? s.side : other;
        struct omo_placement_step step[OMO_PLACEMENT_STEPS];
        int count = omo_placement_steps(&s, stiff, step);
        ck_assert_int_le(count, OMO_PLACEMENT_STEPS);
        for (int i = 0; i < count; i++) {
            ck_assert_msg(step[i].moves != stiff_side, "%s: \"%s\" moves the stiff arm",
                          pictures[_i].name, step[i].words);
            /* The stiff hand may hold a sticker, and then the other arm comes to it and
             * the words say that it rests. */
            if (step[i].hand == stiff_side)
                ck_assert_msg(!stiff && strstr(step[i].words, "rests") &&
                                  (step[i].role == OMO_ELBOW ||
                                   step[i].role == OMO_WRIST),
                              "%s: \"%s\" works with the stiff hand", pictures[_i].name,
                              step[i].words);
        }
    }
}
END_TEST

START_TEST(peeling_comes_first_then_shoulder_elbow_wrist_hip_chest)
{
    struct omo_placement_settings s = settings_of(_i, 0, 0);
    struct omo_placement_map map = map_of(_i);
    for (int stiff = 0; stiff <= 1; stiff++) {
        static const enum omo_role order[] = {OMO_SHOULDER, OMO_ACROMION, OMO_ELBOW,
                                              OMO_WRIST,    OMO_HIP,      OMO_CHEST};
        struct omo_placement_step step[OMO_PLACEMENT_STEPS];
        int count = omo_placement_steps(&s, stiff, step), next = 1;
        ck_assert(!step[0].has_role);
        for (int k = 0; k < OMO_ROLE_COUNT; k++) {
            if (!map.shown[order[k]])
                continue;
            ck_assert_int_lt(next, count);
            ck_assert(step[next].has_role);
            ck_assert_int_eq(step[next].role, order[k]);
            next++;
        }
        ck_assert_int_eq(next, count);
    }
}
END_TEST

START_TEST(a_step_names_its_letter_in_at_most_twenty_words)
{
    struct omo_placement_settings s = settings_of(_i, 0, 0);
    for (int stiff = 0; stiff <= 1; stiff++) {
        struct omo_placement_step step[OMO_PLACEMENT_STEPS];
        int count = omo_placement_steps(&s, stiff, step);
        for (int i = 0; i < count; i++) {
            ck_assert_msg(words_in(step[i].words) <= 20, "\"%s\" has %d words",
                          step[i].words, words_in(step[i].words));
            if (!step[i].has_role)
                continue;
            char letter[8] = " ";
            strcat(letter, omo_placement_letter(step[i].role));
            ck_assert_msg(strstr(step[i].words, letter), "\"%s\" lacks%s", step[i].words,
                          letter);
            bool armpit = pictures[_i].bands && !stiff && step[i].role == OMO_SHOULDER;
            ck_assert_int_eq(step[i].helper, pictures[_i].from_behind || armpit);
        }
    }
}
END_TEST

START_TEST(cautions_name_pain_skin_and_a_practitioner)
{
    static const char *const wanted[] = {"Stop at pain", "plaster allergy",
                                         "not a medical device", "licensed practitioner"};
    for (size_t k = 0; k < sizeof wanted / sizeof wanted[0]; k++) {
        bool found = false;
        for (int i = 0; omo_placement_caution(i); i++)
            found = found || strstr(omo_placement_caution(i), wanted[k]);
        ck_assert_msg(found, "no caution says \"%s\"", wanted[k]);
    }
    ck_assert_ptr_null(omo_placement_caution(-1));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("placement");
    TCase *tests = tcase_create("places");
    tcase_add_loop_test(tests, every_marker_a_movement_needs_is_in_its_picture, 0,
                        PICTURES);
    tcase_add_loop_test(tests, trunk_markers_are_shown_where_the_trunk_is_measured, 0,
                        PICTURES);
    tcase_add_loop_test(tests, the_acromion_is_shown_where_it_is_worn_above_the_shoulder,
                        0, PICTURES);
    tcase_add_loop_test(tests, the_measured_side_lies_where_the_camera_sees_it, 0,
                        PICTURES);
    tcase_add_loop_test(tests, markers_and_bony_points_lie_on_the_body, 0, PICTURES);
    tcase_add_loop_test(tests, limbs_have_the_lengths_of_the_body_table, 0, PICTURES);
    tcase_add_test(tests, the_elbow_marker_is_two_centimetres_above_the_crease_in_front);
    tcase_add_loop_test(tests, names_and_stickers_keep_clear_of_one_another, 0, PICTURES);
    tcase_add_loop_test(tests, each_sticker_carries_its_letter, 0, PICTURES);
    tcase_add_loop_test(tests, without_colours_nothing_is_coloured, 0, PICTURES);
    tcase_add_test(tests, letters_stand_out_from_the_default_colours);
    tcase_add_test(tests, an_empty_picture_is_refused);
    tcase_add_loop_test(tests, the_stiff_arm_only_rests, 0, PICTURES);
    tcase_add_loop_test(tests, peeling_comes_first_then_shoulder_elbow_wrist_hip_chest, 0,
                        PICTURES);
    tcase_add_loop_test(tests, a_step_names_its_letter_in_at_most_twenty_words, 0,
                        PICTURES);
    tcase_add_test(tests, cautions_name_pain_skin_and_a_practitioner);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
