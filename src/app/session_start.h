/** A session, begun from the window's first page. */
#ifndef OMO_APP_SESSION_START_H
#define OMO_APP_SESSION_START_H

#include <stdbool.h>

#include "app/preferences.h"
#include "show/screen/screen.h"
#include "show/sound/sound.h"

/** Asks which programme, and runs it. True: the window was left. */
bool omo_session_page_of(struct omo_screen *screen, struct omo_sound *sound,
                         const struct omo_preferences *preferences);

#endif
