/* What a device gets, and sentences as a program of their own receives them. */
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>

#include "show/sound/sound.h"
#include "show/sound/speech.h"
#include "show/sound/tones.h"
#include "sound_fixture.h"

static char folder[64];

static void make_folder(void)
{
    snprintf(folder, sizeof folder, "%s/omogon-sound-XXXXXX", g_get_tmp_dir());
    ck_assert_ptr_nonnull(mkdtemp(folder));
}

static void remove_folder(void)
{
    char *command = g_strdup_printf("/bin/rm -rf %s", folder);

    ck_assert_int_eq(system(command), 0);
    g_free(command);
}

static char *in_folder(const char *name)
{
    return g_build_filename(folder, name, NULL);
}

/* Waits until a condition holds; a minute without it is a failure. */
#define WAIT_UNTIL(condition)                                                            \
    do {                                                                                 \
        int waited_ms = 0;                                                               \
        while (!(condition)) {                                                           \
            ck_assert_msg(waited_ms < 60000, "never: " #condition);                      \
            g_usleep(5000);                                                              \
            waited_ms += 5;                                                              \
        }                                                                                \
    } while (0)

static size_t size_of(const char *path)
{
    struct stat about;

    return stat(path, &about) == 0 ? (size_t)about.st_size : 0;
}

/* Puts a program in espeak-ng's place that writes its arguments, its input and its
 * number into the folder, then does what `then` says. */
static void fake_voice(const char *then)
{
    g_autofree char *path = in_folder("espeak-ng");
    g_autofree char *before = g_strdup(g_getenv("PATH"));
    g_autofree char *after = g_strdup_printf("%s:%s", folder, before);
    g_autofree char *script =
        g_strdup_printf("#!/bin/sh\n"
                        "cd '%s'\n"
                        "for a in \"$@\"; do printf '%%s\\n' \"$a\"; done >arguments\n"
                        "ls /proc/$$/fd >files\n"
                        "cat >said.part\n"
                        "mv said.part said\n"
                        "echo $$ >>numbers\n"
                        "%s\n",
                        folder, then);

    ck_assert(g_file_set_contents(path, script, -1, NULL));
    ck_assert_int_eq(chmod(path, 0700), 0);
    g_setenv("PATH", after, TRUE);
}

static char *contents(const char *name)
{
    g_autofree char *path = in_folder(name);
    char *text = NULL;

    g_file_get_contents(path, &text, NULL, NULL);
    return text == NULL ? g_strdup("") : text;
}

/* Numbers of the voices that were started so far. */
static int voices(pid_t *numbers, int most)
{
    g_autofree char *text = contents("numbers");
    int count = 0;

    for (char *at = text; *at != '\0' && count < most; at++) {
        numbers[count++] = (pid_t)strtol(at, &at, 10);
        if (*at != '\n')
            break;
    }
    return count;
}

START_TEST(what_a_device_gets_is_the_tone)
{
    g_autofree char *file = in_folder("samples");
    struct omo_sound *sound;
    gsize size;
    g_autofree char *bytes = NULL;

    g_setenv("SDL_AUDIODRIVER", "disk", TRUE);
    g_setenv("SDL_DISKAUDIOFILE", file, TRUE);
    ck_assert_int_eq(omo_sound_open("en", &sound), OMO_OK);
    omo_sound_angle(sound, 90);
    omo_sound_signal(sound, OMO_SIGNAL_WARN);
    ck_assert_msg(!g_file_test(file, G_FILE_TEST_EXISTS), "a device is open before on");

    omo_sound_on(sound, true);
    for (int i = 0; size_of(file) < (LONG + RATE_HZ / 4) * sizeof(float); i++) {
        omo_sound_angle(sound, i / 30 % 2 ? 91 : 89);
        g_usleep(10000);
        ck_assert_int_lt(i, 6000);
    }
    omo_sound_on(sound, false);
    const size_t after = size_of(file);
    omo_sound_signal(sound, OMO_SIGNAL_ENDED);
    omo_sound_angle(sound, 30);
    g_usleep(100000);
    ck_assert_uint_eq(size_of(file), after);
    omo_sound_destroy(sound);

    ck_assert(g_file_get_contents(file, &bytes, &size, NULL));
    const float *heard = (const float *)(void *)bytes;
    const size_t count = size / sizeof(float);
    ck_assert_double_eq_tol(dominant_hz(heard + RATE_HZ / 8), 440, 440 * PITCH_RATIO_TOL);
    ck_assert_double_lt(peak_of(heard, count), OMO_TONES_PEAK);
    ck_assert_double_lt(steepest_of(heard, count), STEEPEST);
    /* It fades out before it is closed. */
    ck_assert_double_lt(fabs((double)heard[count - 1]), 0.002);
}
END_TEST

START_TEST(waiting_lets_the_last_signal_and_sentence_end)
{
    g_autofree char *file = in_folder("samples");
    struct omo_sound *sound;
    gsize size;
    g_autofree char *bytes = NULL;

    fake_voice("sleep 1; echo over >over");
    g_setenv("SDL_AUDIODRIVER", "disk", TRUE);
    g_setenv("SDL_DISKAUDIOFILE", file, TRUE);
    ck_assert_int_eq(omo_sound_open("en", &sound), OMO_OK);
    omo_sound_wait(sound, 60);
    omo_sound_on(sound, true);
    omo_sound_signal(sound, OMO_SIGNAL_ENDED);
    omo_sound_say(sound, "Ended");
    omo_sound_wait(sound, 60);
    omo_sound_destroy(sound);

    g_autofree char *over = contents("over");
    ck_assert_str_eq(over, "over\n");
    ck_assert(g_file_get_contents(file, &bytes, &size, NULL));
    ck_assert_uint_gt(size / sizeof(float),
                      (size_t)(omo_tones_signal_s(OMO_SIGNAL_ENDED) * RATE_HZ));
}
END_TEST

START_TEST(without_a_device_everything_is_silent_and_nothing_fails)
{
    static const char *const drivers[] = {"dummy", "alsa", "no-such-driver"};
    struct omo_sound *sound;

    g_setenv("SDL_AUDIODRIVER", drivers[_i], TRUE);
    g_setenv("PATH", folder, TRUE); /* no espeak-ng either */
    ck_assert_int_eq(omo_sound_open("de", &sound), OMO_OK);
    for (int round = 0; round < 2; round++) {
        omo_sound_on(sound, true);
        omo_sound_angle(sound, 40);
        omo_sound_signal(sound, OMO_SIGNAL_NEUTRAL);
        omo_sound_say(sound, "Ruhig stehen");
        omo_sound_angle(sound, NAN);
        omo_sound_on(sound, false);
    }
    omo_sound_destroy(sound);
    omo_sound_destroy(NULL);
}
END_TEST

/* ---- speech ---- */

static const char *const sentences[] = {
    "Stand still.",
    "It's \"5\"; rm -rf *; `date` $(date) $HOME \\n <b> & | > x 'quoted",
    "-v --stdin",
    "Stehen Sie ruhig: die Schulter über der Hüfte – fünfzehn Grad.",
};

START_TEST(a_sentence_arrives_unharmed_and_by_its_input_alone)
{
    struct omo_speech speech;
    pid_t number;

    fake_voice("");
    omo_speech_init(&speech, "de");
    omo_speech_say(&speech, sentences[_i]);
    WAIT_UNTIL(!omo_speech_busy(&speech));
    ck_assert_int_eq(voices(&number, 1), 1);
    g_autofree char *said = contents("said");
    g_autofree char *arguments = contents("arguments");
    ck_assert_str_eq(said, sentences[_i]);
    ck_assert_str_eq(arguments, "-v\nde\n-s\n140\n-b\n1\n--stdin\n");
}
END_TEST

START_TEST(the_voice_is_that_of_the_language)
{
    static const struct {
        const char *language, *voice;
    } cases[] = {{"en", "en"},     {"de", "de"},    {"de_DE.UTF-8", "de"},
                 {"", "en"},       {NULL, "en"},    {"C", "en"},
                 {"--help", "en"}, {"en_GB", "en"}, {"fil", "fil"}};
    struct omo_speech speech;

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        omo_speech_init(&speech, cases[i].language);
        ck_assert_str_eq(speech.voice, cases[i].voice);
    }
}
END_TEST

