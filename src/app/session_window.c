/* A session in the window: pages of words for what is asked and held, the measuring page
 * for what is watched. */
#include <math.h>
#include <string.h>

#include "app/commands.h"
#include "app/measuring_words.h"
#include "app/session_camera.h"
#include "omogon/breath_line.h"
#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define TICK_MS 100

/** What an item of a list page means beside an answer. */
enum meaning { MEANS_ANSWER, MEANS_PRESS };
struct choice {
    enum meaning meaning;
    double value;
    enum omo_session_press press;
};

struct window {
    struct omo_session_run *run;
    struct omo_session_page page;
    unsigned serial; /* of the page that is shown */
    bool shown;
    int chosen;
    struct choice choice[OMO_SESSION_ITEMS + 8];
    struct omo_session_camera *camera;
    const struct omo_live_now *now; /* lent by the camera */
    char spoken[256];
    bool mirror, leave;
};

static void speak(struct window *w, const char *text)
{
    if (!w->run->sound || !w->run->sound_on || !strcmp(w->spoken, text))
        return;
    omo_text_copy(w->spoken, sizeof w->spoken, text);
    omo_sound_say(w->run->sound, text);
}

/* ---- pages of words ---------------------------------------------------------------- */

struct items {
    const char *item[OMO_SESSION_ITEMS + 8];
    char text[OMO_SESSION_ITEMS + 8][300];
    int count;
};

static void add_choice(struct window *w, struct items *items, struct choice choice,
                       const char *text)
{
    if (items->count >= OMO_SESSION_ITEMS + 8)
        return;
    omo_text_copy(items->text[items->count], sizeof items->text[0], text);
    items->item[items->count] = items->text[items->count];
    w->choice[items->count++] = choice;
}

static void add_press(struct window *w, struct items *items, enum omo_session_press press,
                      const char *text)
{
    add_choice(w, items, (struct choice){MEANS_PRESS, 0, press}, text);
}

static void add_answers(struct window *w, struct items *items)
{
    const struct omo_session_page *page = &w->page;
    char text[300];
    for (int i = 0; i < page->item_count; i++) {
        text[0] = '\0';
        if (page->need == OMO_NEED_TICKS)
            omo_text_add(text, sizeof text, "%s %s",
                         page->ticked & (1u << i) ? "\u2611" : "\u2610", page->item[i]);
        else
            omo_text_copy(text, sizeof text, page->item[i]);
        add_choice(w, items, (struct choice){MEANS_ANSWER, i, 0}, text);
    }
    if (page->need != OMO_NEED_SCALE)
        return;
    for (int i = 0; i <= 10; i++) {
        text[0] = '\0';
        omo_text_add(text, sizeof text, i == 10 ? omo_word("%d (key +)") : "%d", i);
        add_choice(w, items, (struct choice){MEANS_ANSWER, i, 0}, text);
    }
}

static bool inside_step(const struct omo_session_page *page)
{
    return page->step != NULL;
}

/** What can be pressed besides an answer; the first one is what Enter does. */
static void add_presses(struct window *w, struct items *items)
{
    const struct omo_session_page *page = &w->page;
    switch (page->need) {
    case OMO_NEED_GO_ON:
    case OMO_NEED_TICKS:
        add_press(w, items, OMO_SESSION_GO_ON, omo_word("Go on"));
        break;
    case OMO_NEED_NUMBER:
    case OMO_NEED_TEXT:
        add_press(w, items, OMO_SESSION_GO_ON, omo_word("Go on without"));
        break;
    case OMO_NEED_TIME:
        add_press(w, items, OMO_SESSION_PAIN, omo_word("It hurts"));
        if (page->step && page->step->kind == OMO_STEP_PRESS)
            add_press(w, items, OMO_SESSION_SIGN,
                      omo_word("Tingling, a pulse, heat, a lump"));
        add_press(w, items, OMO_SESSION_GO_ON, omo_word("Go on"));
        break;
    case OMO_NEED_NOTHING:
        add_press(w, items, OMO_SESSION_LEAVE, omo_word("Done"));
        return;
    case OMO_NEED_SCALE:
    case OMO_NEED_CHOICE:
    case OMO_NEED_SWING:
    case OMO_NEED_STAY:
    case OMO_NEED_MEASURE:
        break;
    }
    /* The eleven numbers fill the page; the keys are there all the same. */
    if (page->need == OMO_NEED_SCALE)
        return;
    if (inside_step(page))
        add_press(w, items, OMO_SESSION_SKIP, omo_word("Leave this step out"));
    if (inside_step(page))
        add_press(w, items, OMO_SESSION_ENOUGH, omo_word("Enough for today"));
}

