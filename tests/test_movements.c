/* The tables of movements and allowances: what is in them, and every mistake's sentence.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "motion/movements.h"
#include "omogon/log.h"

static char said[2048];
static int sentences;

static void keep(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    sentences++;
    snprintf(said, sizeof said, "%s", text);
}

static void listen(void)
{
    said[0] = '\0';
    sentences = 0;
    omo_log_set_handler(keep, NULL);
}

static void stop_listening(void)
{
    omo_log_set_handler(NULL, NULL);
}

/* ---- the built-in table ---- */

static const struct {
    const char *name;
    enum omo_geometry geometry;
    enum omo_view view;
    double sign, wrap_low_deg;
} built_in[] = {
    /* Front view from the front: a right arm is at picture left and abducts from down to
     * left, clockwise. Side view: a right side faces picture right and flexes from down
     * to right, counter-clockwise. */
    {"flexion", OMO_GEOMETRY_ELEVATION, OMO_VIEW_SIDE, -1, -90},
    {"extension", OMO_GEOMETRY_ELEVATION, OMO_VIEW_SIDE, 1, -90},
    {"abduction", OMO_GEOMETRY_ELEVATION, OMO_VIEW_FRONT, 1, -90},
    {"adduction", OMO_GEOMETRY_ELEVATION, OMO_VIEW_FRONT, -1, -90},
    {"scaption", OMO_GEOMETRY_ELEVATION, OMO_VIEW_FRONT, 1, -90},
    {"external-rotation", OMO_GEOMETRY_ROTATION, OMO_VIEW_ALONG_ARM, -1, -180},
    {"internal-rotation", OMO_GEOMETRY_ROTATION, OMO_VIEW_ALONG_ARM, 1, -180},
    /* From in front a forearm goes out as a raised arm does. */
    {"external-rotation/front", OMO_GEOMETRY_FORESHORTENED, OMO_VIEW_FRONT, 1, -180},
    {"pendulum", OMO_GEOMETRY_PENDULUM, OMO_VIEW_SIDE, -1, -180},
};

START_TEST(the_built_in_table_has_every_movement)
{
    struct omo_movement_table *table = NULL;
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    ck_assert_int_eq(omo_movement_count(table), sizeof built_in / sizeof built_in[0]);
    for (int i = 0; i < omo_movement_count(table); i++) {
        const struct omo_movement *m = omo_movement_find(table, built_in[i].name);
        ck_assert_ptr_nonnull(m);
        ck_assert_ptr_eq(m, omo_movement_at(table, i));
        ck_assert_int_eq(m->geometry, built_in[i].geometry);
        ck_assert_int_eq(m->view, built_in[i].view);
        ck_assert_double_eq(m->sign, built_in[i].sign);
        ck_assert_double_eq(m->wrap_low_deg, built_in[i].wrap_low_deg);
        bool rotation = m->geometry == OMO_GEOMETRY_ROTATION;
        bool front = m->geometry == OMO_GEOMETRY_FORESHORTENED;
        /* Where a frozen shoulder can be held at all: on the back, the arm on a towel. */
        ck_assert_int_eq(m->position_default, rotation ? OMO_SUPINE : OMO_STANDING);
        ck_assert(m->position_allowed[OMO_STANDING]);
        const unsigned shoulder = 1u << OMO_SHOULDER, elbow = 1u << OMO_ELBOW,
                       wrist = 1u << OMO_WRIST;
        ck_assert_uint_eq(m->needed, rotation ? elbow | wrist
                                     : front  ? shoulder | elbow | wrist
                                              : shoulder | elbow);
        ck_assert_int_eq(strcspn(m->key, "/"), strlen(m->name));
        ck_assert_uint_gt(strlen(m->caution), 20);
        ck_assert_double_gt(m->allowances.trunk_none_deg, m->allowances.trunk_hip_deg);
    }
    const struct omo_movement *m = omo_movement_find(table, "external-rotation");
    ck_assert_ptr_eq(omo_movement_seen_from(table, m, OMO_VIEW_FRONT),
                     omo_movement_find(table, "external-rotation/front"));
    ck_assert_ptr_null(omo_movement_seen_from(table, m, OMO_VIEW_SIDE));
    ck_assert_str_eq(omo_movement_find(table, "external-rotation/front")->name,
                     "external-rotation");
    ck_assert_ptr_null(omo_movement_find(table, "flexions"));
    ck_assert_ptr_null(omo_movement_at(table, -1));
    ck_assert_ptr_null(omo_movement_at(table, omo_movement_count(table)));
    omo_movement_table_destroy(table);
    omo_movement_table_destroy(NULL);
    ck_assert_int_eq(sentences, 0);
}
END_TEST

