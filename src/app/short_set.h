/** The short set: flexion, abduction and both rotations of both sides, one after the
 * other. */
#ifndef OMO_APP_SHORT_SET_H
#define OMO_APP_SHORT_SET_H

#include "app/measure_options.h"

#define OMO_SHORT_SET_ITEMS 8

/** How camera and person stand to each other. */
enum omo_short_set_place {
    OMO_SET_FRONT,       /**< standing, facing the camera */
    OMO_SET_LEFT_SIDE,   /**< standing, the left side to the camera */
    OMO_SET_RIGHT_SIDE,  /**< the right side */
    OMO_SET_LYING_LEFT,  /**< on the back, the camera along the left upper arm */
    OMO_SET_LYING_RIGHT, /**< along the right one */
};
struct omo_short_set_item {
    const char *movement;
    enum omo_side side;
    enum omo_short_set_place place;
};
/** The order: as few changes of place as there can be (one less than there are places),
 *  the better side first where it is known, rotations last. */
void omo_short_set_order(enum omo_side better,
                         struct omo_short_set_item items[OMO_SHORT_SET_ITEMS]);

/** The words of one movement out of those of the set; omo_measure_words_finish() them. */
void omo_short_set_words(const struct omo_measure_words *given, const char *visit,
                         const struct omo_short_set_item *item,
                         struct omo_measure_words *words);
/** An invented person does this movement; NULL is fine. False with a sentence. */
bool omo_short_set_dress(struct omo_scene *scene, const struct omo_short_set_item *item,
                         const struct omo_camera_wish *wish);

/** Runs it; what was measured earlier under the same label of visit is passed over. The
 *  exit code of "omogon measure". */
int omo_short_set_run(const struct omo_measure_words *words);
/** The same from the window's first page, with what is remembered there. True: the window
 *  was left. `code`: an exit code, for who wants to say that it could not be begun. */
bool omo_short_set_page(struct omo_screen *screen, struct omo_sound *sound,
                        const struct omo_preferences *preferences, int *code);

#endif
