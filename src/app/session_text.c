/* A session in the terminal: with the camera's numbers in lines, or without it by the
 * clock and by typing alone. */
#include <errno.h>
#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "app/commands.h"
#include "app/session_camera.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define TICK_MS 100

struct terminal {
    struct omo_session_run *run;
    char typed[1024]; /* of the line that is being typed */
    size_t typed_size;
    bool ended;     /* nothing more will be typed */
    bool live;      /* somebody looks at it: a countdown may be written over itself */
    unsigned shown; /* the page that was printed last */
    bool any_shown;
    int counted_s; /* what the countdown said last */
    struct omo_session_camera *camera;
    bool blind; /* the camera failed: its steps go by the clock from now on */
};

/* ---- printing ---------------------------------------------------------------------- */

/** What can be typed here. */
static void print_keys(const struct omo_session_page *page)
{
    switch (page->need) {
    case OMO_NEED_GO_ON:
        puts(omo_word("  [Enter: go on]"));
        break;
    case OMO_NEED_SCALE:
        puts(omo_word("  [a number from 0 to 10]"));
        break;
    case OMO_NEED_CHOICE:
        puts(omo_word("  [the number of your answer]"));
        break;
    case OMO_NEED_TICKS:
        puts(omo_word("  [numbers to tick or untick; Enter: go on]"));
        break;
    case OMO_NEED_NUMBER:
        printf(omo_word("  [a number from %.0f to %.0f]\n"), page->least, page->most);
        break;
    case OMO_NEED_TEXT:
        puts(omo_word("  [type a line; Enter alone: nothing to note]"));
        break;
    case OMO_NEED_TIME:
        puts(page->step && page->step->kind == OMO_STEP_PRESS
                 ? omo_word("  [p: it hurts more; t: tingling, a pulse, heat, a lump; "
                            "Enter: go on]")
                 : omo_word("  [p: it hurts; Enter: go on]"));
        break;
    case OMO_NEED_SWING:
    case OMO_NEED_STAY:
        puts(omo_word("  [p: it hurts; Enter: that was it]"));
        break;
    case OMO_NEED_MEASURE:
    case OMO_NEED_NOTHING:
        break;
    }
}

static void print_page(const struct omo_session_page *page)
{
    putchar('\n');
    if (page->title[0])
        printf("-- %s\n", page->title);
    printf("%s\n", page->instruction);
    for (int i = 0; i < page->line_count; i++)
        printf("  %s\n", page->line[i]);
    for (int i = 0; i < page->item_count; i++)
        printf("  %2d %s%s\n", i + 1,
               page->need != OMO_NEED_TICKS ? ""
               : page->ticked & (1u << i)   ? "[x] "
                                            : "[ ] ",
               page->item[i]);
    if (page->caution[0])
        printf("  ! %s\n", page->caution);
    print_keys(page);
    fflush(stdout);
}

/** Every ten seconds, and the last five, or every second where it can be written over. */
static void print_countdown(struct terminal *t, const struct omo_session_page *page)
{
    if (isnan(page->left_s))
        return;
    int left = (int)ceil(page->left_s);
    if (left == t->counted_s)
        return;
    t->counted_s = left;
    if (t->live) {
        putchar('\r'); /* over the one before */
        printf(omo_word("  %d seconds left "), left);
    } else if (left % 10 == 0)
        printf(omo_word("  %d seconds left\n"), left);
    if (left == 0 && t->live)
        putchar('\n');
    fflush(stdout);
}

static void show(struct terminal *t)
{
    struct omo_session_page page;
    omo_session_run_page(t->run, &page);
    if (!t->any_shown || page.serial != t->shown) {
        t->counted_s = -1;
        print_page(&page);
        t->any_shown = true;
        t->shown = page.serial;
    }
    if (page.need == OMO_NEED_TIME || page.need == OMO_NEED_STAY)
        print_countdown(t, &page);
}

/* ---- typing ------------------------------------------------------------------------ */

static void press(struct terminal *t, enum omo_session_press what)
{
    omo_session_run_press(t->run, what);
}

/** A letter that means the same on every page. */
static bool common_letter(struct terminal *t, const char *line)
{
    static const struct {
        char letter;
        enum omo_session_press press;
    } letters[] = {{'p', OMO_SESSION_PAIN}, {'t', OMO_SESSION_SIGN},
                   {'s', OMO_SESSION_SKIP}, {'e', OMO_SESSION_ENOUGH},
                   {'b', OMO_SESSION_BACK}, {'q', OMO_SESSION_LEAVE}};
    if (strlen(line) != 1)
        return false;
    for (size_t i = 0; i < G_N_ELEMENTS(letters); i++)
        if (line[0] == letters[i].letter) {
            press(t, letters[i].press);
            return true;
        }
    return false;
}

