/** The scenes of the accuracy table, as settings of the simulated camera. */
#ifndef OMOGON_BENCH_ACCURACY_SCENES_H
#define OMOGON_BENCH_ACCURACY_SCENES_H

#include <stdbool.h>

#include "omogon/vision.h"

#define SCENE_SETTINGS_MAX 16

struct accuracy_scene {
    const char *name;
    bool real_room; /**< the room is a real picture or clip, from OMOGON_FOOTAGE */
    struct {
        const char *name, *value;
    } setting[SCENE_SETTINGS_MAX]; /**< up to the first without a name */
};

extern const struct accuracy_scene accuracy_scenes[];
extern const int accuracy_scene_count;

/** Value of a scene's setting, or `otherwise`. */
const char *scene_setting(const struct accuracy_scene *scene, const char *name,
                          const char *otherwise);

/** What a user would tell the program about this scene: side, view, position, and the
 *  colours when they are not the default ones. */
void scene_tracker_settings(const struct accuracy_scene *scene,
                            const struct omo_marker_set *colours,
                            struct omo_tracker_settings *settings);

#endif
