/* Published values: every rule of what may stand beside a session, and every mistake in
 * the file with its line. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/reference.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const char header[] =
    "movement,at_abduction_deg,position,mode,reference,instrument,age_from,age_to,sex,"
    "side,n,mean_deg,sd_deg,p5_deg,p25_deg,p50_deg,p75_deg,p95_deg,mean_low_deg,"
    "mean_high_deg,kind,source,confirmed,note\n";
static const char good[] = "flexion,,supine,active,gravity,goniometer,40,60,female,any,9,"
                           "160,10,,,,,,,,range-of-people,invented,yes,\n";

static char said[1024];

static void keep(enum omo_log_level level, const char *sentence, void *user)
{
    (void)level;
    (void)user;
    g_strlcpy(said, sentence, sizeof said);
}

/** Reads a file with these lines after the header. */
static enum omo_status load(const char *first, const char *lines,
                            struct omo_references **out)
{
    g_autofree char *path = NULL;
    int descriptor = g_file_open_tmp("reference-values-XXXXXX", &path, NULL);
    ck_assert_int_ge(descriptor, 0);
    FILE *file = fdopen(descriptor, "w");
    fprintf(file, "%s%s", first, lines);
    fclose(file);
    said[0] = '\0';
    enum omo_status status = omo_references_load(path, out);
    unlink(path);
    return status;
}

/** A session and a person that fit the line `good`: aged 49 or 50. */
static void fitting(struct omo_session_row *session, struct omo_person_row *person)
{
    omo_session_row_init(session);
    omo_table_row_init(OMO_TABLE_PEOPLE, person);
    strcpy(session->started, "2026-05-01T08:00:00Z");
    strcpy(session->movement, "flexion");
    strcpy(session->side, "right");
    strcpy(session->position, "supine");
    strcpy(session->mode, "active");
    strcpy(session->reference, "none");
    strcpy(person->sex, "female");
    person->birth_year = 1976;
}

START_TEST(all_has_to_be_the_same)
{
    /* What is changed, and whether the range may still be shown. */
    static const struct {
        const char *what, *text;
        int year;
        bool shown;
    } cases[] = {
        {"", "", 0, true},
        {"movement", "abduction", 0, false},
        {"position", "standing", 0, false},
        {"position", "", 0, false},
        {"mode", "assisted", 0, false},
        {"mode", "passive", 0, false},
        {"reference", "chest-hip", 0, false},
        {"reference", "hip", 0, false},
        {"reference", "shift", 0, false},
        {"reference", "", 0, false},
        {"sex", "male", 0, false},
        {"sex", "other", 0, false},
        {"sex", "", 0, false},
        {"side", "left", 0, true},
        /* 60 or 61, 59 or 60, 40 or 41, 39 or 40 on 1 May 2026. */
        {"year", "", 1965, false},
        {"year", "", 1966, true},
        {"year", "", 1985, true},
        {"year", "", 1986, false},
        {"year", "", -1, false},
    };
    struct omo_references *values;
    struct omo_session_row session;
    struct omo_person_row person;
    ck_assert_int_eq(load(header, good, &values), OMO_OK);
    fitting(&session, &person);
    const char *what = cases[_i].what, *text = cases[_i].text;
    if (!strcmp(what, "movement"))
        strcpy(session.movement, text);
    else if (!strcmp(what, "position"))
        strcpy(session.position, text);
    else if (!strcmp(what, "mode"))
        strcpy(session.mode, text);
    else if (!strcmp(what, "reference"))
        strcpy(session.reference, text);
    else if (!strcmp(what, "sex"))
        strcpy(person.sex, text);
    else if (!strcmp(what, "side"))
        strcpy(session.side, text);
    else if (!strcmp(what, "year"))
        person.birth_year = cases[_i].year;
    ck_assert_msg((omo_reference_of(values, &session, &person) != NULL) ==
                      cases[_i].shown,
                  "%s \"%s\" %d", what, text, cases[_i].year);
    ck_assert_ptr_null(omo_reference_of(values, &session, NULL));
    omo_references_free(values);
}
END_TEST

