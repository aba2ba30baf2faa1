/* What decides a day: soreness, pain, warning signs, earlier sessions, and the
 * thresholds' file. Check values: the rules themselves; thresholds are those of
 * models/care.ini. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "care_fixture.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"

#define TOL_DEG 1e-9

/* ---- how sore ---- */

static const struct {
    const char *name;
    struct omo_soreness soreness;
    enum omo_sore sore;
} days[] = {
    {"nothing hurts", {0, 0, 0, 0, 0}, OMO_SORE_CALM},
    {"3 is calm", {3, 3, 0, 0, 0}, OMO_SORE_CALM},
    {"between 3 and 4 is not calm", {3.1, 0, 0, 0, 0}, OMO_SORE_MIDDLE},
    {"4 now", {4, 0, 0, 0, 0}, OMO_SORE_MIDDLE},
    {"4 was the worst", {0, 4, 0, 0, 0}, OMO_SORE_MIDDLE},
    {"6 is middle", {6, 6, 0, 0, 0}, OMO_SORE_MIDDLE},
    {"7 now", {7, 0, 0, 0, 0}, OMO_SORE_SORE},
    {"7 was the worst", {0, 7, 0, 0, 0}, OMO_SORE_SORE},
    {"10", {10, 10, 0, 0, 0}, OMO_SORE_SORE},
    {"a night woken", {0, 0, 1, 0, 0}, OMO_SORE_MIDDLE},
    {"constant pain", {0, 0, 0, 1, 0}, OMO_SORE_SORE},
    {"pain before the end", {0, 0, 0, 0, 1}, OMO_SORE_SORE},
    {"now not answered", {NAN, 0, 0, 0, 0}, OMO_SORE_SORE},
    {"worst not answered", {0, NAN, 0, 0, 0}, OMO_SORE_SORE},
    {"no such pain", {-1, 0, 0, 0, 0}, OMO_SORE_SORE},
    {"night not answered", {0, 0, -1, 0, 0}, OMO_SORE_MIDDLE},
    {"constant not answered", {0, 0, 0, -1, 0}, OMO_SORE_SORE},
    {"before the end not answered", {0, 0, 0, 0, -1}, OMO_SORE_SORE},
};

START_TEST(a_day_is_as_sore_as_its_answers)
{
    enum omo_sore sore = omo_sore_of(care_loaded(), &days[_i].soreness);
    ck_assert_msg(sore == days[_i].sore, "%s: %s", days[_i].name, omo_sore_name(sore));
}
END_TEST

START_TEST(a_step_ends_at_the_limit_or_two_points_over_its_start)
{
    const struct omo_care *care = care_loaded();
    ck_assert(!omo_pain_ends(care, 4, 0, 1.9));
    ck_assert(omo_pain_ends(care, 4, 0, 2));
    ck_assert(!omo_pain_ends(care, 4, 3, 3.9));
    ck_assert(omo_pain_ends(care, 4, 3, 4));
    ck_assert(!omo_pain_ends(care, 9, 3, 4.9));
    ck_assert(omo_pain_ends(care, 9, 3, 5));
    /* Without a start the limit alone, without a limit the usual one. */
    ck_assert(!omo_pain_ends(care, 4, NAN, 3));
    ck_assert(omo_pain_ends(care, 4, NAN, 4));
    ck_assert(!omo_pain_ends(care, NAN, NAN, 3));
    ck_assert(omo_pain_ends(care, NAN, NAN, 4));
    ck_assert(omo_pain_ends(care, 4, 0, NAN));
}
END_TEST

/* ---- warning signs ---- */

