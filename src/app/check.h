/** Camera, light, distance and markers as a short list of passes and remedies. */
#ifndef OMO_APP_CHECK_H
#define OMO_APP_CHECK_H

#include <stdbool.h>

#include "app/feed.h"
#include "app/options.h"
#include "app/preferences.h"
#include "show/screen/screen.h"

enum omo_verdict { OMO_VERDICT_PASS, OMO_VERDICT_REMEDY, OMO_VERDICT_UNKNOWN };

struct omo_check_item {
    const char *name; /**< "light": constant, for --json */
    enum omo_verdict verdict;
    char sentence[224]; /**< what was found, and what to do; translated */
};
#define OMO_CHECK_ITEMS 11

/** Called now and then with the share of the look that is done; false ends it. */
typedef bool (*omo_check_progress)(double ratio, void *user);

/** Looks at the feed for a few seconds of its own time and fills the items. Their number;
 *  0 when the camera cannot be opened (*fault says why) or the look was ended. */
int omo_check_look(const struct omo_plan *plan, const struct omo_feed_settings *settings,
                   double seconds, omo_check_progress progress, void *user,
                   enum omo_camera_fault *fault, struct omo_check_item *items);

/** Which lens profile there is, for pictures of this size; and whether the camera still
 *  stands as it says, by the lean of the room's upright lines. They fill the item. */
void omo_check_lens(const struct omo_plan *plan, int width, int height,
                    struct omo_check_item *item);
void omo_check_kept_level(const struct omo_lens *lens, double roll_deg,
                          struct omo_check_item *item);

/** The check as a page; true: the window was left. */
bool omo_check_page(struct omo_screen *screen, const struct omo_preferences *preferences);

#endif
