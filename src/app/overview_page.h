/** The overview in the window: who, then one person's page. */
#ifndef OMO_APP_OVERVIEW_PAGE_H
#define OMO_APP_OVERVIEW_PAGE_H

#include "app/preferences.h"
#include "show/screen/screen.h"

/** Asks whose, where there are several, and shows it. Changes nothing and makes no
 * record. True: the window was left. */
bool omo_overview_pages(struct omo_screen *screen,
                        const struct omo_preferences *preferences);

#endif
