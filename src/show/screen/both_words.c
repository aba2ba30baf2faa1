#include "show/screen/cue_words.h"

#include <string.h>

#include "omogon/words.h"

/* Where both arms are followed at once, only what names an arm is said in another way. */

const char *omo_both_cue_sentence(enum omo_cue cue,
                                  const struct omo_measure_settings *settings)
{
    bool left = settings->side == OMO_LEFT;
    switch (cue) {
    case OMO_CUE_SHOULDER_HIDDEN:
        return left ? omo_word("Left shoulder hidden: clear what covers it")
                    : omo_word("Right shoulder hidden: clear what covers it");
    case OMO_CUE_ELBOW_HIDDEN:
        return left ? omo_word("Left elbow hidden: clear what covers it")
                    : omo_word("Right elbow hidden: clear what covers it");
    case OMO_CUE_WRONG_SIDE:
        return settings->from_behind
                   ? omo_word("Other way round: turn your back here")
                   : omo_word("Other way round: please face the camera");
    default:
        return omo_cue_sentence(cue, settings);
    }
}

static const char *settle(const struct omo_measure_settings *settings)
{
    switch (settings->position) {
    case OMO_STANDING:
        return omo_word("Stand still, both arms hanging");
    case OMO_SEATED:
        return omo_word("Sit still, both arms hanging");
    default:
        return omo_word("Lie still, both arms beside you");
    }
}

static const char *raise(const struct omo_movement *movement)
{
    if (movement->sign < 0.0)
        return omo_word("Move both arms across, while comfortable");
    if (strcmp(movement->plane, "frontal") != 0)
        return omo_word("Raise both arms diagonally, while comfortable");
    return omo_word("Raise both arms sideways, while comfortable");
}

const char *omo_both_phase_sentence(const struct omo_live_view *view,
                                    const struct omo_measure_settings *settings)
{
    if (view->phase == OMO_PHASE_SETTLE)
        return settle(settings);
    if (view->phase == OMO_PHASE_READY && view->raises == 0)
        return raise(settings->movement);
    return omo_phase_sentence(view, settings);
}