static int first_choice(const struct window *w, int count)
{
    /* Nothing that hurts or answers is chosen by leaning on a key. */
    for (int i = 0; i < count; i++)
        if (w->choice[i].meaning == MEANS_PRESS &&
            w->choice[i].press == OMO_SESSION_GO_ON && w->page.need == OMO_NEED_GO_ON)
            return i;
    return w->page.need == OMO_NEED_NOTHING ? 0 : -1;
}

static double breath_at(double since_s, void *user)
{
    return omo_breath_line(since_s, *(double *)user, OMO_BREATH_IN_SHARE);
}

static void paint_breath(uint32_t *pixels, int width, int height, int stride_pixels,
                         void *user)
{
    const struct omo_session_page *page = &((struct window *)user)->page;
    double breaths_per_min = page->step ? page->step->breaths_per_min : (double)NAN;
    if (!(breaths_per_min > 0))
        return;
    struct omo_figure *figure =
        omo_breath_figure(width, height, page->total_s - page->left_s, breath_at,
                          &breaths_per_min);
    if (figure &&
        omo_figure_paint(figure, pixels, width, height, stride_pixels) != OMO_OK)
        memset(pixels, 0,
               sizeof *pixels); /* an empty figure is better than half of one */
    omo_figure_destroy(figure);
}

/** Another one for every drawing of the line. */
static unsigned breath_version(const struct omo_session_page *page)
{
    return (unsigned)lround((page->total_s - page->left_s) * 20);
}

static void draw_words(struct window *w)
{
    const struct omo_session_page *page = &w->page;
    struct items items = {.count = 0};
    const char *lines[OMO_SESSION_LINES + 3];
    char left[160] = "", place[160], typed[512] = "";
    int count = 0;
    bool fresh = !w->shown || page->serial != w->serial;
    bool entry = page->need == OMO_NEED_TEXT || page->need == OMO_NEED_NUMBER;
    if (fresh && entry)
        omo_screen_entry_clear(w->run->screen);
    omo_text_copy(place, sizeof place, page->title);
    if (place[0])
        lines[count++] = place;
    for (int i = 0; i < page->line_count; i++)
        lines[count++] = page->line[i];
    if (entry) {
        omo_text_add(typed, sizeof typed, "%s_", omo_screen_entry(w->run->screen));
        lines[count++] = typed;
    }
    if (isfinite(page->left_s)) {
        omo_text_add(left, sizeof left, omo_word("%.0f seconds left"),
                     ceil(page->left_s));
        lines[count++] = left;
    }
    add_answers(w, &items);
    add_presses(w, &items);
    if (fresh)
        w->chosen = first_choice(w, items.count);
    struct omo_list_page list = {
        .title = page->instruction,
        .lines = lines,
        .line_count = count,
        .items = items.item,
        .item_count = items.count,
        .chosen = w->chosen,
        .foot = page->caution[0] ? page->caution : omo_caution_words(),
        .numbers = page->need == OMO_NEED_SCALE,
        .entry = entry,
        .far = true,
    };
    if (isfinite(page->breath) && page->step) {
        list.figure = paint_breath;
        list.user = w;
        list.figure_version = breath_version(page);
    }
    omo_screen_list(w->run->screen, &list);
    w->chosen = list.chosen;
}

static void choose(struct window *w, int item)
{
    const struct choice *choice = &w->choice[item];
    if (choice->meaning == MEANS_ANSWER) {
        omo_session_run_answer(w->run, choice->value);
    } else if (w->page.need == OMO_NEED_NOTHING) {
        w->leave = true;
    } else {
        omo_session_run_press(w->run, choice->press);
    }
}

