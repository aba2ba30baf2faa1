/** The desk check's look through the camera: the arm as it is held, then let go. */
#ifndef OMO_APP_DESK_LOOK_H
#define OMO_APP_DESK_LOOK_H

#include "app/desk_ask.h"
#include "app/feed.h"
#include "app/options.h"
#include "omogon/desk.h"

/**
 * Opens the camera for some seconds and closes it. Says through the asker when to let the
 * arm hang. One sentence (a warning) when there is nothing to measure: no camera, no
 * markers; OMO_ERR_CANCELLED, silent, when a signal came.
 */
OMO_MUST_CHECK enum omo_status omo_desk_look(const struct omo_plan *plan,
                                             const struct omo_feed_settings *feed,
                                             struct omo_desk_wait *wait,
                                             struct omo_desk_asker *asker,
                                             struct omo_desk_figures *out);

#endif
