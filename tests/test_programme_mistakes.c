/* Programmes: every mistake has its sentence with its line, and what to do about it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "omogon/files.h"
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

#define HEAD "[programme]\ntitle=Mine\n" /* lines 1 and 2: a step begins in line 3 */

#define PRESS                                                                            \
    "[p]\ngroup=settle\nkind=press\narea=blade-back\nguidance=g\n"             /* 3 to 7 \
                                                                                */
#define STAY     "[s]\ngroup=reach\nkind=stay\nmovement=flexion\nguidance=g\n" /* 3 to 7 */
#define SWING    "[w]\ngroup=swing\nkind=pendulum\nguidance=g\n" /* 3 to 6 */
#define LONG_50  "12345678901234567890123456789012345678901234567890"
#define LONG_250 LONG_50 LONG_50 LONG_50 LONG_50 LONG_50

static const struct {
    const char *name, *text;
    const char *says; /* the one sentence begins so */
} mistakes[] = {
    {"unknown key", HEAD PRESS "hold_on=3\n", "mine.ini:8: hold_on is no key of a press"},
    {"key of another kind", HEAD PRESS "circles=12\n",
     "mine.ini:8: circles is of no use in a press step; delete it"},
    {"key of a step in [programme]", "[programme]\ntitle=t\ncircles=12\n" PRESS,
     "mine.ini:3: circles is of no use in [programme]"},
    {"unknown key of [programme]", "[programme]\ntitle=t\ncolour=red\n" PRESS,
     "mine.ini:3: colour is no key of [programme]; write one of title, issue"},
    {"unknown group", HEAD "[n]\nkind=note\ngroup=stretch\n",
     "mine.ini:5: group \"stretch\" is not known; write one of settle, swing, reach, "
     "turn, "
     "use"},
    {"unknown kind", HEAD "[n]\ngroup=use\nkind=jump\n",
     "mine.ini:5: kind \"jump\" is not known; write one of press, pendulum"},
    {"no kind", HEAD "[n]\ngroup=use\n",
     "mine.ini:3: kind \"\" is not known; write one of press, pendulum"},
    {"no group", HEAD "[n]\nkind=note\n",
     "mine.ini:3: [n] has no group; add a line group=..."},
    {"unknown movement", HEAD "[m]\ngroup=use\nkind=measure\nmovement=circling\n",
     "mine.ini:6: movement \"circling\" is not known; write one of flexion, extension"},
    {"movement by its key",
     HEAD "[m]\ngroup=use\nkind=measure\nmovement=external-rotation/front\n",
     "mine.ini:6: movement \"external-rotation/front\""},
    {"a movement that is too long",
     HEAD "[m]\ngroup=use\nkind=measure\nmovement=" LONG_50 "\n",
     "mine.ini:6: movement is 50 bytes long; shorten it to 23"},
    {"pendulum as a movement", HEAD "[m]\ngroup=use\nkind=measure\nmovement=pendulum\n",
     "mine.ini:6: the pendulum is a kind of step; write kind=pendulum"},
    {"no movement", HEAD "[m]\ngroup=use\nkind=measure\n",
     "mine.ini:3: [m] has no movement; add a line movement=..."},
    {"unknown area", HEAD "[p]\ngroup=settle\nkind=press\narea=armpit\nguidance=g\n",
     "mine.ini:6: area \"armpit\" is not known; write one of upper-trapezius"},
    {"no guidance", HEAD "[p]\ngroup=settle\nkind=press\narea=blade-back\n",
     "mine.ini:3: [p] has no guidance; add a line guidance=..."},
    {"unknown finding", HEAD "[f]\ngroup=use\nkind=finding\nfinding=mood\n",
     "mine.ini:6: finding \"mood\" is not known; write one of hand-behind-back"},
    {"unknown side", HEAD STAY "side=sore\n",
     "mine.ini:8: side \"sore\" is not known; write one of affected, other, left, right, "
     "both"},
    {"side of what has none",
     HEAD "[f]\ngroup=use\nkind=finding\nfinding=nights-woken\nside=left\n",
     "mine.ini:7: nights-woken is of the whole person and has no side; delete the line"},
    {"finding of both sides at once",
     HEAD "[f]\ngroup=use\nkind=finding\nfinding=hand-to-mouth\nside=both\n",
     "mine.ini:7: a finding step is done with one arm at a time"},
    {"stay with both arms", HEAD STAY "side=both\n",
     "mine.ini:8: a stay step is done with one arm at a time; write a step for each "
     "side"},
    {"unknown mode", HEAD STAY "mode=passive\n",
     "mine.ini:8: mode \"passive\" is not known; write one of active, assisted"},
    {"unknown position", HEAD STAY "position=kneeling\n",
     "mine.ini:8: position \"kneeling\" is not known; write one of standing"},
    {"position of another movement", HEAD STAY "position=prone\n",
     "mine.ini:8: flexion is not done prone; write one of standing, seated, supine"},
    {"lying pendulum", HEAD SWING "position=supine\n",
     "mine.ini:7: a pendulum is not done supine; write standing"},
    {"unknown view", HEAD STAY "view=above\n",
     "mine.ini:8: view \"above\" is not known; write one of front, side, along-arm"},
    {"view of another movement", HEAD STAY "view=front\n",
     "mine.ini:8: flexion is not measured from the view \"front\"; delete the line"},
    {"unknown pace", HEAD STAY "pace=fast\n",
     "mine.ini:8: pace \"fast\" is not known; write one of own, paced"},
    {"unknown time of a pain", HEAD "[q]\ngroup=use\nkind=pain\nwhen=later\n",
     "mine.ini:6: when \"later\" is not known; write one of now, worst-24h"},
    {"unknown arms", "[programme]\ntitle=t\narms=two\n" PRESS,
     "mine.ini:3: arms \"two\" is not known; write one of one, both"},
    {"hold too short", HEAD PRESS "hold_s=29\n",
     "mine.ini:8: hold_s 29 is not between 30 and 180; a press rests"},
    {"hold too long", HEAD PRESS "hold_s=180.1\n",
     "mine.ini:8: hold_s 180.1 is not between 30 and 180"},
    {"a stay's own range", HEAD STAY "hold_s=4\n",
     "mine.ini:8: hold_s 4 is not between 5 and 180; a stay rests"},
    {"too few breaths", HEAD PRESS "breaths=4\n",
     "mine.ini:8: breaths 4 is not between 5 and 10"},
    {"half a breath", HEAD PRESS "breaths=5.5\n",
     "mine.ini:8: breaths 5.5 is not a whole number; round it"},
    {"pace out of range", HEAD PRESS "pace=paced\nbreaths_per_min=21\n",
     "mine.ini:9: breaths_per_min 21 is not between 4 and 20"},
    {"pace of nothing paced", HEAD PRESS "breaths_per_min=6\n",
     "mine.ini:8: breaths_per_min is for a paced breath; add pace=paced or delete it"},
    {"too few circles", HEAD SWING "circles=9\n",
     "mine.ini:7: circles 9 is not between 10 and 20"},
    {"too many circles", HEAD SWING "circles=21\n",
     "mine.ini:7: circles 21 is not between 10 and 20"},
    {"heavy weight", HEAD SWING "load_kg=3\n",
     "mine.ini:7: load_kg 3 is not between 0 and 2.5"},
    {"too many raises", HEAD STAY "repetitions=6\n",
     "mine.ini:8: repetitions 6 is not between 1 and 5; more than five raises"},
    {"no raise", HEAD STAY "repetitions=0\n",
     "mine.ini:8: repetitions 0 is not between 1 and 5"},
    {"too many ease-ups", HEAD STAY "ease_ups=4\n",
     "mine.ini:8: ease_ups 4 is not between 0 and 3"},
    {"ceiling below zero", HEAD STAY "ceiling_deg=-5\n",
     "mine.ini:8: ceiling_deg -5 is not between 0 and 180; it is the angle the arm must "
     "not pass"},
    {"ceiling above a circle's half", HEAD STAY "ceiling_deg=181\n",
     "mine.ini:8: ceiling_deg 181 is not between 0 and 180"},
    {"pain limit of a step", HEAD STAY "pain_limit=11\n",
     "mine.ini:8: pain_limit 11 is not between 0 and 10; pain is told from 0 to 10"},
    {"pain limit of the programme", "[programme]\ntitle=t\npain_limit=-1\n" PRESS,
     "mine.ini:3: pain_limit -1 is not between 0 and 10"},
    {"desk too often", HEAD "[d]\ngroup=use\nkind=desk\nevery_min=1\n",
     "mine.ini:6: every_min 1 is not between 5 and 240; it is in minutes"},
    {"hold and breaths", HEAD PRESS "hold_s=60\nbreaths=5\n",
     "mine.ini:9: a hold goes by time or by breaths; delete hold_s or breaths"},
    {"wrong unit in the key", HEAD PRESS "hold_min=1\n",
     "mine.ini:8: hold_min has another unit; write it as hold_s, in that unit"},
    {"no unit in the key", HEAD STAY "ceiling=90\n",
     "mine.ini:8: ceiling has another unit; write it as ceiling_deg"},
    {"unit in the value", HEAD PRESS "hold_s=60 s\n",
     "mine.ini:8: hold_s \"60 s\" is not a number; write the number alone"},
    {"comma", HEAD PRESS "hold_s=60,5\n",
     "mine.ini:8: hold_s \"60,5\" is not a number; write a dot, not a comma"},
    {"remark behind a value", HEAD PRESS "hold_s=60 # long\n",
     "mine.ini:8: hold_s \"60 # long\" is not a number; put the remark on a line of its "
     "own"},
    {"number in words", HEAD PRESS "hold_s=long\n",
     "mine.ini:8: hold_s \"long\" is not a number; write it in digits"},
    {"infinity", HEAD PRESS "hold_s=inf\n", "mine.ini:8: hold_s \"inf\" is not a number"},
    {"no number at all", HEAD PRESS "hold_s=\n",
     "mine.ini:8: hold_s \"\" is not a number; write it in digits"},
    {"doubled key", HEAD PRESS "area=blade-corner\n",
     "mine.ini:8: area is there twice (line 6 too); delete one of them"},
    {"translation of nothing", HEAD PRESS "caution[de]=Halt\n",
     "mine.ini:8: caution[de] has no caution beside it, for all other languages; add a line "
     "caution=..."},
    {"doubled translation", HEAD PRESS "caution=a\ncaution[de]=b\ncaution[de]=c\n",
     "mine.ini:10: caution[de] is there twice (line 9 too); delete one of them"},
    {"empty translation", HEAD PRESS "caution=a\ncaution[de]=\n",
     "mine.ini:9: caution[de] is empty; write something or delete the line"},
    {"translation of what is no text", HEAD PRESS "area[de]=blade-corner\n",
     "mine.ini:8: area[de] is no key of a press"},
    {"translated title of a step", HEAD PRESS "title[de]=x\n",
     "mine.ini:8: title[de] is no key of a press"},
    {"doubled step", HEAD PRESS PRESS,
     "mine.ini:8: [p] is there twice (line 3 too); give one of them another name"},
    {"doubled [programme]", HEAD HEAD PRESS, "mine.ini:3: [programme] is there twice"},
    {"no [programme]", PRESS, "mine.ini:1: there is no [programme]; begin the file with"},
    {"no title", "[programme]\n" PRESS,
     "mine.ini:1: [programme] has no title; add a line title=..."},
    {"no step", HEAD, "mine.ini:1: there is no step; add a [name]"},
    {"step's name", HEAD "[My step]\ngroup=use\nkind=note\n",
     "mine.ini:3: [My step] is no name for a step; take small letters, digits and "
     "hyphens"},
    {"step without a name", HEAD "[]\ngroup=use\nkind=note\n",
     "mine.ini:3: [] is no name for a step"},
    {"step's name too long", HEAD "[" LONG_50 "]\ngroup=use\nkind=note\n",
     "mine.ini:3: ["
     "12345678901234567890123456789012345678901234567"
     "] is no name for a step"},
    {"bracket left open", HEAD "[n\ngroup=use\nkind=note\n",
     "mine.ini:3: a line that begins with [ is a step's name alone"},
    {"text behind a bracket", HEAD "[n] x\ngroup=use\nkind=note\n",
     "mine.ini:3: a line that begins with [ is a step's name alone"},
    {"key before every group", "title=t\n" HEAD PRESS,
     "mine.ini:1: this stands before the first [group]"},
    {"no key=value", HEAD PRESS "hold 60\n",
     "mine.ini:8: \"hold 60\" is not key=value; write it so, or put # before a remark"},
    {"value without a key", HEAD PRESS "=60\n", "mine.ini:8: \"=60\" is not key=value"},
    {"backslash", HEAD PRESS "caution=and\\or\n",
     "mine.ini:8: a backslash stands for nothing here"},
    {"backslash at the end", HEAD PRESS "caution=x\\\n",
     "mine.ini:8: a backslash stands for nothing here"},
    {"other encoding", HEAD PRESS "caution=Gr\xfc\xdf e\n",
     "mine.ini:8: this line is not UTF-8 text; save the file as UTF-8"},
    {"invisible character",
     HEAD PRESS "caution=a\x07"
                "b\n",
     "mine.ini:8: there is a character that cannot be seen"},
    {"long text", HEAD PRESS "caution=" LONG_250 LONG_250 LONG_50 "\n",
     "mine.ini:8: caution is 550 bytes long; shorten it to 511"},
    {"empty text", HEAD PRESS "caution=\n",
     "mine.ini:8: caution is empty; write something or delete the line"},
    {"questionnaire without a name",
     HEAD "[f]\ngroup=use\nkind=finding\nfinding=questionnaire\n",
     "mine.ini:3: [f] does not say which questionnaire; add a line for=..."},
    {"name of what has none",
     HEAD "[f]\ngroup=use\nkind=finding\nfinding=end-feel\nfor=flexion\n",
     "mine.ini:7: end-feel asks for nothing that has a name; delete the line for=..."},
    {"both arms in a course of one",
     HEAD "[m]\ngroup=use\nkind=measure\nmovement=abduction\nside=both\n",
     "mine.ini:7: this course measures one arm after the other; write arms=both"},
    {"one arm in a course of both",
     "[programme]\ntitle=t\narms=both\n[m]\ngroup=use\nkind=measure\nmovement="
     "abduction\n",
     "mine.ini:4: this course measures both arms at once; write side=both"},
    {"both arms where one is seen",
     "[programme]\ntitle=t\narms=both\n[m]\ngroup=use\nkind=measure\nmovement=flexion\n"
     "side=both\n",
     "mine.ini:8: the camera sees one arm alone in flexion; write a step for each side"},
};
#define MISTAKES ((int)(sizeof mistakes / sizeof mistakes[0]))

