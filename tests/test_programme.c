/* Programmes: what is in a file, the starters, and every mistake's sentence with its
 * line. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/log.h"
#include "omogon/programme.h"

static char said[32][1024];
static int sentences;

static void keep(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    if (sentences < 32)
        snprintf(said[sentences], sizeof said[0], "%s", text);
    sentences++;
}

static void listen(void)
{
    sentences = 0;
    memset(said, 0, sizeof said);
    omo_log_set_handler(keep, NULL);
}

static void stop_listening(void)
{
    omo_log_set_handler(NULL, NULL);
}

static struct omo_programme programme;

static enum omo_status parse(const char *text)
{
    return omo_programme_parse(text, strlen(text), "mine.ini", &programme);
}

static const struct omo_step *step_named(const char *name)
{
    for (int i = 0; i < programme.step_count; i++) {
        if (strcmp(programme.step[i].name, name) == 0)
            return &programme.step[i];
    }
    ck_abort_msg("no step %s", name);
    return NULL;
}

#define HEAD "[programme]\ntitle=Mine\n" /* lines 1 and 2: a step begins in line 3 */

/* ---- what is read ---- */

START_TEST(a_programme_is_read_with_its_steps_in_order)
{
    ck_assert_int_eq(
        parse(
            "# remark\n[programme]\ntitle = Mine \nissue=b\nmade_by=K.\npain_limit=3\n"
            "arms=both\n\n[up]\n  group=reach\nkind=stay\nmovement=abduction\n"
            "mode=assisted\nside=left\nposition=seated\nbreaths=7\npace=paced\n"
            "repetitions=2\nease_ups=0\nceiling_deg=110.5\npain_limit=2\n"
            "guidance=Grüße\\nzwei\ncaution=c\n[q]\ngroup=use\nkind=pain\nwhen=after\n"),
        OMO_OK);
    ck_assert_str_eq(programme.name, "mine");
    ck_assert_str_eq(programme.title, "Mine");
    ck_assert_str_eq(programme.issue, "b");
    ck_assert_str_eq(programme.made_by, "K.");
    ck_assert_double_eq(programme.pain_limit, 3.0);
    ck_assert(programme.arms_both);
    ck_assert_int_eq(programme.step_count, 2);
    const struct omo_step *s = &programme.step[0];
    ck_assert_str_eq(s->name, "up");
    ck_assert_int_eq(s->line, 9);
    ck_assert_int_eq(s->group, OMO_GROUP_REACH);
    ck_assert_int_eq(s->kind, OMO_STEP_STAY);
    ck_assert_str_eq(s->movement, "abduction");
    ck_assert_int_eq(s->mode, OMO_MODE_ASSISTED);
    ck_assert_int_eq(s->side, OMO_STEP_LEFT);
    ck_assert_int_eq(s->position, OMO_SEATED);
    ck_assert(s->position_told);
    ck_assert_int_eq(s->breaths, 7);
    ck_assert_double_nan(s->hold_s);
    ck_assert_int_eq(s->pace, OMO_PACE_PACED);
    ck_assert_double_eq(s->breaths_per_min, 6.0);
    ck_assert_int_eq(s->repetitions, 2);
    ck_assert_int_eq(s->ease_ups, 0);
    ck_assert_double_eq(s->ceiling_deg, 110.5);
    ck_assert_double_eq(s->pain_limit, 2.0);
    ck_assert_str_eq(s->guidance, "Grüße\nzwei");
    ck_assert_int_eq(programme.step[1].when, OMO_PAIN_AFTER);
}
END_TEST

