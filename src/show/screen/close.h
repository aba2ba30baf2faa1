/** How every window of ours goes. */
#ifndef OMO_SCREEN_CLOSE_H
#define OMO_SCREEN_CLOSE_H

struct SDL_Window;

/** Closes a window, whose renderer is gone already; NULL is none. */
void omo_window_close(struct SDL_Window *window);

#endif