START_TEST(a_mistake_has_its_sentence_with_its_line)
{
    memset(&programme, 7, sizeof programme);
    struct omo_programme before = programme;
    listen();
    enum omo_status status = parse(mistakes[_i].text);
    stop_listening();
    ck_assert_msg(status == OMO_ERR_SETTINGS, "%s", mistakes[_i].name);
    ck_assert_msg(sentences == 1, "%s: %d sentences, \"%s\" and \"%s\"",
                  mistakes[_i].name, sentences, said[0], said[1]);
    ck_assert_msg(strncmp(said[0], mistakes[_i].says, strlen(mistakes[_i].says)) == 0,
                  "%s: \"%s\"", mistakes[_i].name, said[0]);
    /* What, and what to do about it. */
    ck_assert_msg(strstr(said[0], "; ") != NULL, "%s: \"%s\"", mistakes[_i].name,
                  said[0]);
    ck_assert_mem_eq(&before, &programme, sizeof programme);
}
END_TEST

START_TEST(every_mistake_of_a_file_is_said_in_the_order_of_its_lines)
{
    listen();
    ck_assert_int_eq(parse("[programme]\n[p]\nkind=press\narea=x\nhold_s=1\nfoo\n"
                           "[q]\ngroup=use\nkind=pain\nwhen=x\n"),
                     OMO_ERR_SETTINGS);
    stop_listening();
    static const char *const begin[] = {"mine.ini:1: [programme] has no title",
                                        "mine.ini:2: [p] has no group",
                                        "mine.ini:2: [p] has no guidance",
                                        "mine.ini:4: area",
                                        "mine.ini:5: hold_s",
                                        "mine.ini:6: \"foo\"",
                                        "mine.ini:10: when"};
    ck_assert_int_eq(sentences, 7);
    for (int i = 0; i < 7; i++)
        ck_assert_msg(strncmp(said[i], begin[i], strlen(begin[i])) == 0, "%s", said[i]);
}
END_TEST

