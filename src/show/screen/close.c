#include "show/screen/close.h"

#include <SDL2/SDL.h>

#define SETTLE_MS 50

void omo_window_close(SDL_Window *window)
{
    if (window == NULL)
        return;
    /* SDL ends its own waiting for a key by a message to the window, through a second
       connection. Were the window gone before the server comes to that message, the
       program would end with an X error. */
    SDL_PumpEvents();
    SDL_Delay(SETTLE_MS);
    SDL_DestroyWindow(window);
}
