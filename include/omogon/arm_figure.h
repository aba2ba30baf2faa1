/** How far an arm went as a line drawing: the angle as it would be seen from the camera.
 */
#ifndef OMOGON_ARM_FIGURE_H
#define OMOGON_ARM_FIGURE_H

#include "omogon/body.h"
#include "omogon/draw.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What is drawn; texts are lent, numbers that are not known are NAN. */
struct omo_arm_drawing {
    const char *movement; /**< its name in models/movements.ini */
    const char *what;     /**< the same in words, translated */
    enum omo_side side;
    double deg;             /**< never NAN */
    double before_hike_deg; /**< dashed */
    double width, height;   /**< px */
};
/** Dark on white, of thin lines; the measured arm alone. The caller's to destroy; NULL:
 * no memory. */
OMO_API struct omo_figure *omo_arm_figure(const struct omo_arm_drawing *drawing);
/** The same in a sentence, translated. g_free() it. */
OMO_API char *omo_arm_words(const struct omo_arm_drawing *drawing);

#ifdef __cplusplus
}
#endif

#endif