START_TEST(a_file_full_of_mistakes_gets_twenty_sentences)
{
    char text[2048] = HEAD;
    for (int i = 0; i < 60; i++)
        strcat(text, "nonsense\n");
    listen();
    ck_assert_int_eq(parse(text), OMO_ERR_SETTINGS);
    stop_listening();
    ck_assert_int_eq(sentences, 20);
}
END_TEST

START_TEST(forty_steps_are_the_most)
{
    char text[4096] = HEAD, step[64];
    for (int i = 0; i < OMO_STEPS_MOST; i++) {
        snprintf(step, sizeof step, "[n%d]\ngroup=use\nkind=note\n", i);
        strcat(text, step);
    }
    ck_assert_int_eq(parse(text), OMO_OK);
    ck_assert_int_eq(programme.step_count, OMO_STEPS_MOST);
    strcat(text, "[more]\ngroup=use\nkind=note\n[most]\ngroup=use\nkind=note\n");
    listen();
    ck_assert_int_eq(parse(text), OMO_ERR_SETTINGS);
    stop_listening();
    ck_assert_int_eq(sentences, 1);
    ck_assert_msg(strncmp(said[0], "mine.ini:123: this is step 41 of at most 40", 43) ==
                      0,
                  "%s", said[0]);
}
END_TEST