START_TEST(a_missing_program_is_silent)
{
    struct omo_speech speech;

    g_setenv("PATH", folder, TRUE);
    omo_speech_init(&speech, "en");
    omo_speech_say(&speech, "Nobody hears this.");
    ck_assert(!omo_speech_busy(&speech));
    omo_speech_stop(&speech);
}
END_TEST

START_TEST(a_second_sentence_ends_the_first_and_leaves_no_dead_child)
{
    struct omo_speech speech;
    pid_t numbers[2];

    /* With a child of its own, which has to end too. */
    fake_voice("sleep 300");
    omo_speech_init(&speech, "en");
    omo_speech_say(&speech, "First");
    WAIT_UNTIL(voices(numbers, 2) == 1);
    ck_assert(omo_speech_busy(&speech));
    omo_speech_say(&speech, "Second");
    /* Dead and reaped: its number is nobody's, and its group is empty. */
    ck_assert_int_ne(kill(numbers[0], 0), 0);
    WAIT_UNTIL(kill(-numbers[0], 0) != 0);
    WAIT_UNTIL(voices(numbers, 2) == 2);
    ck_assert(omo_speech_busy(&speech));
    g_autofree char *said = contents("said");
    ck_assert_str_eq(said, "Second");

    omo_speech_stop(&speech);
    ck_assert(!omo_speech_busy(&speech));
    ck_assert_int_ne(kill(numbers[1], 0), 0);
}
END_TEST

