#include <math.h>
#include <string.h>

#include "omogon/clock.h"
#include "omogon/text.h"
#include "show/screen/screen_private.h"

#define HOLD_NS 1000000000

void omo_button_add(struct omo_screen *screen, const SDL_Rect *at, enum omo_action action,
                    int item)
{
    int most = (int)(sizeof screen->button / sizeof screen->button[0]);
    if (screen->button_count < most)
        screen->button[screen->button_count++] = (struct omo_button){*at, action, item};
}

/** Keys that never mean anything by themselves: a hand that changes the volume or leaves
 *  the window marks no pain. */
static bool is_silent_key(SDL_Keycode key, Uint16 modifiers)
{
    if ((modifiers & (KMOD_CTRL | KMOD_ALT | KMOD_GUI)) != 0)
        return true;
    switch (key) {
    case SDLK_UNKNOWN:
    case SDLK_LSHIFT:
    case SDLK_RSHIFT:
    case SDLK_LCTRL:
    case SDLK_RCTRL:
    case SDLK_LALT:
    case SDLK_RALT:
    case SDLK_LGUI:
    case SDLK_RGUI:
    case SDLK_MODE:
    case SDLK_CAPSLOCK:
    case SDLK_NUMLOCKCLEAR:
    case SDLK_SCROLLLOCK:
    case SDLK_PRINTSCREEN:
    case SDLK_VOLUMEUP:
    case SDLK_VOLUMEDOWN:
    case SDLK_AUDIOMUTE:
    case SDLK_MUTE:
    case SDLK_BRIGHTNESSUP:
    case SDLK_BRIGHTNESSDOWN:
    case SDLK_SLEEP:
    case SDLK_POWER:
        return true;
    default:
        return false;
    }
}

static enum omo_action action_of_key(SDL_Keycode key)
{
    switch (key) {
    case SDLK_q:
        return OMO_ACTION_QUIT;
    case SDLK_ESCAPE:
    case SDLK_AC_BACK:
        return OMO_ACTION_BACK;
    case SDLK_e:
        return OMO_ACTION_ENOUGH;
    case SDLK_RETURN:
    case SDLK_KP_ENTER:
        return OMO_ACTION_BEGIN;
    case SDLK_p:
        return OMO_ACTION_STILL;
    case SDLK_s:
        return OMO_ACTION_SOUND;
    case SDLK_m:
        return OMO_ACTION_MIRROR;
    case SDLK_f:
    case SDLK_F11:
        return OMO_ACTION_FULL;
    case SDLK_h:
    case SDLK_F1:
        return OMO_ACTION_HELP;
    default:
        return OMO_ACTION_MARK;
    }
}

static void hold_begin(struct omo_screen *screen, SDL_Keycode key)
{
    screen->holding = true;
    screen->held_stop_sent = false;
    screen->held_key = key;
    screen->held_since_ns = omo_clock_ns();
}

/** 1 to 9 are the first nine items, 0 the tenth; of numbers each is its own key, and +
 *  the last. */
static int item_of_key(const struct omo_kept_list *list, SDL_Keycode key)
{
    int first = list->numbers ? 1 : 0;
    if (key >= SDLK_1 && key <= SDLK_9)
        return (int)(key - SDLK_1) + first;
    if (key >= SDLK_KP_1 && key <= SDLK_KP_9)
        return (int)(key - SDLK_KP_1) + first;
    if (list->numbers && (key == SDLK_PLUS || key == SDLK_KP_PLUS))
        return list->item_count - 1;
    return key == SDLK_0 || key == SDLK_KP_0 ? (list->numbers ? 0 : 9) : -1;
}

/** A key while a text is being typed; what it writes comes by itself. */
static void entry_key(struct omo_screen *screen, SDL_Keycode key, struct omo_input *input)
{
    char *typed = screen->list.typed;
    size_t length = strlen(typed);
    if (key == SDLK_ESCAPE || key == SDLK_AC_BACK) {
        input->action = OMO_ACTION_BACK;
    } else if (key == SDLK_RETURN || key == SDLK_KP_ENTER) {
        input->action = OMO_ACTION_BEGIN;
    } else if (key == SDLK_BACKSPACE && length > 0) {
        /* Back to the first byte of the last letter. */
        do
            length--;
        while (length > 0 && ((unsigned char)typed[length] & 0xc0) == 0x80);
        typed[length] = '\0';
        input->action = OMO_ACTION_TYPED;
    }
}