/** Enter after something was typed. */
static void entered(struct window *w)
{
    const char *typed = omo_screen_entry(w->run->screen);
    double number;
    if (w->page.need == OMO_NEED_TEXT)
        omo_session_run_text(w->run, typed);
    else if (omo_number_parse(typed, &number))
        omo_session_run_answer(w->run, number);
}

static void act_on_words(struct window *w, const struct omo_input *input)
{
    bool entry = w->page.need == OMO_NEED_TEXT || w->page.need == OMO_NEED_NUMBER;
    switch (input->action) {
    case OMO_ACTION_CHOOSE:
        choose(w, input->item);
        break;
    case OMO_ACTION_BEGIN:
        if (entry)
            entered(w);
        else if (w->page.need == OMO_NEED_NOTHING)
            w->leave = true;
        else if (w->page.need != OMO_NEED_TIME)
            omo_session_run_press(w->run, OMO_SESSION_GO_ON);
        break;
    case OMO_ACTION_ENOUGH:
        omo_session_run_press(w->run, OMO_SESSION_ENOUGH);
        break;
    case OMO_ACTION_BACK:
        if (w->page.need == OMO_NEED_NOTHING)
            w->leave = true;
        else if (w->page.step)
            omo_session_run_press(w->run, OMO_SESSION_LEAVE);
        else
            omo_session_run_press(w->run, OMO_SESSION_BACK);
        break;
    default:
        break;
    }
}

/* ---- what is watched --------------------------------------------------------------- */

static void wake(void *user)
{
    omo_screen_wake(user);
}

static bool is_watched(enum omo_session_need need)
{
    return need == OMO_NEED_SWING || need == OMO_NEED_STAY;
}

static void follow_camera(struct window *w)
{
    const struct omo_live_now *now;
    if (!is_watched(w->page.need)) {
        omo_session_camera_close(w->camera);
        w->camera = NULL;
        w->now = NULL;
        return;
    }
    if (!w->camera && omo_session_camera_open(w->run, &w->page, wake, w->run->screen,
                                              &w->camera) != OMO_OK) {
        w->camera = NULL;
        omo_session_run_press(w->run, OMO_SESSION_SKIP);
        return;
    }
    if (omo_session_camera_take(w->camera, &now))
        w->now = now;
    else if (omo_session_camera_ended(w->camera))
        omo_session_run_press(w->run, OMO_SESSION_GO_ON);
}

/** What the course or the picture still needs goes before the session's own line. */
static const char *watched_line(const struct window *w, bool *fault)
{
    const struct omo_plan *plan = omo_session_camera_plan(w->camera);
    *fault = false;
    if (omo_session_camera_fault(w->camera) != OMO_CAMERA_FINE) {
        *fault = true;
        return omo_word("No pictures from the camera");
    }
    if (w->page.need == OMO_NEED_STAY && w->now &&
        w->now->view->phase < OMO_PHASE_READY) {
        *fault = w->now->cue != OMO_CUE_NONE;
        return omo_watch_line(plan, w->now);
    }
    return w->page.instruction;
}

static void draw_watched(struct window *w)
{
    const struct omo_plan *plan = omo_session_camera_plan(w->camera);
    char status[300] = "";
    if (isfinite(w->page.left_s))
        omo_text_add(status, sizeof status, omo_word("%.0f seconds left"),
                     ceil(w->page.left_s));
    if (w->page.line_count > 0)
        omo_text_add(status, sizeof status, status[0] ? ". %s" : "%s", w->page.line[0]);
    struct omo_measure_page page = {
        .view = w->now ? w->now->view : omo_says_nothing(),
        .settings = &plan->measure,
        .title = w->page.title,
        .status = status,
        .last_time_deg = NAN,
        .mirror = w->mirror,
        .camera_on = true,
        .sound_on = w->run->sound_on,
        .picture_held = !w->now,
        .words_first = true,
    };
    if (isfinite(w->page.breath)) {
        page.figure = paint_breath;
        page.user = w;
        page.figure_version = breath_version(&w->page);
    }
    page.instruction = watched_line(w, &page.instruction_is_fault);
    page.instruction_is_fault |= w->page.far_enough;
    omo_screen_picture(w->run->screen, w->now ? &w->now->planes : NULL);
    omo_screen_measure(w->run->screen, &page);
    speak(w, page.instruction);
}

