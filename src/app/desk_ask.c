#include "app/desk_ask.h"

#include <errno.h>
#include <glib-unix.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "app/desk_notice.h"
#include "omogon/clock.h"
#include "omogon/words.h"

/* A question that nobody answers goes away. Our choice. */
#define ANSWER_S 120.0

static const struct {
    const char *item, *words;
} questions[OMO_DESK_QUESTIONS] = {
    {"desk-shoulder-up", OMO_WORD("Is your shoulder pulled up?")},
    {"desk-elbow-tight", OMO_WORD("Is your elbow tight to your side?")},
    {"desk-arm-tense", OMO_WORD("Is your arm tense?")},
};

struct omo_desk_asker {
    struct omo_desk_wait *wait;
    struct omo_desk_notice *notice; /**< NULL: the terminal */
    bool closed;                    /**< standard input has ended */
    char line[128];                 /**< typed so far */
    size_t typed;
    bool whole; /**< up to a line end */
};

const char *omo_desk_item(int question)
{
    return questions[question].item;
}

/* ---- waiting ---- */

static gboolean on_signal(gpointer user)
{
    struct omo_desk_wait *wait = user;
    wait->stopped = true;
    g_main_loop_quit(wait->loop);
    return G_SOURCE_CONTINUE;
}

void omo_desk_wait_init(struct omo_desk_wait *wait)
{
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    *wait = (struct omo_desk_wait){.loop = g_main_loop_new(NULL, FALSE)};
    for (size_t i = 0; i < G_N_ELEMENTS(signals); i++)
        g_unix_signal_add(signals[i], on_signal, wait);
}

void omo_desk_wait_finish(struct omo_desk_wait *wait)
{
    g_main_loop_unref(wait->loop);
}

static gboolean on_time(gpointer user)
{
    struct omo_desk_wait *wait = user;
    g_main_loop_quit(wait->loop);
    return G_SOURCE_CONTINUE; /* taken away by who added it */
}

bool omo_desk_wait_for(struct omo_desk_wait *wait, double seconds)
{
    if (wait->stopped)
        return false;
    guint timer =
        g_timeout_add((guint)(seconds / omo_clock_rate() * 1000.0), on_time, wait);
    g_main_loop_run(wait->loop);
    g_source_remove(timer);
    return !wait->stopped;
}

/* ---- the terminal ---- */

/** Yes or no by its first letter, in English or in the words' language. */
static int meant(const char *letter)
{
    g_autofree char *yes = g_utf8_strdown(omo_word("yes"), -1);
    g_autofree char *no = g_utf8_strdown(omo_word("no"), -1);
    gunichar c = g_unichar_tolower(g_utf8_get_char(letter));
    if (c == 'y' || c == '1' || c == g_utf8_get_char(yes))
        return 1;
    return c == 'n' || c == '0' || c == g_utf8_get_char(no) ? 0 : -1;
}

/** "n y n", "nyn", "n - n": one sign a question. False when it is nothing of the kind. */
static bool read_answers(const char *line, int answer[OMO_DESK_QUESTIONS])
{
    int read[OMO_DESK_QUESTIONS] = {-1, -1, -1}, count = 0;
    if (!g_utf8_validate(line, -1, NULL))
        return false;
    for (const char *c = line; *c; c = g_utf8_next_char(c)) {
        if (strchr(" \t,;\r", *c))
            continue;
        if (count == OMO_DESK_QUESTIONS)
            return false;
        read[count] = meant(c);
        if (read[count] < 0 && *c != '-')
            return false;
        count++;
    }
    memcpy(answer, read, sizeof read);
    return true;
}

/** A byte at a time: a line may come in parts, and what follows it stays for the next. */
static gboolean on_typed(gint file, GIOCondition condition, gpointer user)
{
    struct omo_desk_asker *asker = user;
    char byte;
    ssize_t got = read(file, &byte, 1);
    (void)condition;
    asker->whole = got == 1 && byte == '\n';
    /* Sent to the background meanwhile (EIO) it only is no answer now. */
    asker->closed = got == 0 || (got < 0 && errno != EINTR && errno != EIO);
    if (got == 1 && !asker->whole && asker->typed < sizeof asker->line - 1)
        asker->line[asker->typed++] = byte;
    if (got != 1 || asker->whole)
        g_main_loop_quit(asker->wait->loop);
    return G_SOURCE_CONTINUE;
}

/** Who was sent to the background may not read: the line then is a reminder alone. */
static bool may_read(void)
{
    return !isatty(STDIN_FILENO) || tcgetpgrp(STDIN_FILENO) == getpgrp();
}

static void ask_in_terminal(struct omo_desk_asker *asker, int answer[OMO_DESK_QUESTIONS])
{
    int64_t until_ns = omo_clock_ns() + (int64_t)(ANSWER_S * 1e9);
    printf("%s\n",
           omo_word("Desk check: shoulder up? elbow tight to the side? arm tense? "
                    "Type y or n for each, for example n y n."));
    fflush(stdout);
    if (asker->closed || !may_read())
        return;
    guint source = g_unix_fd_add(STDIN_FILENO, G_IO_IN | G_IO_HUP, on_typed, asker);
    for (bool done = false; !done && !asker->closed;) {
        double left_s = (double)(until_ns - omo_clock_ns()) / 1e9;
        asker->typed = 0;
        asker->whole = false;
        if (left_s <= 0 || !omo_desk_wait_for(asker->wait, left_s) || !asker->whole)
            break;
        asker->line[asker->typed] = '\0';
        done = read_answers(asker->line, answer);
        if (!done)
            printf("%s\n",
                   omo_word("Type y or n three times, for example n y n; - leaves "
                            "one out, an empty line all."));
        fflush(stdout);
    }
    g_source_remove(source);
}

/* ---- asking ---- */

struct omo_desk_asker *omo_desk_asker_create(struct omo_desk_wait *wait, bool notify)
{
    struct omo_desk_asker *asker = g_new0(struct omo_desk_asker, 1);
    asker->wait = wait;
    asker->notice = notify ? omo_desk_notice_create(wait) : NULL;
    signal(SIGTTIN, SIG_IGN); /* a read from the background fails instead of stopping */
    return asker;
}

void omo_desk_asker_destroy(struct omo_desk_asker *asker)
{
    omo_desk_notice_destroy(asker->notice);
    g_free(asker);
}

void omo_desk_say(struct omo_desk_asker *asker, const char *text)
{
    if (asker->notice && omo_desk_notice_show(asker->notice, text, "", false))
        return;
    printf("%s\n", text);
    fflush(stdout);
}

void omo_desk_ask(struct omo_desk_asker *asker, const char *guidance,
                  int answer[OMO_DESK_QUESTIONS])
{
    for (int i = 0; i < OMO_DESK_QUESTIONS; i++)
        answer[i] = -1;
    for (int i = 0; asker->notice && i < OMO_DESK_QUESTIONS; i++) {
        if (!omo_desk_notice_show(asker->notice, omo_word(questions[i].words), guidance,
                                  true)) {
            if (i > 0) /* it went away between two questions: the rest stays open */
                return;
            break;
        }
        answer[i] = omo_desk_notice_answer(asker->notice, ANSWER_S);
        if (answer[i] < 0 || i == OMO_DESK_QUESTIONS - 1)
            return;
    }
    if (guidance[0])
        printf("%s\n", guidance);
    ask_in_terminal(asker, answer);
}

bool omo_desk_deaf(const struct omo_desk_asker *asker)
{
    return asker->closed && !asker->notice;
}