START_TEST(the_age_is_that_of_the_session)
{
    struct omo_references *values;
    struct omo_session_row session;
    struct omo_person_row person;
    ck_assert_int_eq(load(header, good, &values), OMO_OK);
    fitting(&session, &person);
    person.birth_year = 1966;
    ck_assert_ptr_nonnull(omo_reference_of(values, &session, &person));
    strcpy(session.started, "2027-01-01T08:00:00Z");
    ck_assert_ptr_null(omo_reference_of(values, &session, &person));
    session.started[0] = '\0';
    ck_assert_ptr_null(omo_reference_of(values, &session, &person));
    omo_references_free(values);
}
END_TEST

START_TEST(what_is_from_memory_or_of_a_mean_stays_hidden)
{
    struct omo_references *values;
    struct omo_session_row session;
    struct omo_person_row person;
    double low, high;
    fitting(&session, &person);
    ck_assert_int_eq(
        load(header,
             "flexion,,supine,active,gravity,,40,60,female,any,9,160,10,,,,,,"
             ",,range-of-people,invented,no,\n"
             "flexion,,supine,active,gravity,,40,60,female,any,9,160,,,,,,,"
             "158,162,interval-of-mean,invented,yes,\n",
             &values),
        OMO_OK);
    ck_assert_uint_eq(omo_references_count(values), 2);
    ck_assert_ptr_null(omo_reference_of(values, &session, &person));
    ck_assert(!omo_reference_range(omo_references_at(values, 1), &low, &high));
    ck_assert(isnan(low) && isnan(high));
    omo_references_free(values);
}
END_TEST

START_TEST(a_rotation_wants_the_abduction_it_was_published_for)
{
    struct omo_references *values;
    struct omo_session_row session;
    struct omo_person_row person;
    ck_assert_int_eq(
        load(header,
             "external-rotation,90,supine,active,gravity,,40,60,female,any,9,"
             "90,8,,,,,,,,range-of-people,invented,yes,\n",
             &values),
        OMO_OK);
    fitting(&session, &person);
    strcpy(session.movement, "external-rotation");
    const double held[] = {NAN, 0, 79.9, 80, 90, 100, 100.1};
    for (size_t i = 0; i < COUNT(held); i++) {
        session.rotation_at_abduction_deg = held[i];
        ck_assert_int_eq(omo_reference_of(values, &session, &person) != NULL,
                         held[i] >= 80 && held[i] <= 100);
    }
    omo_references_free(values);
}
END_TEST

START_TEST(a_dominant_side_has_to_be_known)
{
    static const struct {
        const char *dominant, *side, *source;
    } cases[] = {{"right", "right", "one"}, {"right", "left", "other"},
                 {"left", "left", "one"},   {"left", "right", "other"},
                 {"", "right", NULL},       {"both", "right", NULL}};
    struct omo_references *values;
    struct omo_session_row session;
    struct omo_person_row person;
    ck_assert_int_eq(
        load(header,
             "flexion,,supine,active,gravity,,40,60,any,dominant,9,160,10,,,,"
             ",,,,range-of-people,one,yes,\n"
             "flexion,,supine,active,gravity,,40,60,any,non-dominant,9,160,"
             "10,,,,,,,,range-of-people,other,yes,\n",
             &values),
        OMO_OK);
    fitting(&session, &person);
    strcpy(person.dominant_side, cases[_i].dominant);
    strcpy(session.side, cases[_i].side);
    const struct omo_reference_value *v = omo_reference_of(values, &session, &person);
    ck_assert_int_eq(v != NULL, cases[_i].source != NULL);
    if (v)
        ck_assert_str_eq(v->source, cases[_i].source);
    omo_references_free(values);
}
END_TEST

