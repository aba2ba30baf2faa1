/* Status, messages, the clock, model paths and atomic files. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>

#include "omogon/clock.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/status.h"

static char folder[64];
static int messages;
static char last_message[1100];
static enum omo_log_level last_level;

static void remember(enum omo_log_level level, const char *text, void *user)
{
    ck_assert_ptr_eq(user, &messages);
    messages++;
    last_level = level;
    snprintf(last_message, sizeof last_message, "%s", text);
}

static void make_folder(void)
{
    snprintf(folder, sizeof folder, "%s/omogon-test-XXXXXX", g_get_tmp_dir());
    ck_assert_ptr_nonnull(mkdtemp(folder));
    messages = 0;
    omo_log_set_handler(remember, &messages);
}

static void remove_folder(void)
{
    char *command = g_strdup_printf("chmod -R u+rwx %s; rm -rf %s", folder, folder);

    omo_log_set_handler(NULL, NULL);
    ck_assert_int_eq(system(command), 0);
    g_free(command);
}

static const char *in_folder(const char *name)
{
    static char path[4][256];
    static int next;

    next = (next + 1) % 4;
    snprintf(path[next], sizeof path[next], "%s/%s", folder, name);
    return path[next];
}

static int entries(void)
{
    GDir *dir = g_dir_open(folder, 0, NULL);
    int count = 0;

    while (g_dir_read_name(dir) != NULL)
        count++;
    g_dir_close(dir);
    return count;
}

START_TEST(every_status_has_a_text_of_its_own)
{
    for (int a = OMO_OK; a <= OMO_ERR_CANCELLED; a++) {
        ck_assert_str_ne(omo_status_text((enum omo_status)a), "unknown status");
        for (int b = OMO_OK; b < a; b++)
            ck_assert_str_ne(omo_status_text((enum omo_status)a),
                             omo_status_text((enum omo_status)b));
    }
    ck_assert_str_eq(omo_status_text((enum omo_status)999), "unknown status");
}
END_TEST

START_TEST(a_message_is_one_line_whatever_a_file_is_called)
{
    omo_warning("%s is missing", "a\nb\x1b[31m");
    ck_assert_int_eq(messages, 1);
    ck_assert_int_eq(last_level, OMO_LOG_WARNING);
    ck_assert_str_eq(last_message, "a?b?[31m is missing");
    omo_error("%d", 7);
    ck_assert_int_eq(last_level, OMO_LOG_ERROR);
    omo_info("x");
    ck_assert_int_eq(last_level, OMO_LOG_INFO);
    ck_assert_int_eq(messages, 3);
}
END_TEST

static int64_t fast_clock(void *user)
{
    int64_t *now_ns = user;

    return *now_ns += 1000000000;
}

START_TEST(the_clock_rises_and_can_be_replaced)
{
    int64_t now_ns = 5, before = omo_clock_ns();

    ck_assert_int_ge(omo_clock_ns(), before);
    omo_clock_set_source(fast_clock, &now_ns);
    ck_assert_int_eq(omo_clock_ns(), 1000000005);
    ck_assert_int_eq(omo_clock_ns(), 2000000005);
    omo_clock_set_source(NULL, NULL);
    ck_assert_int_ge(omo_clock_ns(), before);
}
END_TEST

START_TEST(a_faster_clock_sleeps_shorter)
{
    struct timespec before, after;
    omo_clock_set_rate(50);
    int64_t from_ns = omo_clock_ns();
    clock_gettime(CLOCK_MONOTONIC, &before);
    omo_clock_sleep_until(from_ns + 2000000000);
    clock_gettime(CLOCK_MONOTONIC, &after);
    ck_assert_int_ge(omo_clock_ns(), from_ns + 2000000000);
    /* Two of its seconds are 40 ms; a busy machine may wake it late, never by seconds. */
    ck_assert_int_lt(after.tv_sec - before.tv_sec, 2);
    omo_clock_set_rate(-1); /* no pace at all: nothing changes */
    ck_assert_int_ge(omo_clock_ns(), from_ns + 2000000000);
}
END_TEST