START_TEST(warning_signs_have_three_answers)
{
    static const char *const now[] = {"chest-pain", "sweating", "face-speech-side",
                                      "vision-lost", "arm-changed"};
    static const char *const today[] = {"fever", "hot-joint", "arm-swollen",
                                        "cannot-lift", "infection"};
    static const char *const in_days[] = {"lump",       "cancer",       "weight-loss",
                                          "night-pain", "clumsy-hands", "both-shoulders"};
    int count = 0, found = 0;
    for (; omo_red_flag_at(count) != NULL; count++) {
        const struct omo_red_flag *flag = omo_red_flag_at(count);
        for (int i = 0; i < 5; i++) {
            found += strcmp(flag->name, now[i]) == 0 && flag->urgency == OMO_URGENCY_NOW;
            found +=
                strcmp(flag->name, today[i]) == 0 && flag->urgency == OMO_URGENCY_TODAY;
        }
        for (int i = 0; i < 6; i++)
            found +=
                strcmp(flag->name, in_days[i]) == 0 && flag->urgency == OMO_URGENCY_DAYS;
    }
    ck_assert_int_eq(count, 16);
    ck_assert_int_eq(found, 16);
    ck_assert_ptr_null(omo_red_flag_at(-1));
    ck_assert_ptr_nonnull(strstr(omo_urgency_words(OMO_URGENCY_NOW), "emergency number"));
    ck_assert_ptr_nonnull(strstr(omo_urgency_words(OMO_URGENCY_TODAY), "today"));
    ck_assert_ptr_nonnull(strstr(omo_urgency_words(OMO_URGENCY_DAYS), "within"));
    ck_assert_str_eq(omo_urgency_words(OMO_URGENCY_NONE), "");
}
END_TEST

static const struct {
    const char *last, *today;
    bool event;
    enum omo_list_due due;
} lists[] = {
    {"2024-05-19", "2024-05-20", false, OMO_LIST_SHORT},
    {"2024-05-20", "2024-05-20", false, OMO_LIST_SHORT},
    {"2024-05-07", "2024-05-20", false, OMO_LIST_SHORT}, /* 13 days */
    {"2024-05-06", "2024-05-20", false, OMO_LIST_WHOLE}, /* 14 */
    {"2024-02-16", "2024-02-29", false, OMO_LIST_SHORT}, /* over no month's end */
    {"2024-02-20", "2024-03-05", false, OMO_LIST_WHOLE}, /* 14 over a leap day */
    {"2023-12-25", "2024-01-07", false, OMO_LIST_SHORT},
    {"2024-05-19", "2024-05-20", true, OMO_LIST_WHOLE},
    {"", "2024-05-20", false, OMO_LIST_WHOLE}, /* the first session */
    {NULL, "2024-05-20", false, OMO_LIST_WHOLE},
    {"2024-05-21", "2024-05-20", false, OMO_LIST_WHOLE}, /* the clock went back */
    {"yesterday", "2024-05-20", false, OMO_LIST_WHOLE},
    {"2024-02-30", "2024-03-01", false, OMO_LIST_WHOLE},
    {"2024-05-19", "", false, OMO_LIST_WHOLE},
};

START_TEST(the_whole_list_is_due_after_a_gap_or_an_event)
{
    ck_assert_msg(omo_red_flags_due(care_loaded(), lists[_i].last, lists[_i].today,
                                    lists[_i].event) == lists[_i].due,
                  "%s to %s", lists[_i].last, lists[_i].today);
}
END_TEST

/* ---- earlier sessions ---- */

