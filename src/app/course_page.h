/** The window's page of how a movement went over the weeks. */
#ifndef OMO_APP_COURSE_PAGE_H
#define OMO_APP_COURSE_PAGE_H

#include "app/preferences.h"
#include "show/screen/screen.h"

/** Shows the course of the movement and side that were measured last, and steps through
 *  the others, until Back. True: the window was left. */
bool omo_course_page(struct omo_screen *screen,
                     const struct omo_preferences *preferences);

#endif