START_TEST(models_come_first_from_the_folder_that_is_named)
{
    char path[4096], small[4] = "abc";

    ck_assert(g_file_set_contents(in_folder("only-here.ini"), "x", 1, NULL));
    g_setenv("OMOGON_MODELS", folder, TRUE);
    ck_assert_int_eq(omo_models_path("only-here.ini", path, sizeof path), OMO_OK);
    ck_assert_str_eq(path, in_folder("only-here.ini"));
    ck_assert_int_eq(omo_models_path("only-here.ini", small, sizeof small), OMO_ERR_ARG);
    ck_assert_str_eq(small, "abc");
    g_unsetenv("OMOGON_MODELS");
    strcpy(path, "untouched");
    ck_assert_int_eq(omo_models_path("only-here.ini", path, sizeof path), OMO_ERR_OPEN);
    ck_assert_str_eq(path, "untouched");
    ck_assert_int_eq(messages, 0);
}
END_TEST

START_TEST(an_atomic_file_replaces_the_old_one_whole)
{
    struct stat info;
    char *bytes;
    size_t size;

    ck_assert_int_eq(omo_file_write_atomic(in_folder("a.ini"), "old", 3, 0600), OMO_OK);
    ck_assert_int_eq(omo_file_write_atomic(in_folder("a.ini"), "newer", 5, 0640), OMO_OK);
    ck_assert_int_eq(omo_file_read(in_folder("a.ini"), 100, &bytes, &size), OMO_OK);
    ck_assert_uint_eq(size, 5);
    ck_assert_str_eq(bytes, "newer");
    free(bytes);
    ck_assert_int_eq(stat(in_folder("a.ini"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0640);
    ck_assert_int_eq(entries(), 1);
    ck_assert_int_eq(messages, 0);
}
END_TEST

START_TEST(giving_up_leaves_the_old_file_and_nothing_else)
{
    struct omo_atomic_file *file;
    char *bytes;
    size_t size;

    ck_assert_int_eq(omo_file_write_atomic(in_folder("a"), "old", 3, 0600), OMO_OK);
    ck_assert_int_eq(omo_atomic_begin(in_folder("a"), 0600, &file), OMO_OK);
    ck_assert_int_eq(omo_atomic_add(file, "half", 4), OMO_OK);
    ck_assert_int_eq(entries(), 2);
    omo_atomic_abort(file);
    omo_atomic_abort(NULL);
    ck_assert_int_eq(entries(), 1);
    ck_assert_int_eq(omo_file_read(in_folder("a"), 100, &bytes, &size), OMO_OK);
    ck_assert_str_eq(bytes, "old");
    free(bytes);
}
END_TEST

START_TEST(a_sweep_takes_leftovers_but_not_files_in_the_making)
{
    struct omo_atomic_file *file;

    ck_assert(g_file_set_contents(in_folder(".a.1-0.omogon-tmp"), "half", 4, NULL));
    ck_assert(g_file_set_contents(in_folder("mine.omogon-tmp"), "x", 1, NULL));
    ck_assert_int_eq(omo_atomic_begin(in_folder("b"), 0600, &file), OMO_OK);
    omo_atomic_sweep(folder);
    ck_assert_int_ne(access(in_folder(".a.1-0.omogon-tmp"), F_OK), 0);
    ck_assert_int_eq(access(in_folder("mine.omogon-tmp"), F_OK), 0);
    ck_assert_int_eq(omo_atomic_add(file, "b", 1), OMO_OK);
    ck_assert_int_eq(omo_atomic_commit(file), OMO_OK);
    ck_assert_int_eq(access(in_folder("b"), F_OK), 0);
    omo_atomic_sweep(in_folder("not-there"));
    ck_assert_int_eq(messages, 0);
}
END_TEST

START_TEST(a_folder_that_is_not_there_is_one_sentence)
{
    ck_assert_int_eq(omo_file_write_atomic(in_folder("no/a"), "x", 1, 0600), OMO_ERR_IO);
    ck_assert_int_eq(messages, 1);
    ck_assert_ptr_nonnull(strstr(last_message, "nothing was saved in"));
}
END_TEST

START_TEST(a_full_disk_is_one_sentence_with_a_remedy)
{
    int full = open("/dev/full", O_WRONLY);

    ck_assert_int_ge(full, 0);
    ck_assert_int_eq(omo_write_all(full, "x", 1), ENOSPC);
    close(full);
    ck_assert_ptr_nonnull(strstr(omo_errno_remedy(ENOSPC), "free some space"));
    ck_assert_ptr_nonnull(strstr(omo_errno_remedy(EROFS), "choose a folder"));
    ck_assert_str_eq(omo_errno_remedy(EIO), "");
}
END_TEST

START_TEST(folders_are_made_private_with_those_above)
{
    struct stat info;

    ck_assert_int_eq(omo_folder_make(in_folder("one/two//three/")), OMO_OK);
    ck_assert_int_eq(stat(in_folder("one"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0700);
    ck_assert_int_eq(stat(in_folder("one/two/three"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0700);
    ck_assert_int_eq(g_chmod(in_folder("one"), 0755), 0);
    ck_assert_int_eq(omo_folder_make(in_folder("one")), OMO_OK);
    ck_assert_int_eq(stat(in_folder("one"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0755);
    ck_assert_int_eq(omo_folder_make("."), OMO_OK);
    ck_assert_int_eq(omo_folder_make("/"), OMO_OK);
    ck_assert_int_eq(messages, 0);
}
END_TEST

START_TEST(what_cannot_be_a_folder_is_one_sentence)
{
    ck_assert(g_file_set_contents(in_folder("file"), "x", 1, NULL));
    ck_assert_int_eq(omo_folder_make(in_folder("file")), OMO_ERR_OPEN);
    ck_assert_int_eq(messages, 1);
    ck_assert_int_eq(omo_folder_make(in_folder("file/below")), OMO_ERR_IO);
    ck_assert_int_eq(messages, 2);
    ck_assert_int_eq(omo_folder_make(""), OMO_ERR_ARG);
    ck_assert_int_eq(messages, 3);
}
END_TEST

START_TEST(files_are_read_whole_and_within_their_limit)
{
    char *bytes = NULL, *large = g_strnfill(20000, 'a');
    size_t size = 7;

    ck_assert(g_file_set_contents(in_folder("large"), large, 20000, NULL));
    ck_assert_int_eq(omo_file_read(in_folder("large"), 20000, &bytes, &size), OMO_OK);
    ck_assert_uint_eq(size, 20000);
    ck_assert_str_eq(bytes, large);
    free(bytes);
    bytes = NULL;
    ck_assert_int_eq(omo_file_read(in_folder("large"), 19999, &bytes, &size),
                     OMO_ERR_FORMAT);
    ck_assert_int_eq(messages, 1);
    ck_assert_int_eq(omo_file_read(folder, 100, &bytes, &size), OMO_ERR_IO);
    ck_assert_int_eq(messages, 2);
    ck_assert_int_eq(omo_file_read(in_folder("none"), 100, &bytes, &size), OMO_ERR_OPEN);
    ck_assert_int_eq(errno, ENOENT);
    ck_assert_int_eq(messages, 2);
    ck_assert_ptr_null(bytes);
    ck_assert_uint_eq(size, 20000);
    g_free(large);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("base");
    TCase *tests = tcase_create("base");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_test(tests, every_status_has_a_text_of_its_own);
    tcase_add_test(tests, a_message_is_one_line_whatever_a_file_is_called);
    tcase_add_test(tests, the_clock_rises_and_can_be_replaced);
    tcase_add_test(tests, a_faster_clock_sleeps_shorter);
    tcase_add_test(tests, models_come_first_from_the_folder_that_is_named);
    tcase_add_test(tests, an_atomic_file_replaces_the_old_one_whole);
    tcase_add_test(tests, giving_up_leaves_the_old_file_and_nothing_else);
    tcase_add_test(tests, a_sweep_takes_leftovers_but_not_files_in_the_making);
    tcase_add_test(tests, a_folder_that_is_not_there_is_one_sentence);
    tcase_add_test(tests, a_full_disk_is_one_sentence_with_a_remedy);
    tcase_add_test(tests, folders_are_made_private_with_those_above);
    tcase_add_test(tests, what_cannot_be_a_folder_is_one_sentence);
    tcase_add_test(tests, files_are_read_whole_and_within_their_limit);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