START_TEST(a_range_that_fell_with_a_new_sign_stops_the_programme)
{
    struct omo_person_state person = care_person();
    struct omo_past past[] = {care_past("2024-05-05", "flexion", "active", 104),
                              care_past("2024-05-04", "flexion", "active", 98),
                              care_past("2024-05-03", "flexion", "active", 100),
                              care_past("2024-05-02", "flexion", "active", 102),
                              care_past("2024-05-01", "flexion", "active", 96),
                              care_past("2024-04-30", "flexion", "active", 20)};
    person.past = past;
    person.past_count = 6;
    struct omo_past now = care_past("2024-05-20", "flexion", "active", 95.9);
    /* The median of the last five is 100, the error 4. */
    ck_assert(omo_range_fell(care_loaded(), &person, &now, true));
    ck_assert(!omo_range_fell(care_loaded(), &person, &now, false));
    now.mean_of_maxima_deg = 96.0;
    ck_assert(!omo_range_fell(care_loaded(), &person, &now, true));
    /* An error that is not known is 5. */
    now.u95_deg = NAN;
    now.mean_of_maxima_deg = 95.1;
    ck_assert(!omo_range_fell(care_loaded(), &person, &now, true));
    now.mean_of_maxima_deg = 94.9;
    ck_assert(omo_range_fell(care_loaded(), &person, &now, true));
    /* Another side, or too few sessions, tells nothing. */
    strcpy(now.side, "left");
    ck_assert(!omo_range_fell(care_loaded(), &person, &now, true));
    strcpy(now.side, "right");
    person.past_count = 2;
    ck_assert(!omo_range_fell(care_loaded(), &person, &now, true));
}
END_TEST

START_TEST(help_that_goes_much_further_is_told)
{
    struct omo_person_state person = care_person();
    struct omo_past past[] = {care_past("2024-05-05", "flexion", "active", 80),
                              care_past("2024-05-04", "flexion", "assisted", 100),
                              care_past("2024-05-03", "flexion", "active", 20)};
    char why[256] = "";
    person.past = past;
    person.past_count = 3;
    ck_assert(omo_active_lags(care_loaded(), &person, why, sizeof why));
    ck_assert_ptr_nonnull(strstr(why, "Tell a clinician"));
    ck_assert_ptr_nonnull(strstr(why, "20 degrees"));
    past[1].mean_of_maxima_deg = 99.9;
    ck_assert(!omo_active_lags(care_loaded(), &person, why, sizeof why));
    /* The other side's help says nothing. */
    past[1].mean_of_maxima_deg = 150;
    strcpy(past[1].side, "left");
    ck_assert(!omo_active_lags(care_loaded(), &person, why, sizeof why));
    strcpy(past[1].side, "right");
    strcpy(past[1].movement, "abduction");
    ck_assert(!omo_active_lags(care_loaded(), &person, NULL, 0));
}
END_TEST

/* ---- names and the file ---- */

START_TEST(every_bit_of_history_has_its_name_and_words)
{
    for (int i = 0; i < OMO_HISTORY_BITS; i++) {
        ck_assert_ptr_nonnull(omo_history_name(i));
        ck_assert_ptr_nonnull(omo_history_words(i));
        for (int j = 0; j < i; j++)
            ck_assert_str_ne(omo_history_name(i), omo_history_name(j));
    }
    ck_assert_str_eq(omo_history_name(0), "blood-thinners");
    ck_assert_str_eq(omo_history_name(15), "both-sides");
    ck_assert_ptr_null(omo_history_name(OMO_HISTORY_BITS));
    ck_assert_ptr_null(omo_history_words(-1));
    ck_assert_str_eq(omo_sore_name(OMO_SORE_MIDDLE), "middle");
}
END_TEST

START_TEST(the_thresholds_are_those_that_were_agreed)
{
    const struct omo_care *care = care_loaded();
    ck_assert_double_eq(care->sore_from, 7);
    ck_assert_double_eq(care->middle_from, 4);
    ck_assert_double_eq(care->pain_limit, 4);
    ck_assert_double_eq(care->pain_rise, 2);
    ck_assert_double_eq(care->middle_hold_least_s, 5);
    ck_assert_double_eq(care->middle_hold_most_s, 15);
    ck_assert_double_eq(care->active_below_assisted_deg, 20);
    ck_assert_int_eq(care->gap_days, 14);
    ck_assert_int_eq(care->mark_sessions, 5);
    ck_assert_int_eq(care->mark_least, 3);
    ck_assert_int_eq(care->raises_most, 5);
    ck_assert_int_eq(care->tender_sessions, 3);
    ck_assert_int_eq(care->wide_circles, 20);
    ck_assert_double_eq(care->hold_step_s, 5);
    ck_assert_int_eq(care->circles_least, 10);
    ck_assert_double_eq(care->unknown_u95_deg, 5);
}
END_TEST