START_TEST(a_long_path_leaves_the_sentence_whole)
{
    char path[1200];
    memset(path, 'x', sizeof path);
    strcpy(path + sizeof path - 10, "/end.ini");
    listen();
    ck_assert_int_eq(omo_programme_parse("x", 1, path, &programme), OMO_ERR_SETTINGS);
    stop_listening();
    ck_assert_ptr_nonnull(
        strstr(said[0], "/end.ini:1: \"x\" is not key=value; write it"));
}
END_TEST

START_TEST(nothing_at_all_is_no_programme)
{
    listen();
    ck_assert_int_eq(omo_programme_parse(NULL, 0, "mine.ini", &programme),
                     OMO_ERR_SETTINGS);
    ck_assert_int_eq(omo_programme_parse("\0\0", 2, "mine.ini", &programme),
                     OMO_ERR_SETTINGS);
    stop_listening();
}
END_TEST

START_TEST(a_file_that_is_not_there_is_said_once)
{
    static const char *const paths[] = {"/nowhere/my.ini", "no-such-starter", "/", ""};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        listen();
        ck_assert_int_eq(omo_programme_load(paths[i], &programme), OMO_ERR_OPEN);
        stop_listening();
        ck_assert_int_eq(sentences, 1);
        ck_assert_ptr_nonnull(strstr(said[0], "sore-weeks"));
    }
}
END_TEST