START_TEST(what_is_not_said_has_its_default)
{
    ck_assert_int_eq(parse(HEAD "[a]\ngroup=settle\nkind=press\narea=blade-back\n"
                                "guidance=g\n"
                                "[b]\ngroup=swing\nkind=pendulum\nguidance=g\n"
                                "[c]\ngroup=turn\nkind=stay\nmovement=external-rotation\n"
                                "guidance=g\n"
                                "[d]\ngroup=use\nkind=measure\nmovement=flexion\n"
                                "[e]\ngroup=use\nkind=desk\n"),
                     OMO_OK);
    ck_assert_double_eq(programme.pain_limit, 4.0);
    ck_assert(!programme.arms_both);
    ck_assert_double_eq(step_named("a")->hold_s, 60.0);
    ck_assert_int_eq(step_named("a")->repetitions, 0);
    ck_assert_int_eq(step_named("b")->circles, 10);
    ck_assert_double_nan(step_named("b")->load_kg);
    ck_assert_double_eq(step_named("c")->hold_s, 30.0);
    ck_assert_int_eq(step_named("c")->ease_ups, 2);
    ck_assert_int_eq(step_named("c")->position, OMO_SUPINE);
    ck_assert(!step_named("c")->position_told);
    ck_assert_int_eq(step_named("c")->pace, OMO_PACE_OWN);
    ck_assert_double_nan(step_named("c")->pain_limit);
    ck_assert_double_nan(step_named("c")->ceiling_deg);
    ck_assert_int_eq(step_named("d")->repetitions, 3);
    ck_assert_int_eq(step_named("d")->side, OMO_STEP_AFFECTED);
    ck_assert_double_eq(step_named("e")->every_min, 30.0);
}
END_TEST

START_TEST(line_ends_and_marks_of_other_editors_do_not_matter)
{
    ck_assert_int_eq(parse("\xef\xbb\xbf[programme]\r\ntitle=Mine\r\n[n]\r\ngroup=use\r\n"
                           "kind=note"),
                     OMO_OK);
    ck_assert_str_eq(programme.title, "Mine");
}
END_TEST

START_TEST(the_mark_follows_the_meaning_alone)
{
    char first[33], again[33], other[33];
    ck_assert_int_eq(parse(HEAD "[n]\ngroup=use\nkind=desk\n"), OMO_OK);
    omo_programme_mark(&programme, first);
    ck_assert_uint_eq(strlen(first), 32);
    ck_assert_int_eq(parse("# a remark\n\n" HEAD
                           "[n]\nkind = desk\ngroup=use\nevery_min=30\n"),
                     OMO_OK);
    omo_programme_mark(&programme, again);
    ck_assert_str_eq(first, again);
    ck_assert_int_eq(parse(HEAD "[n]\ngroup=use\nkind=desk\nevery_min=31\n"), OMO_OK);
    omo_programme_mark(&programme, other);
    ck_assert_str_ne(first, other);
}
END_TEST

START_TEST(areas_and_findings_are_those_that_were_agreed)
{
    int taught = 0, areas = 0;
    for (; omo_area_at(areas) != NULL; areas++) {
        const struct omo_area *area = omo_area_at(areas);
        taught += area->taught;
        ck_assert_ptr_eq(omo_area_find(area->name), area);
        ck_assert_uint_lt(strlen(area->name), sizeof programme.step[0].area);
        ck_assert_str_ne(area->avoid, "");
    }
    ck_assert_int_ge(areas, 6);
    ck_assert_int_eq(taught, 2);
    ck_assert(omo_area_find("blade-front")->taught);
    ck_assert(omo_area_find("armpit-back")->taught);
    ck_assert_ptr_nonnull(strstr(omo_area_find("blade-front")->avoid, "lymph nodes"));
    ck_assert_ptr_nonnull(strstr(omo_area_find("armpit-back")->avoid, "lymph nodes"));
    ck_assert_ptr_null(omo_area_find("armpit"));
    ck_assert_ptr_null(omo_area_at(-1));

    const char *const levels[] = {"thigh", "buttock", "sacrum", "L5", "L3", "T12", "T7"};
    const struct omo_finding *back = omo_finding_find("hand-behind-back");
    for (int i = 0; i < 7; i++)
        ck_assert_str_eq(back->levels[i], levels[i]);
    ck_assert_ptr_null(back->levels[7]);
    for (int i = 0; omo_finding_at(i) != NULL; i++) {
        const struct omo_finding *f = omo_finding_at(i);
        ck_assert_ptr_eq(omo_finding_find(f->name), f);
        /* Either a choice or a number in a range. */
        ck_assert_int_ne(f->levels != NULL, f->most > f->least);
    }
    ck_assert_str_eq(omo_finding_find("back-pocket")->levels[1], "hard");
    ck_assert_double_eq(omo_finding_find("activity-3")->most, 10.0);
    ck_assert_ptr_null(omo_finding_at(-1));
    ck_assert_ptr_null(omo_finding_find(""));
}
END_TEST

