#include "show/sound/speech.h"

#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#define PROGRAM "espeak-ng"
/* Words a minute; its own 175 is fast for someone who listens to a voice of a machine. */
#define WORDS_PER_MINUTE "140"

extern char **environ;

void omo_speech_init(struct omo_speech *speech, const char *language)
{
    size_t length = 0;

    memset(speech, 0, sizeof *speech);
    /* "de_DE.UTF-8" is spoken by "de"; nothing else gets into the arguments. */
    while (length < 3 && language != NULL && islower((unsigned char)language[length]))
        length++;
    if (length < 2)
        snprintf(speech->voice, sizeof speech->voice, "en");
    else
        snprintf(speech->voice, sizeof speech->voice, "%.*s", (int)length, language);
}

/* The sentence as a file without a name, so that writing it neither blocks nor raises
 * SIGPIPE when the program is missing or dies. -1 on failure. */
static int sentence_file(const char *sentence)
{
    const size_t length = strlen(sentence);
    const int file = memfd_create("sentence", MFD_CLOEXEC);

    if (file < 0)
        return -1;
    if (write(file, sentence, length) != (ssize_t)length ||
        lseek(file, 0, SEEK_SET) != 0) {
        close(file);
        return -1;
    }
    return file;
}

/* 0 when it could not be started. */
static pid_t start(const char *voice, int sentence)
{
    char *const arguments[] = {(char[]){PROGRAM},
                               (char[]){"-v"},
                               (char *)voice,
                               (char[]){"-s"},
                               (char[]){WORDS_PER_MINUTE},
                               (char[]){"-b"},
                               (char[]){"1"}, /* UTF-8 */
                               (char[]){"--stdin"},
                               NULL};
    posix_spawn_file_actions_t files;
    posix_spawnattr_t attributes;
    sigset_t none, all;
    pid_t child = 0;

    if (posix_spawn_file_actions_init(&files) != 0)
        return 0;
    if (posix_spawnattr_init(&attributes) != 0) {
        posix_spawn_file_actions_destroy(&files);
        return 0;
    }
    sigemptyset(&none);
    sigfillset(&all);
    /* It holds no other file open, above all not the camera; it is a group of its own,
     * so that whatever it starts ends with it; and no signal stays blocked or ignored. */
    const bool ready =
        posix_spawn_file_actions_adddup2(&files, sentence, STDIN_FILENO) == 0 &&
        posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY,
                                         0) == 0 &&
        posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", O_WRONLY,
                                         0) == 0 &&
        posix_spawn_file_actions_addclosefrom_np(&files, STDERR_FILENO + 1) == 0 &&
        posix_spawnattr_setpgroup(&attributes, 0) == 0 &&
        posix_spawnattr_setsigmask(&attributes, &none) == 0 &&
        posix_spawnattr_setsigdefault(&attributes, &all) == 0 &&
        posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP |
                                                  POSIX_SPAWN_SETSIGMASK |
                                                  POSIX_SPAWN_SETSIGDEF) == 0;

    if (!ready ||
        posix_spawnp(&child, PROGRAM, &files, &attributes, arguments, environ) != 0)
        child = 0;
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&files);
    return child;
}

void omo_speech_say(struct omo_speech *speech, const char *sentence)
{
    omo_speech_stop(speech);
    if (sentence == NULL || sentence[0] == '\0')
        return;

    const int file = sentence_file(sentence);
    if (file < 0)
        return;
    speech->running = start(speech->voice, file);
    close(file);
}

bool omo_speech_busy(struct omo_speech *speech)
{
    if (speech->running == 0)
        return false;
    if (waitpid(speech->running, NULL, WNOHANG) == 0)
        return true;
    speech->running = 0;
    return false;
}

void omo_speech_stop(struct omo_speech *speech)
{
    /* Only a child that has not been reaped yet still owns its number. */
    if (!omo_speech_busy(speech))
        return;
    kill(-speech->running, SIGKILL);
    while (waitpid(speech->running, NULL, 0) < 0 && errno == EINTR)
        continue;
    speech->running = 0;
}