static void act_on_watched(struct window *w, const struct omo_input *input)
{
    switch (input->action) {
    case OMO_ACTION_MARK:
        omo_session_run_press(w->run, OMO_SESSION_PAIN);
        break;
    case OMO_ACTION_HOLD_STOP:
        omo_session_run_press(w->run, OMO_SESSION_GO_ON);
        break;
    case OMO_ACTION_BEGIN:
        if (w->now && w->now->view->phase < OMO_PHASE_READY &&
            w->page.need == OMO_NEED_STAY)
            omo_session_camera_begin(w->camera);
        else
            omo_session_run_press(w->run, OMO_SESSION_GO_ON);
        break;
    case OMO_ACTION_ENOUGH:
        omo_session_run_press(w->run, OMO_SESSION_ENOUGH);
        break;
    case OMO_ACTION_BACK:
        omo_session_run_press(w->run, OMO_SESSION_LEAVE);
        break;
    case OMO_ACTION_MIRROR:
        w->mirror = !w->mirror;
        break;
    default:
        break;
    }
}

/* ---- the course -------------------------------------------------------------------- */

static int measure(struct window *w)
{
    omo_session_camera_close(w->camera);
    w->camera = NULL;
    w->now = NULL;
    w->shown = false;
    int code = omo_session_run_measure(w->run, &w->page);
    if (code != OMO_EXIT_DONE)
        omo_session_run_press(w->run, OMO_SESSION_SKIP);
    return code;
}

static void act(struct window *w, const struct omo_input *input)
{
    if (input->action == OMO_ACTION_QUIT) {
        omo_session_run_press(w->run, OMO_SESSION_LEAVE);
        w->leave = w->run->left = true;
    } else if (input->action == OMO_ACTION_SOUND) {
        w->run->sound_on = !w->run->sound_on;
        if (w->run->sound)
            omo_sound_on(w->run->sound, w->run->sound_on);
    } else if (w->camera) {
        act_on_watched(w, input);
    } else {
        act_on_words(w, input);
    }
}

int omo_session_in_window(struct omo_session_run *run)
{
    struct window w = {.run = run, .mirror = true};
    int code = OMO_EXIT_DONE;
    int64_t over_ns = 0;
    if (run->sound)
        omo_sound_on(run->sound, run->sound_on);
    while (!w.leave) {
        struct omo_input input;
        if (!omo_session_run_keep(run)) {
            code = OMO_EXIT_FAILED;
            break;
        }
        omo_session_run_page(run, &w.page);
        follow_camera(&w);
        omo_session_run_page(run, &w.page);
        if (w.page.need == OMO_NEED_MEASURE) {
            int measured = measure(&w);
            code = measured != OMO_EXIT_DONE ? measured : code;
            continue;
        }
        if (is_watched(w.page.need) && w.camera) {
            draw_watched(&w);
        } else if (!is_watched(w.page.need)) {
            draw_words(&w);
            speak(&w, w.page.instruction);
        }
        w.serial = w.page.serial;
        w.shown = true;
        if (omo_screen_input(run->screen, TICK_MS, &input))
            act(&w, &input);
        if (omo_measuring_interrupted()) {
            omo_session_run_press(run, OMO_SESSION_LEAVE);
            w.leave = true;
        }
        /* Hands free the last page goes by itself. */
        if (w.page.need == OMO_NEED_NOTHING && run->words->hands_free) {
            over_ns = over_ns ? over_ns : omo_clock_ns();
            w.leave |= omo_clock_ns() - over_ns > 20 * (int64_t)1000000000;
        }
    }
    omo_session_camera_close(w.camera);
    return omo_session_run_keep(run) ? code : OMO_EXIT_FAILED;
}
