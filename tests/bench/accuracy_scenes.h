/** The scenes of the accuracy table: built-in ones of models/scenes/, some changed. */
#ifndef OMOGON_BENCH_ACCURACY_SCENES_H
#define OMOGON_BENCH_ACCURACY_SCENES_H

#include <glib.h>
#include <stdbool.h>

#include "omogon/simulated.h"
#include "omogon/vision.h"

#define SCENE_CHANGES_MAX 4

struct accuracy_scene {
    const char *title;
    const char *file; /**< its name in models/scenes/, NULL: as the title */
    struct {
        const char *name, *value;
    } change[SCENE_CHANGES_MAX]; /**< up to the first without a name */
    GKeyFile *keys;              /**< the scene itself instead of a file, lent; or NULL */
};

extern const struct accuracy_scene accuracy_scenes[];
extern const int accuracy_scene_count;

/** What the bench has to know of a scene beside its truth. */
struct scene_facts {
    bool real_room; /**< the room is a real picture or clip, from OMOGON_FOOTAGE */
    bool forearm;   /**< judged by the line elbow to wrist */
    bool towards;   /**< the forearm points at the camera, and a band round it shows its
                         near side: judged by the middle of what is seen */
    bool chest;     /**< has a second trunk marker */
    bool both;      /**< both arms are measured at once */
    /** What a user would tell the program: side, view, position, colours. */
    struct omo_tracker_settings tracker;
};

/** Reads a scene's file. False, with a sentence, when that fails. */
bool scene_facts_read(const struct accuracy_scene *scene, struct scene_facts *facts);

/** Loads the scene with its changes for the camera. False, with a sentence. */
bool scene_load(const struct accuracy_scene *scene, struct omo_scene *out);

#endif