START_TEST(a_file_of_ones_own_comes_before_a_starter)
{
    char folder[] = "programme-XXXXXX";
    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert_int_eq(chdir(folder), 0);
    const char text[] = HEAD "[n]\ngroup=use\nkind=note\n";
    ck_assert_int_eq(omo_file_write_atomic("desk-days", text, strlen(text), 0600),
                     OMO_OK);
    ck_assert_int_eq(omo_programme_load("desk-days", &programme), OMO_OK);
    ck_assert_str_eq(programme.title, "Mine");
    ck_assert_int_eq(unlink("desk-days"), 0);
    ck_assert_int_eq(chdir(".."), 0);
    ck_assert_int_eq(rmdir(folder), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("programme_mistakes");
    TCase *wrong = tcase_create("mistakes");
    tcase_add_loop_test(wrong, a_mistake_has_its_sentence_with_its_line, 0, MISTAKES);
    tcase_add_test(wrong, every_mistake_of_a_file_is_said_in_the_order_of_its_lines);
    tcase_add_test(wrong, a_file_full_of_mistakes_gets_twenty_sentences);
    tcase_add_test(wrong, forty_steps_are_the_most);
    tcase_add_test(wrong, a_long_path_leaves_the_sentence_whole);
    tcase_add_test(wrong, nothing_at_all_is_no_programme);
    tcase_add_test(wrong, a_file_that_is_not_there_is_said_once);
    tcase_add_test(wrong, a_file_of_ones_own_comes_before_a_starter);
    suite_add_tcase(suite, wrong);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