START_TEST(a_range_is_percentiles_or_a_spread)
{
    struct omo_references *values;
    double low, high;
    ck_assert_int_eq(
        load(header,
             "flexion,,supine,active,gravity,,40,60,any,any,9,160,10,150,155,"
             "160,165,171,,,range-of-people,invented,yes,\n"
             "flexion,,supine,active,gravity,,40,60,any,any,9,160,10,,,,,,,,"
             "range-of-people,invented,yes,\n",
             &values),
        OMO_OK);
    ck_assert(omo_reference_range(omo_references_at(values, 0), &low, &high));
    ck_assert_double_eq_tol(low, 150, 1e-9);
    ck_assert_double_eq_tol(high, 171, 1e-9);
    /* 1.96 = the normal distribution's 97.5 % quantile, to two places. */
    ck_assert(omo_reference_range(omo_references_at(values, 1), &low, &high));
    ck_assert_double_eq_tol(low, 140.4, 1e-9);
    ck_assert_double_eq_tol(high, 179.6, 1e-9);
    omo_references_free(values);
}
END_TEST

/* A line's mistake, and what the sentence has to name. */
static const struct {
    const char *line, *says;
} mistakes[] = {
    {"flexoin,,supine,active,gravity,,40,60,any,any,,160,10,,,,,,,,range-of-people,a,yes,"
     "\n",
     "movement \"flexoin\""},
    {"flexion,,sitting,active,gravity,,40,60,any,any,,160,10,,,,,,,,range-of-people,a,"
     "yes,\n",
     "position \"sitting\""},
    {"flexion,,supine,active,floor,,40,60,any,any,,160,10,,,,,,,,range-of-people,a,yes,"
     "\n",
     "reference \"floor\""},
    {"flexion,,supine,active,gravity,,60,40,any,any,,160,10,,,,,,,,range-of-people,a,yes,"
     "\n",
     "age_from"},
    {"flexion,,supine,active,gravity,,,60,any,any,,160,10,,,,,,,,range-of-people,a,yes,"
     "\n",
     "age_from"},
    {"flexion,,supine,active,gravity,,40,60.5,any,any,,160,10,,,,,,,,range-of-people,a,"
     "yes,\n",
     "whole"},
    {"flexion,,supine,active,gravity,,40,60,woman,any,,160,10,,,,,,,,range-of-people,a,"
     "yes,\n",
     "sex \"woman\""},
    {"flexion,,supine,active,gravity,,40,60,any,any,,\"160,5\",10,,,,,,,,range-of-people,"
     "a,yes,\n",
     "mean_deg \"160,5\""},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,,,,,,,,,range-of-people,a,yes,"
     "\n",
     "sd_deg"},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,10,150,149,,,170,,,"
     "range-of-people,a,yes,\n",
     "rise"},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,10,,,,,,158,162,range-of-people,"
     "a,yes,\n",
     "mean_low_deg"},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,10,,,,,,162,158,interval-of-"
     "mean,"
     "a,yes,\n",
     "mean_low_deg"},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,10,,,,,,,,range,a,yes,\n",
     "kind \"range\""},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,10,,,,,,,,range-of-people,,yes,"
     "\n",
     "source"},
    {"flexion,,,active,gravity,,40,60,any,any,,160,10,,,,,,,,range-of-people,a,yes,\n",
     "confirmed"},
    {"flexion,,supine,active,gravity,,40,60,any,any,,160,10,,,,,,,,range-of-people,a,ok,"
     "\n",
     "confirmed \"ok\""},
    {"flexion,90,supine,active,gravity,,40,60,any,any,,160,10,,,,,,,,range-of-people,a,"
     "yes,\n",
     "rotations"},
    {"external-rotation,,supine,active,gravity,,40,60,any,any,,90,10,,,,,,,,"
     "range-of-people,a,yes,\n",
     "rotations"},
    {"flexion,,supine\n", "cells"},
};