START_TEST(a_table_that_is_missing_or_a_folder_is_said_once)
{
    struct omo_movement_table *table = NULL;
    ck_assert_int_ne(omo_movement_table_load("no-such-table.ini", &table), OMO_OK);
    ck_assert_int_eq(sentences, 1);
    ck_assert_ptr_nonnull(strstr(said, "no-such-table.ini"));
    ck_assert_int_ne(omo_movement_table_load("/", &table), OMO_OK);
    ck_assert_int_eq(sentences, 2);
    ck_assert_ptr_null(table);
}
END_TEST

/* ---- mistakes ---- */

static const char good_table[] = "# a table\n"          /* 1 */
                                 "[lift]\n"             /* 2 */
                                 "plane=sagittal\n"     /* 3 */
                                 "geometry=elevation\n" /* 4 */
                                 "view=side\n"          /* 5 */
                                 "positions=standing;prone\n"
                                 "position=standing\n"     /* 7 */
                                 "needed=shoulder;elbow\n" /* 8 */
                                 "positive=clockwise\n"    /* 9 */
                                 "wrap_low_deg=-90\n"      /* 10 */
                                 "rest_below_deg=30\n"     /* 11 */
                                 "axis=somewhere\n"        /* 12 */
                                 "zero=down\n"             /* 13 */
                                 "caution=none\n";         /* 14 */

/** good_table with `from` replaced by `to`. */
static void edited_table(const char *from, const char *to, char *out, size_t size)
{
    const char *at = strstr(good_table, from);
    ck_assert_ptr_nonnull(at);
    snprintf(out, size, "%.*s%s%s", (int)(at - good_table), good_table, to,
             at + strlen(from));
}

static enum omo_status parse(const char *text, struct omo_movement_table **table)
{
    struct omo_allowances allowances = {.plane_deg = 0.5};
    return omo_movement_table_parse(text, strlen(text), "my.ini", &allowances, table);
}

static const struct {
    const char *from, *to, *sentence;
} mistakes[] = {
    {"view=side", "view=sde",
     "my.ini, line 5: [lift] view: \"sde\" is not one of front, side, along-arm."},
    {"view=side\n", "", "my.ini, line 2: [lift]: \"view\" is missing."},
    {"view=side", "vieuw=side", "my.ini, line 5: [lift] vieuw: this key is not known."},
    {"geometry=elevation", "geometry=",
     "line 4: [lift] geometry: \"\" is not one of elevation, rotation, "
     "foreshortened-rotation, pendulum."},
    {"standing;prone", "standing;prne",
     "line 6: [lift] positions: \"prne\" is not one of standing, seated, supine, "
     "side-lying, prone."},
    {"standing;prone", ";", "positions"},
    {"standing;prone", "", "line 6: [lift] positions: names nothing."},
    {"position=standing", "position=seated",
     "line 7: [lift] position: \"seated\" is not among positions."},
    {"shoulder;elbow", "shoulder",
     "line 8: [lift] needed: must name shoulder and elbow for this geometry."},
    {"elevation", "rotation",
     "line 8: [lift] needed: must name elbow and wrist for this geometry."},
    {"=clockwise", "=left",
     "line 9: [lift] positive: \"left\" is not one of counter-clockwise, clockwise."},
    {"-90", "-9O", "line 10: [lift] wrap_low_deg: \"-9O\" is not a number."},
    {"-90", "-9,5", "line 10: [lift] wrap_low_deg: \"-9,5\" is not a number."},
    {"-90", "90", "line 10: [lift] wrap_low_deg: 90 is not between -360 and 0."},
    {"=30", "=nan", "line 11: [lift] rest_below_deg: \"nan\" is not a number."},
    {"=30", "=0", "line 11: [lift] rest_below_deg: 0 is not between 1 and 90."},
    {"axis=somewhere", "axis=", "line 12: [lift] axis: is empty."},
    {"plane=sagittal", "plane=a plane with far too long a name",
     "line 3: [lift] plane: is longer than 23 bytes."},
    {"[lift]", "[Lift up]", "line 2: [Lift up]: a movement's name has small letters"},
    {"[lift]", "[a-name-that-is-much-too-long-for-a-file]", "at most 23"},
    {"[lift]", "[lift/front]",
     "my.ini, line 5: [lift/front] view: is not what the group's name says, \"front\"."},
    {"geometry=elevation", "geometry=foreshortened-rotation",
     "my.ini, line 8: [lift] needed: must name shoulder, elbow and wrist for this "
     "geometry."},
    {"zero=down", "plane=frontal", "my.ini, line 13: [lift] plane is there twice."},
    {"zero=down", "[lift]", "my.ini, line 13: [lift] is there twice."},
    {"zero=down", "zero", "my.ini cannot be understood"},
    {"# a table", "lost=1", "my.ini cannot be understood"},
    {"zero=down", "zero=\xff\xfe", "line 13: [lift] zero: cannot be read"},
    {good_table, "", "my.ini has 0 movements; a table has 1 to 64."},
};