static void text_typed(struct omo_screen *screen, const char *text,
                       struct omo_input *input)
{
    if (screen->page != OMO_PAGE_LIST || !screen->list.entry)
        return;
    omo_text_add(screen->list.typed, sizeof screen->list.typed, "%s", text);
    input->action = OMO_ACTION_TYPED;
}

/** Keys a list page uses itself; true: done with the key. */
static bool list_key(struct omo_screen *screen, SDL_Keycode key, struct omo_input *input)
{
    struct omo_kept_list *list = &screen->list;
    int item = item_of_key(list, key);
    if (item >= 0) {
        if (item < list->item_count)
            *input = (struct omo_input){OMO_ACTION_CHOOSE, item};
        return true;
    }
    int step = key == SDLK_DOWN || key == SDLK_RIGHT || key == SDLK_PAGEDOWN ? 1
               : key == SDLK_UP || key == SDLK_LEFT || key == SDLK_PAGEUP    ? -1
                                                                             : 0;
    if (step != 0 && list->item_count > 0) {
        int from = list->chosen < 0 && step < 0 ? 0 : list->chosen;
        list->chosen = (from + step + list->item_count) % list->item_count;
        screen->stale = true;
        return true;
    }
    bool enter = key == SDLK_RETURN || key == SDLK_KP_ENTER || key == SDLK_SPACE;
    if (enter && list->chosen >= 0 && list->chosen < list->item_count) {
        *input = (struct omo_input){OMO_ACTION_CHOOSE, list->chosen};
        return true;
    }
    return false;
}

static void key_down(struct omo_screen *screen, const SDL_KeyboardEvent *key,
                     struct omo_input *input)
{
    SDL_Keycode code = key->keysym.sym;
    if (screen->page == OMO_PAGE_LIST && screen->list.entry) {
        entry_key(screen, code, input);
        return;
    }
    if (key->repeat != 0 || is_silent_key(code, key->keysym.mod))
        return;
    if (screen->page == OMO_PAGE_LIST && list_key(screen, code, input))
        return;
    input->action = action_of_key(code);
    if (input->action == OMO_ACTION_MARK) {
        /* On a page of words there is nothing to mark. */
        if (screen->page == OMO_PAGE_LIST)
            input->action = OMO_ACTION_NONE;
        else
            hold_begin(screen, code);
    }
}

static int button_at(const struct omo_screen *screen, int x, int y)
{
    SDL_Point point = {x, y};
    for (int i = 0; i < screen->button_count; i++)
        if (SDL_PointInRect(&point, &screen->button[i].at))
            return i;
    return -1;
}

/** Window points to pixels. */
static void to_pixels(const struct omo_screen *screen, int *x, int *y)
{
    int points_w = 0, points_h = 0, w = 0, h = 0;
    SDL_GetWindowSize(screen->window, &points_w, &points_h);
    omo_screen_size(screen, &w, &h);
    if (points_w > 0 && points_h > 0) {
        *x = (int)((int64_t)*x * w / points_w);
        *y = (int)((int64_t)*y * h / points_h);
    }
}

static void mouse_down(struct omo_screen *screen, const SDL_MouseButtonEvent *mouse,
                       struct omo_input *input)
{
    int x = mouse->x, y = mouse->y;
    to_pixels(screen, &x, &y);
    screen->pressed = mouse->button == SDL_BUTTON_LEFT ? button_at(screen, x, y) : -1;
    bool mark = screen->pressed >= 0
                    ? screen->button[screen->pressed].action == OMO_ACTION_MARK
                    : screen->page == OMO_PAGE_MEASURE;
    if (mark) {
        /* The moment counts, so it is the press and not the release. */
        input->action = OMO_ACTION_MARK;
        hold_begin(screen, SDLK_UNKNOWN);
    }
}

static void mouse_up(struct omo_screen *screen, const SDL_MouseButtonEvent *mouse,
                     struct omo_input *input)
{
    int x = mouse->x, y = mouse->y;
    to_pixels(screen, &x, &y);
    if (screen->holding && screen->held_key == SDLK_UNKNOWN)
        screen->holding = false;
    int released = button_at(screen, x, y);
    if (mouse->button == SDL_BUTTON_LEFT && released >= 0 &&
        released == screen->pressed &&
        screen->button[released].action != OMO_ACTION_MARK) {
        input->action = screen->button[released].action;
        input->item = screen->button[released].item;
    }
    screen->pressed = -1;
}