START_TEST(a_mistake_is_named_with_its_line)
{
    struct omo_references *values = NULL;
    g_autofree char *lines = g_strconcat(good, mistakes[_i].line, NULL);
    ck_assert_int_eq(load(header, lines, &values), OMO_ERR_FORMAT);
    ck_assert_ptr_null(values);
    ck_assert_msg(strstr(said, "line 3") && strstr(said, mistakes[_i].says), "%s", said);
}
END_TEST

START_TEST(a_file_that_is_none_is_named)
{
    struct omo_references *values = NULL;
    ck_assert_int_eq(load("movement,position\n", good, &values), OMO_ERR_FORMAT);
    ck_assert_msg(strstr(said, "line 1") && strstr(said, "at_abduction_deg"), "%s", said);
    ck_assert_int_eq(load(header, "\"flexion\n", &values), OMO_ERR_FORMAT);
    ck_assert_msg(strstr(said, "line 2"), "%s", said);
    ck_assert_int_eq(omo_references_load("/nowhere/at-all.csv", &values), OMO_ERR_OPEN);
    ck_assert_msg(strstr(said, "/nowhere/at-all.csv"), "%s", said);
    ck_assert_ptr_null(values);
}
END_TEST

START_TEST(the_projects_own_file_holds_what_was_read)
{
    struct omo_references *values;
    struct omo_session_row session;
    struct omo_person_row person;
    double low, high;
    ck_assert_int_eq(omo_references_load(NULL, &values), OMO_OK);
    fitting(&session, &person);
    strcpy(person.sex, "male");
    strcpy(person.dominant_side, "right");
    person.birth_year = 2007;
    /* Vairo et al. 2012, table 4, men's dominant arm: 153 and 179 degrees. */
    const struct omo_reference_value *v = omo_reference_of(values, &session, &person);
    ck_assert_ptr_nonnull(v);
    ck_assert(omo_reference_range(v, &low, &high));
    ck_assert_double_eq_tol(low, 153, 1e-9);
    ck_assert_double_eq_tol(high, 179, 1e-9);
    ck_assert_int_eq(v->people, 548);
    /* The same table, women's other arm turned outward at 90 degrees: 80 and 115. */
    strcpy(person.sex, "female");
    strcpy(session.side, "left");
    strcpy(session.movement, "external-rotation");
    session.rotation_at_abduction_deg = 88;
    v = omo_reference_of(values, &session, &person);
    ck_assert_ptr_nonnull(v);
    ck_assert_double_eq_tol(v->p5_deg, 80, 1e-9);
    ck_assert_double_eq_tol(v->p95_deg, 115, 1e-9);
    for (size_t i = 0; i < omo_references_count(values); i++) {
        v = omo_references_at(values, i);
        ck_assert_msg(!strstr(v->note, "from memory") || !v->confirmed, "line %zu",
                      i + 2);
    }
    omo_references_free(values);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reference values");
    TCase *tests = tcase_create("reference values");
    SRunner *runner = srunner_create(suite);
    omo_log_set_handler(keep, NULL);
    tcase_add_loop_test(tests, all_has_to_be_the_same, 0, 19);
    tcase_add_test(tests, the_age_is_that_of_the_session);
    tcase_add_test(tests, what_is_from_memory_or_of_a_mean_stays_hidden);
    tcase_add_test(tests, a_rotation_wants_the_abduction_it_was_published_for);
    tcase_add_loop_test(tests, a_dominant_side_has_to_be_known, 0, 6);
    tcase_add_test(tests, a_range_is_percentiles_or_a_spread);
    tcase_add_loop_test(tests, a_mistake_is_named_with_its_line, 0, COUNT(mistakes));
    tcase_add_test(tests, a_file_that_is_none_is_named);
    tcase_add_test(tests, the_projects_own_file_holds_what_was_read);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