START_TEST(every_mistake_has_its_sentence_with_place_and_remedy)
{
    char text[2048];
    struct omo_movement_table *table = NULL;
    edited_table(mistakes[_i].from, mistakes[_i].to, text, sizeof text);
    ck_assert_int_eq(parse(text, &table), OMO_ERR_SETTINGS);
    ck_assert_int_eq(sentences, 1);
    ck_assert_msg(strstr(said, mistakes[_i].sentence) != NULL,
                  "said \"%s\", wanted \"%s\"", said, mistakes[_i].sentence);
    ck_assert_ptr_null(table);
}
END_TEST

START_TEST(a_good_table_is_read_with_blanks_and_line_ends_of_any_kind)
{
    static const struct {
        const char *from, *to;
    } harmless[] = {
        {"view=side", "view = side  "},
        {"needed=shoulder;elbow", "needed= shoulder; elbow ;"},
        {"view=side\n", "view=side\r\n"},
        {"-90", "-9.0e1"},
    };
    for (size_t i = 0; i < sizeof harmless / sizeof harmless[0]; i++) {
        char text[2048];
        struct omo_movement_table *table = NULL;
        edited_table(harmless[i].from, harmless[i].to, text, sizeof text);
        ck_assert_msg(parse(text, &table) == OMO_OK, "%s: %s", harmless[i].to, said);
        const struct omo_movement *m = omo_movement_at(table, 0);
        ck_assert_str_eq(m->name, "lift");
        ck_assert_int_eq(m->view, OMO_VIEW_SIDE);
        ck_assert_uint_eq(m->needed, 1u << OMO_SHOULDER | 1u << OMO_ELBOW);
        ck_assert(m->position_allowed[OMO_PRONE] && !m->position_allowed[OMO_SEATED]);
        ck_assert_double_eq(m->wrap_low_deg, -90);
        ck_assert_double_eq(m->allowances.plane_deg, 0.5);
        omo_movement_table_destroy(table);
    }
}
END_TEST

START_TEST(bytes_that_are_no_text_are_refused)
{
    struct omo_allowances allowances = {0};
    struct omo_movement_table *table = NULL;
    static const char bytes[] = "[lift]\n\0view=side\n";
    ck_assert_int_eq(omo_movement_table_parse(bytes, sizeof bytes - 1, "my.ini",
                                              &allowances, &table),
                     OMO_ERR_SETTINGS);
    ck_assert_str_eq(said, "my.ini is not a text file.");
    ck_assert_int_eq(omo_movement_table_parse(NULL, 0, "my.ini", &allowances, &table),
                     OMO_ERR_SETTINGS);
    ck_assert_int_eq(sentences, 2);
}
END_TEST

START_TEST(more_movements_than_the_table_holds_are_refused)
{
    char text[4096] = "";
    struct omo_movement_table *table = NULL;
    for (int i = 0; i < 65; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text), "[m%c%c]\n",
                 'a' + i / 26, 'a' + i % 26);
    ck_assert_int_eq(parse(text, &table), OMO_ERR_SETTINGS);
    ck_assert_str_eq(said, "my.ini has 65 movements; a table has 1 to 64.");
}
END_TEST

START_TEST(allowances_name_their_mistakes_too)
{
    struct omo_allowances a = {.plane_deg = 9};
    const char *missing = "[shoulder-marker]\nmm=10\n";
    ck_assert_int_eq(omo_allowances_parse(missing, strlen(missing), "a.ini", &a),
                     OMO_ERR_SETTINGS);
    ck_assert_str_eq(said, "a.ini, line 1: [shoulder-marker]: \"source\" is missing.");
    const char *large = "[shoulder-marker]\nmm=1500\nsource=me\n";
    ck_assert_int_eq(omo_allowances_parse(large, strlen(large), "a.ini", &a),
                     OMO_ERR_SETTINGS);
    ck_assert_str_eq(
        said, "a.ini, line 2: [shoulder-marker] mm: 1500 is not between 0 and 200.");
    ck_assert_double_eq(a.plane_deg, 9);
}
END_TEST