static char said[1024];
static int sentences;

static void keep(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    sentences++;
    snprintf(said, sizeof said, "%s", text);
}

static const struct {
    const char *from, *to, *says;
} mistakes[] = {
    {"sore_from=7", "sore_from=11", "[soreness] sore_from: 11 is not between"},
    {"sore_from=7", "sore_from=3", "[soreness] middle_from: is above sore_from"},
    {"rise=2", "rise=0", "[pain] rise: 0 is not between"},
    {"gap_days=14", "gap_days=14.5", "[whole-list] gap_days: is not a whole number"},
    {"gap_days=14", "gap=14", "[whole-list] gap: this key is not known"},
    {"[raises]", "[raise]", "[raise]: this group is not known"},
    {"least=3", "least=6", "[mark] least: is above sessions"},
    {"most_s=15", "most_s=4", "[middle-hold] least_s: is above most_s"},
};

START_TEST(a_mistake_in_the_thresholds_is_said_once)
{
    char path[4096], file[] = "care-XXXXXX", text[16384];
    char *bytes = NULL;
    size_t size = 0;
    struct omo_care care = {.gap_days = 77};
    ck_assert_int_eq(omo_models_path("care.ini", path, sizeof path), OMO_OK);
    ck_assert_int_eq(omo_file_read(path, sizeof text, &bytes, &size), OMO_OK);
    char *at = strstr(bytes, mistakes[_i].from);
    ck_assert_ptr_nonnull(at);
    snprintf(text, sizeof text, "%.*s%s%s", (int)(at - bytes), bytes, mistakes[_i].to,
             at + strlen(mistakes[_i].from));
    free(bytes);
    ck_assert_int_ge(mkstemp(file), 0);
    ck_assert_int_eq(omo_file_write_atomic(file, text, strlen(text), 0600), OMO_OK);
    sentences = 0;
    omo_log_set_handler(keep, NULL);
    enum omo_status status = omo_care_load(file, &care);
    omo_log_set_handler(NULL, NULL);
    ck_assert_int_eq(unlink(file), 0);
    ck_assert_int_eq(status, OMO_ERR_SETTINGS);
    ck_assert_int_eq(sentences, 1);
    ck_assert_msg(strstr(said, mistakes[_i].says) != NULL, "%s", said);
    ck_assert_int_eq(care.gap_days, 77);
}
END_TEST

START_TEST(thresholds_that_are_not_there_are_said_once)
{
    struct omo_care care;
    sentences = 0;
    omo_log_set_handler(keep, NULL);
    ck_assert_int_eq(omo_care_load("no-such-file.ini", &care), OMO_ERR_OPEN);
    omo_log_set_handler(NULL, NULL);
    ck_assert_int_eq(sentences, 1);
}
END_TEST

#define COUNT(rows) ((int)(sizeof(rows) / sizeof(rows)[0]))

int main(void)
{
    Suite *suite = suite_create("care");
    TCase *tests = tcase_create("care");
    tcase_add_loop_test(tests, a_day_is_as_sore_as_its_answers, 0, COUNT(days));
    tcase_add_test(tests, a_step_ends_at_the_limit_or_two_points_over_its_start);
    tcase_add_test(tests, warning_signs_have_three_answers);
    tcase_add_loop_test(tests, the_whole_list_is_due_after_a_gap_or_an_event, 0,
                        COUNT(lists));
    tcase_add_test(tests, a_range_that_fell_with_a_new_sign_stops_the_programme);
    tcase_add_test(tests, help_that_goes_much_further_is_told);
    tcase_add_test(tests, every_bit_of_history_has_its_name_and_words);
    tcase_add_test(tests, the_thresholds_are_those_that_were_agreed);
    tcase_add_loop_test(tests, a_mistake_in_the_thresholds_is_said_once, 0,
                        COUNT(mistakes));
    tcase_add_test(tests, thresholds_that_are_not_there_are_said_once);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