START_TEST(names_outside_the_enums_are_none)
{
    ck_assert_str_eq(omo_group_name(OMO_GROUP_TURN), "turn");
    ck_assert_ptr_null(omo_group_name(OMO_GROUP_COUNT));
    ck_assert_str_eq(omo_step_kind_name(OMO_STEP_PAIN), "pain");
    ck_assert_ptr_null(omo_step_kind_name((enum omo_step_kind) - 1));
    ck_assert_str_eq(omo_pain_when_name(OMO_PAIN_WORST_24H), "worst-24h");
    ck_assert_ptr_null(omo_pain_when_name(OMO_PAIN_WHEN_COUNT));
}
END_TEST

/* ---- the starters ---- */

static const char *const starters[] = {"sore-weeks", "regaining-range", "desk-days"};

START_TEST(a_starter_is_found_by_its_name_and_has_no_mistake)
{
    listen();
    ck_assert_int_eq(omo_programme_load(starters[_i], &programme), OMO_OK);
    stop_listening();
    ck_assert_int_eq(sentences, 0);
    ck_assert_str_eq(programme.name, starters[_i]);
    ck_assert_int_ge(programme.step_count, 8);
    bool group[OMO_GROUP_COUNT] = {false};
    for (int i = 0; i < programme.step_count; i++)
        group[programme.step[i].group] = true;
    ck_assert(group[OMO_GROUP_SETTLE] && group[OMO_GROUP_SWING] && group[OMO_GROUP_USE]);
}
END_TEST

START_TEST(sore_weeks_asks_for_no_stay_and_measures_the_better_side_first)
{
    ck_assert_int_eq(omo_programme_load("sore-weeks", &programme), OMO_OK);
    for (int i = 0; i < programme.step_count; i++)
        ck_assert_int_ne(programme.step[i].kind, OMO_STEP_STAY);
    ck_assert(step_named("raise-other") < step_named("raise"));
    ck_assert_int_eq(omo_programme_load("regaining-range", &programme), OMO_OK);
    const struct omo_step *last = NULL;
    for (int i = 0; i < programme.step_count; i++) {
        const struct omo_step *s = &programme.step[i];
        if (s->kind != OMO_STEP_MEASURE)
            continue;
        bool rotation = strstr(s->movement, "rotation") != NULL;
        bool was_rotation = last != NULL && strstr(last->movement, "rotation") != NULL;
        ck_assert_msg(rotation || !was_rotation, "rotations come last: %s", s->name);
        last = s;
    }
    ck_assert(step_named("measure-raise-other") < step_named("measure-raise"));
    ck_assert(step_named("measure-raise") < step_named("measure-raise-helped"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("programme");
    TCase *read = tcase_create("read");
    tcase_add_test(read, a_programme_is_read_with_its_steps_in_order);
    tcase_add_test(read, what_is_not_said_has_its_default);
    tcase_add_test(read, line_ends_and_marks_of_other_editors_do_not_matter);
    tcase_add_test(read, the_mark_follows_the_meaning_alone);
    tcase_add_test(read, areas_and_findings_are_those_that_were_agreed);
    tcase_add_test(read, names_outside_the_enums_are_none);
    tcase_add_loop_test(read, a_starter_is_found_by_its_name_and_has_no_mistake, 0, 3);
    tcase_add_test(read, sore_weeks_asks_for_no_stay_and_measures_the_better_side_first);
    suite_add_tcase(suite, read);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