/* ---- words ---- */

START_TEST(quality_words_join_by_plus_and_nothing_is_ok)
{
    char text[256];
    omo_quality_text(0, text, sizeof text);
    ck_assert_str_eq(text, "ok");
    omo_quality_text(OMO_QUALITY_NO_ELBOW | OMO_QUALITY_TRUNK_HELD, text, sizeof text);
    ck_assert_str_eq(text, "no-elbow+trunk-held");
    omo_quality_text(~0u, text, sizeof text);
    ck_assert_uint_lt(strlen(text), sizeof text - 1);
    ck_assert_ptr_nonnull(strstr(text, "camera-moved"));
    char small[12];
    omo_quality_text(~0u, small, sizeof small);
    ck_assert_uint_eq(strlen(small), sizeof small - 1);
}
END_TEST

START_TEST(every_quality_bit_has_a_word_and_a_meaning)
{
    const char *meaning = NULL;
    ck_assert_str_eq(omo_quality_word(0, &meaning), "ok");
    for (int bit = 0; bit < 16; bit++) {
        char text[160];
        omo_quality_text(1u << bit, text, sizeof text);
        const char *word = omo_quality_word(bit + 1, &meaning);
        ck_assert_str_eq(word, text);
        ck_assert_uint_gt(strlen(meaning), 10);
    }
    ck_assert_ptr_null(omo_quality_word(17, &meaning));
    ck_assert_ptr_null(omo_quality_word(-1, NULL));
}
END_TEST

START_TEST(references_have_their_names)
{
    ck_assert_str_eq(omo_reference_name(OMO_REFERENCE_NONE), "none");
    ck_assert_str_eq(omo_reference_name(OMO_REFERENCE_SHIFT), "shift");
    ck_assert_str_eq(omo_reference_name(OMO_REFERENCE_HIP), "hip");
    ck_assert_str_eq(omo_reference_name(OMO_REFERENCE_CHEST_HIP), "chest-hip");
}
END_TEST

START_TEST(body_names_go_both_ways)
{
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        ck_assert_int_eq(omo_role_from_name(omo_role_name((enum omo_role)role)), role);
    for (int p = 0; p < OMO_POSITION_COUNT; p++)
        ck_assert_int_eq(omo_position_from_name(omo_position_name((enum omo_position)p)),
                         p);
    ck_assert_str_eq(omo_position_name(OMO_SIDE_LYING), "side-lying");
    ck_assert_int_eq(omo_role_from_name("knee"), OMO_ROLE_COUNT);
    ck_assert_int_eq(omo_role_from_name(NULL), OMO_ROLE_COUNT);
    ck_assert_int_eq(omo_position_from_name(""), OMO_POSITION_COUNT);
    ck_assert_ptr_null(omo_role_name(OMO_ROLE_COUNT));
    ck_assert_ptr_null(omo_position_name(OMO_POSITION_COUNT));
    ck_assert_str_eq(omo_side_name(OMO_LEFT), "left");
    ck_assert_str_eq(omo_side_name(OMO_RIGHT), "right");
    ck_assert_str_eq(omo_view_name(OMO_VIEW_FRONT), "front");
    ck_assert_str_eq(omo_view_name(OMO_VIEW_SIDE), "side");
    ck_assert_str_eq(omo_view_name(OMO_VIEW_ALONG_ARM), "along-arm");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("movements");
    TCase *tc = tcase_create("tables");
    tcase_add_checked_fixture(tc, listen, stop_listening);
    tcase_add_test(tc, the_built_in_table_has_every_movement);
    tcase_add_test(tc, a_table_that_is_missing_or_a_folder_is_said_once);
    tcase_add_loop_test(tc, every_mistake_has_its_sentence_with_place_and_remedy, 0,
                        sizeof mistakes / sizeof mistakes[0]);
    tcase_add_test(tc, a_good_table_is_read_with_blanks_and_line_ends_of_any_kind);
    tcase_add_test(tc, bytes_that_are_no_text_are_refused);
    tcase_add_test(tc, more_movements_than_the_table_holds_are_refused);
    tcase_add_test(tc, allowances_name_their_mistakes_too);
    suite_add_tcase(suite, tc);
    tc = tcase_create("words");
    tcase_add_test(tc, quality_words_join_by_plus_and_nothing_is_ok);
    tcase_add_test(tc, every_quality_bit_has_a_word_and_a_meaning);
    tcase_add_test(tc, references_have_their_names);
    tcase_add_test(tc, body_names_go_both_ways);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