START_TEST(the_voice_holds_no_file_of_the_program_open)
{
    g_autofree char *path = in_folder("espeak-ng");
    struct omo_speech speech;
    const int camera = open(path, O_RDONLY | O_CREAT, 0700); /* survives an exec */

    ck_assert_int_ge(camera, 3);
    fake_voice("");
    omo_speech_init(&speech, "en");
    omo_speech_say(&speech, "Hello");
    WAIT_UNTIL(!omo_speech_busy(&speech));
    close(camera);
    g_autofree char *files = contents("files");
    g_auto(GStrv) lines = g_strsplit(g_strchomp(files), "\n", -1);
    /* The shell's own script is read by a number from 10 on. */
    for (char **line = lines; *line != NULL; line++)
        ck_assert_msg(atoi(*line) < 3 || atoi(*line) >= 10, "file %s is open", *line);
}
END_TEST

START_TEST(sound_that_is_off_says_nothing_and_going_off_ends_a_sentence)
{
    struct omo_sound *sound;
    pid_t numbers[2];

    g_setenv("SDL_AUDIODRIVER", "dummy", TRUE);
    fake_voice("sleep 300");
    ck_assert_int_eq(omo_sound_open("en", &sound), OMO_OK);
    omo_sound_say(sound, "Too early");
    omo_sound_on(sound, true);
    omo_sound_say(sound, "Now");
    WAIT_UNTIL(voices(numbers, 2) == 1);
    g_autofree char *said = contents("said");
    ck_assert_str_eq(said, "Now");
    omo_sound_on(sound, false);
    ck_assert_int_ne(kill(numbers[0], 0), 0);
    omo_sound_say(sound, "Too late");
    omo_sound_destroy(sound);
    ck_assert_int_eq(voices(numbers, 2), 1);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("sound");
    TCase *tc = tcase_create("device and speech");

    tcase_add_checked_fixture(tc, make_folder, remove_folder);
    tcase_add_test(tc, what_a_device_gets_is_the_tone);
    tcase_add_test(tc, waiting_lets_the_last_signal_and_sentence_end);
    tcase_add_loop_test(tc, without_a_device_everything_is_silent_and_nothing_fails, 0,
                        3);
    tcase_add_loop_test(tc, a_sentence_arrives_unharmed_and_by_its_input_alone, 0,
                        sizeof sentences / sizeof sentences[0]);
    tcase_add_test(tc, the_voice_is_that_of_the_language);
    tcase_add_test(tc, a_missing_program_is_silent);
    tcase_add_test(tc, a_second_sentence_ends_the_first_and_leaves_no_dead_child);
    tcase_add_test(tc, the_voice_holds_no_file_of_the_program_open);
    tcase_add_test(tc, sound_that_is_off_says_nothing_and_going_off_ends_a_sentence);
    tcase_set_timeout(tc, 120);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
