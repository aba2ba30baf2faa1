/* What is said, in every movement, side, view and position: short, and never pushing. */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "show/screen/cue_words.h"

/* A line is read from three metres. */
#define WORDS_MOST 8

/* Nobody is urged, judged or asked to twist the arm; as parts of words, lower case. */
static const char *const never[] = {
    "higher", "further", "farther", "hold longer", "longer",  "twist", "rotate", "harder",
    "push",   "try",     "more",    "well",        "great",   "good",  "record", "best",
    "normal", "better",  "perfect", "faster",      "come on", "!",
};
#define NEVER_COUNT (sizeof never / sizeof never[0])

static struct omo_movement_table *table;
static struct omo_measure_settings settings;

static void set_up(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
}

static void tear_down(void)
{
    omo_movement_table_destroy(table);
}

static int words_in(const char *text)
{
    int count = 0;
    bool inside = false;
    for (; *text != '\0'; text++) {
        bool space = isspace((unsigned char)*text) != 0;
        count += !space && !inside;
        inside = !space;
    }
    return count;
}

static void check_gentle(const char *text)
{
    char lower[256] = "";
    ck_assert_msg(strlen(text) < sizeof lower, "%s", text);
    for (size_t i = 0; text[i] != '\0'; i++)
        lower[i] = (char)tolower((unsigned char)text[i]);
    /* The one "more" that leaves the choice. */
    if (strcmp(text, "Once more if you like, or rest") == 0)
        return;
    for (size_t i = 0; i < NEVER_COUNT; i++)
        ck_assert_msg(strstr(lower, never[i]) == NULL, "\"%s\" says \"%s\"", text,
                      never[i]);
}

/** Calls `check` in every way a person can be measured. */
static void everywhere(void (*check)(void))
{
    for (int m = 0; m < omo_movement_count(table); m++) {
        const struct omo_movement *movement = omo_movement_at(table, m);
        for (int i = 0; i < 8 * OMO_POSITION_COUNT; i++) {
            omo_measure_settings_default(&settings);
            settings.movement = movement;
            settings.side = (i & 1) != 0 ? OMO_RIGHT : OMO_LEFT;
            settings.from_behind = (i & 2) != 0;
            settings.facing_left = (i & 4) != 0;
            settings.position = (enum omo_position)(i / 8);
            if (movement->position_allowed[settings.position])
                check();
        }
    }
}

static void check_cues(void)
{
    for (int i = OMO_CUE_NONE + 1; i < OMO_CUE_COUNT; i++) {
        const char *line = omo_cue_sentence((enum omo_cue)i, &settings);
        const char *spoken = omo_cue_spoken((enum omo_cue)i, &settings);
        ck_assert_msg(words_in(line) >= 1 && words_in(line) <= WORDS_MOST,
                      "%s: %d words: %s", omo_cue_name((enum omo_cue)i), words_in(line),
                      line);
        ck_assert_int_ge(words_in(spoken), 1);
        check_gentle(line);
        check_gentle(spoken);
        for (int j = OMO_CUE_NONE + 1; j < i; j++) {
            /* Lying, every way out of the border has one remedy. */
            bool moves = i >= OMO_CUE_MOVE_LEFT && i <= OMO_CUE_MOVE_BACKWARD &&
                         j >= OMO_CUE_MOVE_LEFT;
            ck_assert_msg(moves || strcmp(line, omo_cue_sentence((enum omo_cue)j,
                                                                 &settings)) != 0,
                          "%s and %s say the same", omo_cue_name((enum omo_cue)i),
                          omo_cue_name((enum omo_cue)j));
        }
    }
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_NONE, &settings), "");
    ck_assert_str_eq(omo_cue_spoken(OMO_CUE_NONE, &settings), "");
}

START_TEST(every_cue_has_its_own_line_of_at_most_eight_words)
{
    everywhere(check_cues);
}
END_TEST

static void check_phases(void)
{
    struct omo_live_view view = {.raises = 0};
    for (int p = 0; p < OMO_PHASE_COUNT; p++) {
        for (int end = OMO_END_NOT_YET; end <= OMO_END_STOP; end++) {
            view.phase = (enum omo_phase)p;
            view.end = (enum omo_live_end)end;
            if ((p == OMO_PHASE_ENDED) != (end != OMO_END_NOT_YET))
                continue;
            for (view.raises = 0; view.raises < 2; view.raises++) {
                const char *line = omo_phase_sentence(&view, &settings);
                ck_assert_msg(words_in(line) >= 1 && words_in(line) <= WORDS_MOST,
                              "%s: %d words: %s", omo_phase_name(view.phase),
                              words_in(line), line);
                check_gentle(line);
                check_gentle(omo_phase_spoken(&view, &settings));
            }
        }
    }
}

START_TEST(every_phase_has_a_line_of_at_most_eight_words)
{
    everywhere(check_phases);
}
END_TEST

