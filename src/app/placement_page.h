/** Where the markers go, in the window. */
#ifndef OMO_APP_PLACEMENT_PAGE_H
#define OMO_APP_PLACEMENT_PAGE_H

#include <stdbool.h>

#include "app/preferences.h"
#include "omogon/motion.h"
#include "omogon/vision.h"
#include "show/screen/screen.h"

/** For the remembered movement and side, else for the front view; other views and sides
 *  are one choice away. True: the window was left. */
bool omo_placement_page(struct omo_screen *screen,
                        const struct omo_preferences *preferences,
                        const struct omo_movement_table *table);
/** The same for a measurement that is under way, with the set that is worn. */
bool omo_placement_help(struct omo_screen *screen,
                        const struct omo_measure_settings *settings,
                        const struct omo_marker_set *set);

#endif
