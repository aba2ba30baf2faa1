/** A window that shows one picture and tells keys and clicks on it. */
#ifndef OMO_SHOW_STEPPER_H
#define OMO_SHOW_STEPPER_H

#include <stdbool.h>
#include <stdint.h>

#include "omogon/status.h"

enum omo_stepper_key {
    OMO_STEPPER_NOTHING,
    OMO_STEPPER_LEFT, /**< arrows: to the frame before; with shift or control the marker
                       */
    OMO_STEPPER_RIGHT,
    OMO_STEPPER_UP,
    OMO_STEPPER_DOWN,
    OMO_STEPPER_PAGE_UP,
    OMO_STEPPER_PAGE_DOWN,
    OMO_STEPPER_HOME,
    OMO_STEPPER_END,
    OMO_STEPPER_NEXT, /**< space */
    OMO_STEPPER_ROLE, /**< a digit, in `number` from 1 */
    OMO_STEPPER_DELETE,
    OMO_STEPPER_MEASURED, /**< m */
    OMO_STEPPER_UNDO,     /**< backspace, u, control z */
    OMO_STEPPER_SAVE,     /**< s */
    OMO_STEPPER_LEAVE,    /**< escape, q, the window closed */
    OMO_STEPPER_CLICK,    /**< at x, y of the picture */
};
struct omo_stepper_input {
    enum omo_stepper_key key;
    bool shift, control;
    int number;
    double x, y; /**< px of the picture that is shown */
};

struct omo_stepper;
/** One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_stepper_open(const char *title,
                                                struct omo_stepper **out);
void omo_stepper_close(struct omo_stepper *stepper);
/** Shows packed 0xffRRGGBB pixels, as large as the window lets them be. One sentence on
 *  failure. */
OMO_MUST_CHECK enum omo_status omo_stepper_show(struct omo_stepper *stepper,
                                                const uint32_t *pixels, int width,
                                                int height);
/** Waits for a key or a click. */
void omo_stepper_wait(struct omo_stepper *stepper, struct omo_stepper_input *input);

#endif