static const struct {
    const char *movement;
    enum omo_side side;
    enum omo_position position;
    const char *settle, *ready;
} courses[] = {
    {"flexion", OMO_RIGHT, OMO_STANDING, "Stand still, right arm hanging",
     "Raise your right arm forwards, while comfortable"},
    {"extension", OMO_LEFT, OMO_STANDING, "Stand still, left arm hanging",
     "Move your left arm backwards, while comfortable"},
    {"abduction", OMO_LEFT, OMO_SEATED, "Sit still, left arm hanging",
     "Raise your left arm sideways, while comfortable"},
    {"adduction", OMO_RIGHT, OMO_STANDING, "Stand still, right arm hanging",
     "Move your right arm across, while comfortable"},
    {"scaption", OMO_RIGHT, OMO_STANDING, "Stand still, right arm hanging",
     "Raise your right arm diagonally, while comfortable"},
    {"flexion", OMO_RIGHT, OMO_SUPINE, "Lie still, right arm beside you",
     "Raise your right arm forwards, while comfortable"},
    {"external-rotation", OMO_RIGHT, OMO_STANDING,
     "Hold still, right forearm pointing ahead",
     "Move your right hand upwards, while comfortable"},
    {"internal-rotation", OMO_LEFT, OMO_SUPINE, "Hold still, left forearm pointing up",
     "Move your left hand footwards, while comfortable"},
    {"pendulum", OMO_RIGHT, OMO_STANDING, "Hold still, let your right arm hang",
     "Let your right arm swing gently"},
};

START_TEST(the_course_is_told_by_movement_side_and_position)
{
    struct omo_live_view view = {.phase = OMO_PHASE_SETTLE};
    omo_measure_settings_default(&settings);
    settings.movement = omo_movement_find(table, courses[_i].movement);
    settings.side = courses[_i].side;
    settings.position = courses[_i].position;
    ck_assert_str_eq(omo_phase_sentence(&view, &settings), courses[_i].settle);
    view.phase = OMO_PHASE_READY;
    ck_assert_str_eq(omo_phase_sentence(&view, &settings), courses[_i].ready);
    view.raises = 1;
    ck_assert_str_eq(omo_phase_sentence(&view, &settings),
                     "Once more if you like, or rest");
}
END_TEST

/* What names one arm for one names both, or which of them, for both at once. */
static void check_both(void)
{
    struct omo_live_view view = {.raises = 0};
    if (settings.movement->view != OMO_VIEW_FRONT)
        return;
    for (int c = 0; c < OMO_CUE_COUNT; c++) {
        const char *line = omo_both_cue_sentence((enum omo_cue)c, &settings);
        ck_assert_msg(words_in(line) <= WORDS_MOST, "%s", line);
        check_gentle(line);
    }
    for (int p = 0; p < OMO_PHASE_COUNT; p++) {
        view.phase = (enum omo_phase)p;
        const char *line = omo_both_phase_sentence(&view, &settings);
        ck_assert_msg(words_in(line) <= WORDS_MOST, "%s", line);
        ck_assert_ptr_null(strstr(line, "left"));
        ck_assert_ptr_null(strstr(line, "right"));
        check_gentle(line);
    }
}

START_TEST(both_arms_at_once_have_lines_of_their_own)
{
    everywhere(check_both);
}
END_TEST

START_TEST(a_hidden_wrist_stops_only_what_needs_it)
{
    omo_measure_settings_default(&settings);
    settings.movement = omo_movement_find(table, "flexion");
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_WRIST_HIDDEN, &settings),
                     "Wrist hidden: keep your arm as it is");
    settings.movement = omo_movement_find(table, "external-rotation");
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_WRIST_HIDDEN, &settings),
                     "Wrist hidden: clear what covers the marker");
}
END_TEST

START_TEST(back_is_away_from_the_camera_only_for_who_faces_it)
{
    omo_measure_settings_default(&settings);
    settings.movement = omo_movement_find(table, "abduction");
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_STEP_BACK, &settings),
                     "Step back half a metre");
    settings.from_behind = true;
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_STEP_BACK, &settings),
                     "Step half a metre away from the camera");
    settings.movement = omo_movement_find(table, "flexion");
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_STEP_BACK, &settings),
                     "Step half a metre away from the camera");
    settings.position = OMO_SUPINE;
    ck_assert_str_eq(omo_cue_sentence(OMO_CUE_STEP_BACK, &settings),
                     "Move the camera half a metre away");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("cue words");
    TCase *tc = tcase_create("words");
    tcase_add_checked_fixture(tc, set_up, tear_down);
    tcase_add_test(tc, every_cue_has_its_own_line_of_at_most_eight_words);
    tcase_add_test(tc, every_phase_has_a_line_of_at_most_eight_words);
    tcase_add_loop_test(tc, the_course_is_told_by_movement_side_and_position, 0,
                        (int)(sizeof courses / sizeof courses[0]));
    tcase_add_test(tc, both_arms_at_once_have_lines_of_their_own);
    tcase_add_test(tc, a_hidden_wrist_stops_only_what_needs_it);
    tcase_add_test(tc, back_is_away_from_the_camera_only_for_who_faces_it);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
