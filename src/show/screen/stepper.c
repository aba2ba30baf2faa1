#include "show/screen/stepper.h"

#include <SDL2/SDL.h>
#include <math.h>
#include <stdlib.h>

#include "omogon/log.h"
#include "show/screen/close.h"

#define WIDTH  1100
#define HEIGHT 860

struct omo_stepper {
    SDL_Window *window;
    SDL_Renderer *renderer;
    SDL_Texture *texture;
    int width, height; /* of the picture */
    SDL_Rect shown;    /* where it lies in the window, bars beside it */
};

enum omo_status omo_stepper_open(const char *title, struct omo_stepper **out)
{
    SDL_SetHint(SDL_HINT_NO_SIGNAL_HANDLERS, "1");
    /* One picture a key needs no OpenGL, which some displays do not have. */
    SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
    if (SDL_InitSubSystem(SDL_INIT_VIDEO) != 0) {
        omo_error(
            "There is no display to open a window on (%s); markers can be placed by "
            "\"omogon trace --corrections\" too",
            SDL_GetError());
        return OMO_ERR_OPEN;
    }
    struct omo_stepper *stepper = calloc(1, sizeof *stepper);
    if (stepper == NULL) {
        SDL_QuitSubSystem(SDL_INIT_VIDEO);
        return OMO_ERR_MEMORY;
    }
    stepper->window =
        SDL_CreateWindow(title, SDL_WINDOWPOS_CENTERED, SDL_WINDOWPOS_CENTERED, WIDTH,
                         HEIGHT, SDL_WINDOW_RESIZABLE);
    if (stepper->window != NULL)
        stepper->renderer =
            SDL_CreateRenderer(stepper->window, -1, SDL_RENDERER_SOFTWARE);
    if (stepper->renderer == NULL) {
        omo_error("The window could not be opened: %s", SDL_GetError());
        omo_stepper_close(stepper);
        return OMO_ERR_OPEN;
    }
    SDL_StopTextInput();
    *out = stepper;
    return OMO_OK;
}

void omo_stepper_close(struct omo_stepper *stepper)
{
    if (stepper == NULL)
        return;
    if (stepper->texture != NULL)
        SDL_DestroyTexture(stepper->texture);
    if (stepper->renderer != NULL)
        SDL_DestroyRenderer(stepper->renderer);
    omo_window_close(stepper->window);
    free(stepper);
    SDL_QuitSubSystem(SDL_INIT_VIDEO);
}

/** As large as the window lets it be, in its middle. */
static SDL_Rect place_picture(const struct omo_stepper *stepper)
{
    int width, height;
    SDL_Rect to = {0, 0, stepper->width, stepper->height};
    if (SDL_GetRendererOutputSize(stepper->renderer, &width, &height) != 0)
        return to;
    double scale = fmin((double)width / stepper->width, (double)height / stepper->height);
    to.w = SDL_max((int)lround(stepper->width * scale), 1);
    to.h = SDL_max((int)lround(stepper->height * scale), 1);
    to.x = (width - to.w) / 2;
    to.y = (height - to.h) / 2;
    return to;
}

static void present(struct omo_stepper *stepper)
{
    stepper->shown = place_picture(stepper);
    SDL_SetRenderDrawColor(stepper->renderer, 0x13, 0x15, 0x17, 255);
    SDL_RenderClear(stepper->renderer);
    SDL_RenderCopy(stepper->renderer, stepper->texture, NULL, &stepper->shown);
    SDL_RenderPresent(stepper->renderer);
}

enum omo_status omo_stepper_show(struct omo_stepper *stepper, const uint32_t *pixels,
                                 int width, int height)
{
    if (stepper->texture == NULL || stepper->width != width ||
        stepper->height != height) {
        if (stepper->texture != NULL)
            SDL_DestroyTexture(stepper->texture);
        stepper->texture = SDL_CreateTexture(stepper->renderer, SDL_PIXELFORMAT_ARGB8888,
                                             SDL_TEXTUREACCESS_STREAMING, width, height);
        stepper->width = width;
        stepper->height = height;
    }
    if (stepper->texture == NULL ||
        SDL_UpdateTexture(stepper->texture, NULL, pixels, width * 4) != 0) {
        omo_error("The picture cannot be shown: %s", SDL_GetError());
        return OMO_ERR_MEMORY;
    }
    present(stepper);
    return OMO_OK;
}

static enum omo_stepper_key key_of(SDL_Keycode code, bool control)
{
    switch (code) {
    case SDLK_LEFT:
        return OMO_STEPPER_LEFT;
    case SDLK_RIGHT:
        return OMO_STEPPER_RIGHT;
    case SDLK_UP:
        return OMO_STEPPER_UP;
    case SDLK_DOWN:
        return OMO_STEPPER_DOWN;
    case SDLK_PAGEUP:
        return OMO_STEPPER_PAGE_UP;
    case SDLK_PAGEDOWN:
        return OMO_STEPPER_PAGE_DOWN;
    case SDLK_HOME:
        return OMO_STEPPER_HOME;
    case SDLK_END:
        return OMO_STEPPER_END;
    case SDLK_SPACE:
        return OMO_STEPPER_NEXT;
    case SDLK_DELETE:
        return OMO_STEPPER_DELETE;
    case SDLK_BACKSPACE:
    case SDLK_u:
        return OMO_STEPPER_UNDO;
    case SDLK_z:
        return control ? OMO_STEPPER_UNDO : OMO_STEPPER_NOTHING;
    case SDLK_m:
        return OMO_STEPPER_MEASURED;
    case SDLK_s:
        return OMO_STEPPER_SAVE;
    case SDLK_q:
    case SDLK_ESCAPE:
        return OMO_STEPPER_LEAVE;
    default:
        return code >= SDLK_1 && code <= SDLK_9 ? OMO_STEPPER_ROLE : OMO_STEPPER_NOTHING;
    }
}

/** A click into the bars beside the picture is none. */
static void read_click(const struct omo_stepper *stepper,
                       const SDL_MouseButtonEvent *button,
                       struct omo_stepper_input *input)
{
    const SDL_Rect *at = &stepper->shown;
    if (button->x < at->x || button->x >= at->x + at->w || button->y < at->y ||
        button->y >= at->y + at->h)
        return;
    input->key = OMO_STEPPER_CLICK;
    input->x = (button->x - at->x + 0.5) * stepper->width / at->w - 0.5;
    input->y = (button->y - at->y + 0.5) * stepper->height / at->h - 0.5;
}

void omo_stepper_wait(struct omo_stepper *stepper, struct omo_stepper_input *input)
{
    SDL_Event event;
    *input = (struct omo_stepper_input){.key = OMO_STEPPER_NOTHING};
    if (!SDL_WaitEvent(&event))
        return;
    if (event.type == SDL_QUIT) {
        input->key = OMO_STEPPER_LEAVE;
    } else if (event.type == SDL_WINDOWEVENT && stepper->texture != NULL) {
        present(stepper);
    } else if (event.type == SDL_MOUSEBUTTONDOWN &&
               event.button.button == SDL_BUTTON_LEFT) {
        read_click(stepper, &event.button, input);
    } else if (event.type == SDL_KEYDOWN) {
        input->shift = (event.key.keysym.mod & KMOD_SHIFT) != 0;
        input->control = (event.key.keysym.mod & KMOD_CTRL) != 0;
        input->key = key_of(event.key.keysym.sym, input->control);
        input->number = (int)(event.key.keysym.sym - SDLK_0);
    }
}
