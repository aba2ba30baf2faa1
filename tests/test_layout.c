/* Proportions of a body as a file: read whole or refused with one sentence. */
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>

#include "omogon/layout.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"

static int messages;
static char last[512];

static void note(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    messages++;
    omo_text_copy(last, sizeof last, text);
}

static void listen(void)
{
    messages = 0;
    omo_log_set_handler(note, NULL);
}

START_TEST(the_built_in_body_has_the_published_proportions)
{
    struct omo_layout layout;
    ck_assert_int_eq(omo_layout_load(NULL, &layout), OMO_OK);
    /* Winter, after Drillis and Contini 1966 (from memory) */
    ck_assert_double_eq_tol(layout.upper_arm, 0.186, 1e-12);
    ck_assert_double_eq_tol(layout.forearm, 0.146, 1e-12);
    ck_assert_double_eq_tol(layout.hand, 0.108, 1e-12);
    ck_assert_double_eq_tol(layout.half_shoulder_width, 0.129, 1e-12);
    ck_assert_double_eq_tol(layout.shoulder_height, 0.818, 1e-12);
    ck_assert_double_eq_tol(layout.hip_height, 0.530, 1e-12);
    ck_assert_double_lt(layout.upper_arm_low, layout.upper_arm);
    ck_assert_double_gt(layout.upper_arm_high, layout.upper_arm);
    ck_assert_double_lt(layout.elevation_low_deg, -60);
    ck_assert_double_gt(layout.elevation_high_deg, 180);
}
END_TEST

/** The built-in file with one piece of text replaced. */
static enum omo_status load_changed(const char *from, const char *to,
                                    struct omo_layout *layout)
{
    char path[4096];
    g_autofree char *text = NULL;
    ck_assert_int_eq(omo_models_path("body.ini", path, sizeof path), OMO_OK);
    ck_assert(g_file_get_contents(path, &text, NULL, NULL));
    ck_assert_ptr_nonnull(strstr(text, from));
    char **parts = g_strsplit(text, from, 2);
    g_autofree char *changed = g_strconcat(parts[0], to, parts[1], NULL);
    g_strfreev(parts);
    g_autofree char *folder = g_dir_make_tmp("omogon-body-XXXXXX", NULL);
    g_autofree char *file = g_build_filename(folder, "body.ini", NULL);
    ck_assert(g_file_set_contents(file, changed, -1, NULL));
    enum omo_status status = omo_layout_load(file, layout);
    g_remove(file);
    g_rmdir(folder);
    return status;
}

static const struct {
    const char *name, *from, *to, *says;
    enum omo_status status;
} cases[] = {
    {"another length", "forearm = 0.146", "forearm = 0.150", "", OMO_OK},
    {"a word", "forearm = 0.146", "forearm = long", "forearm", OMO_ERR_SETTINGS},
    {"a comma", "forearm = 0.146", "forearm = 0,146", "forearm", OMO_ERR_SETTINGS},
    {"millimetres", "forearm = 0.146", "forearm = 146", "forearm", OMO_ERR_SETTINGS},
    {"missing", "forearm = 0.146", "", "missing", OMO_ERR_SETTINGS},
    {"group missing", "[joints]", "[joint]", "joints", OMO_ERR_SETTINGS},
    {"bounds the wrong way", "upper_arm_low = 0.15", "upper_arm_low = 0.2", "upper_arm",
     OMO_ERR_SETTINGS},
    {"no key file", "[lengths]", "[lengths", "", OMO_ERR_SETTINGS},
};
enum { CASE_COUNT = sizeof cases / sizeof cases[0] };

START_TEST(a_body_file_is_taken_whole_or_refused_with_one_sentence)
{
    struct omo_layout layout = {.forearm = -1};
    listen();
    ck_assert_msg(load_changed(cases[_i].from, cases[_i].to, &layout) == cases[_i].status,
                  "%s: %s", cases[_i].name, last);
    if (cases[_i].status == OMO_OK) {
        ck_assert_double_eq_tol(layout.forearm, 0.150, 1e-12);
        ck_assert_int_eq(messages, 0);
        return;
    }
    ck_assert_double_eq(layout.forearm, -1);
    ck_assert_int_eq(messages, 1);
    ck_assert_ptr_nonnull(strstr(last, cases[_i].says));
}
END_TEST

START_TEST(a_missing_body_file_is_refused_with_one_sentence)
{
    struct omo_layout layout;
    listen();
    ck_assert_int_eq(omo_layout_load("/nowhere/body.ini", &layout), OMO_ERR_OPEN);
    ck_assert_int_eq(messages, 1);
    ck_assert_int_eq(omo_layout_load(OMO_TEST_DATA, &layout), OMO_ERR_OPEN);
    ck_assert_int_eq(messages, 2);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("layout");
    TCase *body = tcase_create("body");
    tcase_add_test(body, the_built_in_body_has_the_published_proportions);
    tcase_add_loop_test(body, a_body_file_is_taken_whole_or_refused_with_one_sentence, 0,
                        CASE_COUNT);
    tcase_add_test(body, a_missing_body_file_is_refused_with_one_sentence);
    suite_add_tcase(suite, body);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