static void take_line(struct terminal *t, char *line)
{
    struct omo_session_page page;
    double number;
    g_strstrip(line);
    omo_session_run_page(t->run, &page);
    if (common_letter(t, line))
        return;
    if (page.need == OMO_NEED_TEXT) {
        omo_session_run_text(t->run, line);
        return;
    }
    if (!line[0]) {
        press(t, OMO_SESSION_GO_ON);
        return;
    }
    bool taken = false;
    if (omo_number_parse(line, &number)) {
        bool listed = page.need == OMO_NEED_CHOICE || page.need == OMO_NEED_TICKS;
        taken = omo_session_run_answer(t->run, listed ? number - 1 : number);
        if (taken && page.need == OMO_NEED_TICKS)
            t->any_shown = false; /* the same page with other ticks */
    }
    if (!taken) {
        printf(omo_word("  \"%s\" is not understood here; s leaves the step out, e is "
                        "enough for today, b goes back, q breaks off.\n"),
               line);
        print_keys(&page);
        fflush(stdout);
    }
}

/** Reads what has been typed, waiting a tick at most. */
static void read_typed(struct terminal *t)
{
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    if (t->ended) {
        g_usleep(TICK_MS * 1000);
        return;
    }
    if (poll(&in, 1, TICK_MS) <= 0)
        return;
    char bytes[256];
    ssize_t got = read(STDIN_FILENO, bytes, sizeof bytes);
    if (got < 0 && (errno == EINTR || errno == EAGAIN))
        return;
    if (got <= 0) {
        t->ended = true;
        return;
    }
    for (ssize_t i = 0; i < got; i++) {
        if (bytes[i] != '\n') {
            if (t->typed_size < sizeof t->typed - 1)
                t->typed[t->typed_size++] = bytes[i];
            continue;
        }
        t->typed[t->typed_size] = '\0';
        t->typed_size = 0;
        take_line(t, t->typed);
        show(t);
    }
}

/* ---- the camera -------------------------------------------------------------------- */

static bool is_watched(enum omo_session_need need)
{
    return need == OMO_NEED_SWING || need == OMO_NEED_STAY;
}

/** Camera on while a step is watched; a step whose camera fails is left out. */
static void follow_camera(struct terminal *t)
{
    struct omo_session_page page;
    const struct omo_live_now *now;
    omo_session_run_page(t->run, &page);
    if (!is_watched(page.need)) {
        omo_session_camera_close(t->camera);
        t->camera = NULL;
        return;
    }
    if (!t->camera &&
        omo_session_camera_open(t->run, &page, NULL, NULL, &t->camera) != OMO_OK) {
        t->camera = NULL;
        press(t, OMO_SESSION_SKIP);
        return;
    }
    omo_session_camera_take(t->camera, &now);
    if (omo_session_camera_ended(t->camera) && !omo_session_camera_take(t->camera, &now))
        press(t, OMO_SESSION_GO_ON);
}

static int measure(struct terminal *t, const struct omo_session_page *page)
{
    omo_session_camera_close(t->camera);
    t->camera = NULL;
    print_page(page);
    int code = omo_session_run_measure(t->run, page);
    if (code != OMO_EXIT_DONE)
        press(t, OMO_SESSION_SKIP);
    return code;
}

int omo_session_in_text(struct omo_session_run *run)
{
    struct terminal t = {.run = run, .live = isatty(STDOUT_FILENO) != 0, .counted_s = -1};
    struct omo_session_page page;
    int code = OMO_EXIT_DONE;
    for (;;) {
        if (!omo_session_run_keep(run)) {
            code = OMO_EXIT_FAILED;
            break;
        }
        omo_session_run_page(run, &page);
        if (page.need == OMO_NEED_MEASURE) {
            int measured = measure(&t, &page);
            if (measured != OMO_EXIT_DONE)
                code = measured;
            continue;
        }
        show(&t);
        if (page.need == OMO_NEED_NOTHING)
            break;
        if (omo_measuring_interrupted() || (t.ended && !run->words->hands_free))
            press(&t, OMO_SESSION_LEAVE);
        else
            read_typed(&t);
        follow_camera(&t);
    }
    omo_session_camera_close(t.camera);
    return code;
}