static void mouse_moved(struct omo_screen *screen, const SDL_MouseMotionEvent *mouse)
{
    int x = mouse->x, y = mouse->y;
    to_pixels(screen, &x, &y);
    /* A mouse that only lies where the window opened chooses nothing. */
    bool moved = screen->mouse_x >= 0 && (x != screen->mouse_x || y != screen->mouse_y);
    screen->mouse_x = x;
    screen->mouse_y = y;
    int over = moved ? button_at(screen, x, y) : -1;
    if (over < 0 || screen->button[over].action != OMO_ACTION_CHOOSE)
        return;
    if (screen->page == OMO_PAGE_LIST &&
        screen->list.chosen != screen->button[over].item) {
        screen->list.chosen = screen->button[over].item;
        screen->stale = true;
    }
}

/** True: the wait is over, with or without an action. */
static bool handle(struct omo_screen *screen, const SDL_Event *event,
                   struct omo_input *input)
{
    switch (event->type) {
    case SDL_QUIT:
        input->action = OMO_ACTION_QUIT;
        break;
    case SDL_KEYDOWN:
        key_down(screen, &event->key, input);
        break;
    case SDL_TEXTINPUT:
        text_typed(screen, event->text.text, input);
        break;
    case SDL_KEYUP:
        if (screen->holding && screen->held_key == event->key.keysym.sym)
            screen->holding = false;
        break;
    case SDL_MOUSEBUTTONDOWN:
        mouse_down(screen, &event->button, input);
        break;
    case SDL_MOUSEBUTTONUP:
        mouse_up(screen, &event->button, input);
        break;
    case SDL_MOUSEMOTION:
        mouse_moved(screen, &event->motion);
        break;
    case SDL_WINDOWEVENT:
        switch (event->window.event) {
        case SDL_WINDOWEVENT_EXPOSED:
        case SDL_WINDOWEVENT_SIZE_CHANGED:
        case SDL_WINDOWEVENT_RESTORED:
            screen->stale = true;
            break;
        case SDL_WINDOWEVENT_FOCUS_LOST:
            /* The release of a key may never come. */
            screen->holding = false;
            break;
        default:
            break;
        }
        break;
    case SDL_RENDER_TARGETS_RESET:
    case SDL_RENDER_DEVICE_RESET:
        screen->stale = true;
        break;
    default:
        if (event->type == screen->wake_event)
            return true;
        break;
    }
    return input->action != OMO_ACTION_NONE;
}

bool omo_screen_input(struct omo_screen *screen, int wait_ms, struct omo_input *input)
{
    Uint64 end = SDL_GetTicks64() + (Uint64)(wait_ms > 0 ? wait_ms : 0);
    *input = (struct omo_input){OMO_ACTION_NONE, -1};
    for (;;) {
        SDL_Event event;
        bool ended = false;
        while (!ended && SDL_PollEvent(&event) != 0)
            ended = handle(screen, &event, input);
        if (screen->holding && !screen->held_stop_sent &&
            input->action == OMO_ACTION_NONE &&
            omo_clock_ns() - screen->held_since_ns >= HOLD_NS) {
            screen->held_stop_sent = true;
            input->action = OMO_ACTION_HOLD_STOP;
            ended = true;
        }
        if (screen->stale)
            omo_screen_draw(screen, true);
        if (input->action == OMO_ACTION_FULL)
            omo_screen_toggle_full(screen);
        if (ended)
            return input->action != OMO_ACTION_NONE;
        Uint64 now = SDL_GetTicks64();
        if (now >= end)
            return false;
        Uint64 wait = end - now;
        /* A held key is looked at often: its second is one of omo_clock_ns(). */
        const Uint64 HELD_MS = 20;
        if (screen->holding && !screen->held_stop_sent && wait > HELD_MS)
            wait = HELD_MS;
        /* NULL leaves the event in the queue. */
        SDL_WaitEventTimeout(NULL, (int)wait);
    }
}

void omo_screen_wake(struct omo_screen *screen)
{
    SDL_Event event = {.type = screen->wake_event};
    SDL_PushEvent(&event);
}
