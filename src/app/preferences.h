/** What is remembered from one run to the next: camera, movement, switches. */
#ifndef OMO_APP_PREFERENCES_H
#define OMO_APP_PREFERENCES_H

#include <stdbool.h>

struct omo_preferences {
    char camera[64]; /**< "" none chosen */
    char
        camera_name[64]; /**< what it calls itself: after a start its number may differ */
    char movement[40], side[8], person[24], colours[256];
    bool mirror, sound, sound_chosen, flash; /**< sound_chosen: `sound` was set by hand */
};
/** What was saved, or the defaults; a damaged file is said once and left alone. */
void omo_preferences_load(struct omo_preferences *preferences);
/** Remembers a camera. */
void omo_preferences_camera(struct omo_preferences *preferences, const char *path,
                            const char *name);
/** Silent success; one sentence when it cannot be written. */
void omo_preferences_save(const struct omo_preferences *preferences);

/** "left" or "right": of both arms the right one, for what is about one arm. */
const char *omo_preferences_arm(const struct omo_preferences *preferences);

#endif
