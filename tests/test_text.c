#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/text.h"

static const struct {
    const char *name;
    double value;
    int decimals;
    const char *want;
} numbers[] = {
    {"three decimals are kept", 116.8, 3, "116.800"},
    {"rounding goes to the nearest", 0.0005001, 3, "0.001"},
    {"six decimals of time", 1.0 / 30, 6, "0.033333"},
    {"no decimals, no dot", 42.4, 0, "42"},
    {"negative stays negative", -4.5, 3, "-4.500"},
    {"negative zero has no sign", -0.0, 3, "0.000"},
    {"what rounds to zero has no sign", -0.0004, 3, "0.000"},
    {"what rounds to zero has no sign without decimals", -0.4, 0, "0"},
    {"what does not round to zero keeps it", -0.0006, 3, "-0.001"},
    {"no value is an empty text", NAN, 3, ""},
    {"infinity is an empty text", INFINITY, 3, ""},
    {"negative infinity is an empty text", -INFINITY, 3, ""},
    {"negative decimals count as none", 2.4, -1, "2"},
    {"a huge number gets an exponent", 1e300, 3, "1.0000000000000001e+300"},
};

START_TEST(numbers_are_written_for_files)
{
    char got[32];

    omo_number_text(numbers[_i].value, numbers[_i].decimals, got, sizeof got);
    ck_assert_msg(strcmp(got, numbers[_i].want) == 0, "%s: got \"%s\", want \"%s\"",
                  numbers[_i].name, got, numbers[_i].want);
}
END_TEST

/* Where the German locale, which writes a comma, is not installed, the test of the files
   makes one of its own. */
START_TEST(numbers_keep_their_dot_under_a_german_locale)
{
    char got[32], libc[32];
    double value = 0;

    if (setlocale(LC_ALL, "de_DE.UTF-8") == NULL) {
        printf("skipped: the locale de_DE.UTF-8 is not installed\n");
        return;
    }
    snprintf(libc, sizeof libc, "%.1f", 1.5);
    ck_assert_str_eq(libc, "1,5");
    omo_number_text(116.8, 3, got, sizeof got);
    ck_assert_str_eq(got, "116.800");
    ck_assert(omo_number_parse("1.5", &value));
    ck_assert_double_eq_tol(value, 1.5, 1e-15);
    ck_assert(!omo_number_parse("1,5", &value));
    setlocale(LC_ALL, "C");
}
END_TEST

static const struct {
    const char *text;
    bool valid;
    double want;
} parsed[] = {
    {"1.5", true, 1.5},  {"-0.25", true, -0.25}, {"+3", true, 3},   {"1e3", true, 1000},
    {".5", true, 0.5},   {"", false, 0},         {" 1", false, 0},  {"1 ", false, 0},
    {"1,5", false, 0},   {"0x10", false, 0},     {"inf", false, 0}, {"nan", false, 0},
    {"1e999", false, 0}, {"1.5deg", false, 0},   {"--1", false, 0}, {".", false, 0},
    {"\t1", false, 0},   {"1.2.3", false, 0},    {"e", false, 0},   {"-", false, 0},
};

START_TEST(only_whole_finite_numbers_are_read)
{
    double got = -77;
    bool valid = omo_number_parse(parsed[_i].text, &got);

    ck_assert_msg(valid == parsed[_i].valid, "\"%s\"", parsed[_i].text);
    ck_assert_double_eq_tol(got, valid ? parsed[_i].want : -77, 1e-12);
}
END_TEST

static const struct {
    const char *text;
    bool valid;
    long long want;
} integers[] = {
    {"0", true, 0},
    {"-12", true, -12},
    {"+7", true, 7},
    {"9223372036854775807", true, 9223372036854775807LL},
    {"9223372036854775808", false, 0},
    {"1.0", false, 0},
    {"", false, 0},
    {" 1", false, 0},
    {"12a", false, 0},
    {"1-", false, 0},
};

START_TEST(only_whole_integers_are_read)
{
    long long got = -77;
    bool valid = omo_integer_parse(integers[_i].text, &got);

    ck_assert_msg(valid == integers[_i].valid, "\"%s\"", integers[_i].text);
    ck_assert_int_eq(got, valid ? integers[_i].want : -77);
}
END_TEST

START_TEST(written_numbers_read_back_as_they_were_rounded)
{
    for (int i = -2000; i <= 2000; i++) {
        double want = i * 0.137, got = NAN;
        char text[32];

        omo_number_text(want, 3, text, sizeof text);
        ck_assert(omo_number_parse(text, &got));
        ck_assert_double_eq_tol(got, want, 0.0005 + 1e-12);
    }
}
END_TEST

static const struct {
    const char *name, *text;
    size_t size;
    const char *want;
} copies[] = {
    {"what fits is copied whole", "elbow", 6, "elbow"},
    {"what does not fit is cut", "elbow", 5, "elbo"},
    {"a two-byte letter is not cut in two", "ab\xC3\xA9", 4, "ab"},
    {"a two-byte letter that fits stays", "ab\xC3\xA9", 5, "ab\xC3\xA9"},
    {"a three-byte sign is not cut after one", "a\xE2\x82\xAC", 3, "a"},
    {"a three-byte sign is not cut after two", "a\xE2\x82\xAC", 4, "a"},
    {"a four-byte sign is not cut", "a\xF0\x9F\x99\x82", 5, "a"},
    {"one byte holds only the end", "abc", 1, ""},
};

START_TEST(copies_end_at_a_whole_character)
{
    char got[16];

    memset(got, 'x', sizeof got);
    omo_text_copy(got, copies[_i].size, copies[_i].text);
    ck_assert_msg(strcmp(got, copies[_i].want) == 0, "%s: got \"%s\"", copies[_i].name,
                  got);
    ck_assert_int_eq(got[copies[_i].size], 'x');
}
END_TEST

START_TEST(a_copy_into_no_room_touches_nothing)
{
    char got[2] = "x";

    omo_text_copy(got, 0, "abc");
    ck_assert_str_eq(got, "x");
}
END_TEST

START_TEST(added_pieces_stop_at_the_end_of_the_room)
{
    char text[12] = "";

    omo_text_add(text, sizeof text, "%s", "no-elbow");
    ck_assert_str_eq(text, "no-elbow");
    omo_text_add(text, sizeof text, "+%d", 12345);
    ck_assert_str_eq(text, "no-elbow+12");
    omo_text_add(text, sizeof text, "more");
    ck_assert_str_eq(text, "no-elbow+12");
}
END_TEST

START_TEST(added_pieces_end_at_a_whole_character)
{
    char text[6] = "abc";

    omo_text_add(text, sizeof text, "%s", "d\xC3\xA9");
    ck_assert_str_eq(text, "abcd");
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

int main(void)
{
    Suite *suite = suite_create("text");
    TCase *tests = tcase_create("text");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_loop_test(tests, numbers_are_written_for_files, 0, COUNT(numbers));
    tcase_add_test(tests, numbers_keep_their_dot_under_a_german_locale);
    tcase_add_loop_test(tests, only_whole_finite_numbers_are_read, 0, COUNT(parsed));
    tcase_add_loop_test(tests, only_whole_integers_are_read, 0, COUNT(integers));
    tcase_add_test(tests, written_numbers_read_back_as_they_were_rounded);
    tcase_add_loop_test(tests, copies_end_at_a_whole_character, 0, COUNT(copies));
    tcase_add_test(tests, a_copy_into_no_room_touches_nothing);
    tcase_add_test(tests, added_pieces_stop_at_the_end_of_the_room);
    tcase_add_test(tests, added_pieces_end_at_a_whole_character);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
