#include "show/screen/cue_words.h"

#include <stdbool.h>
#include <string.h>

#include "omogon/words.h"

/* Texts are written out whole, one for each case, since other languages bend words that
 * English leaves alone. They are marked here and translated on the way out. */

static bool upright(const struct omo_measure_settings *s)
{
    return s->position == OMO_STANDING;
}

static bool lies(const struct omo_measure_settings *s)
{
    return s->position == OMO_SUPINE || s->position == OMO_SIDE_LYING ||
           s->position == OMO_PRONE;
}

static bool needs(const struct omo_measure_settings *s, enum omo_role role)
{
    return (s->movement->needed >> role & 1u) != 0;
}

static const char *by_position(const struct omo_measure_settings *s, const char *standing,
                               const char *seated, const char *lying)
{
    return lies(s) ? lying : upright(s) ? standing : seated;
}

static const char *by_side(const struct omo_measure_settings *s, const char *left,
                           const char *right)
{
    return s->side == OMO_LEFT ? left : right;
}

/* ---- cues ---- */

static const char *step_back(const struct omo_measure_settings *s)
{
    /* Backwards is not away from the camera for who turns a side to it. */
    if (!upright(s))
        return OMO_WORD("Move the camera half a metre away");
    if (s->movement->view == OMO_VIEW_FRONT && !s->from_behind)
        return OMO_WORD("Step back half a metre");
    return OMO_WORD("Step half a metre away from the camera");
}

static const char *out_of_plane(const struct omo_measure_settings *s)
{
    if (lies(s) || s->movement->view == OMO_VIEW_ALONG_ARM)
        return OMO_WORD("Move the camera square to the arm");
    if (s->movement->view == OMO_VIEW_SIDE)
        return OMO_WORD("Turn your side square to the camera");
    if (strcmp(s->movement->plane, "frontal") == 0)
        return s->from_behind ? OMO_WORD("Turn your back square to the camera")
                              : OMO_WORD("Turn your chest square to the camera");
    return OMO_WORD("Turn your body a little, not the arm");
}

static bool front_rotation(const struct omo_measure_settings *s)
{
    return s->movement->geometry == OMO_GEOMETRY_FORESHORTENED;
}

static const char *cue_text(enum omo_cue cue, const struct omo_measure_settings *s)
{
    switch (cue) {
    case OMO_CUE_TOO_DARK:
        return OMO_WORD("Too dark: turn on a light");
    case OMO_CUE_TOO_BRIGHT:
        return OMO_WORD("Too bright: shade the window or lamp");
    case OMO_CUE_CAMERA_MOVED:
        return OMO_WORD("Camera moved: please leave it standing");
    case OMO_CUE_NO_MARKERS:
        return by_position(s, OMO_WORD("Markers not in view: stand two metres away"),
                           OMO_WORD("Markers not in view: turn the camera"),
                           OMO_WORD("Markers not in view: turn the camera"));
    case OMO_CUE_SECOND_PERSON:
        return OMO_WORD("Second person or mirror: clear the view");
    case OMO_CUE_LOOK_ALIKE:
        return OMO_WORD("Something looks like a marker: clear it away");
    case OMO_CUE_STEP_BACK:
        return step_back(s);
    case OMO_CUE_STEP_CLOSER:
        return upright(s) ? OMO_WORD("Step half a metre towards the camera")
                          : OMO_WORD("Move the camera half a metre closer");
    case OMO_CUE_MOVE_LEFT:
        return by_position(s, OMO_WORD("Move one step to your left"),
                           OMO_WORD("Move a little to your left"),
                           OMO_WORD("Turn the camera until the arm fits"));
    case OMO_CUE_MOVE_RIGHT:
        return by_position(s, OMO_WORD("Move one step to your right"),
                           OMO_WORD("Move a little to your right"),
                           OMO_WORD("Turn the camera until the arm fits"));
    case OMO_CUE_MOVE_FORWARD:
        return by_position(s, OMO_WORD("Move one step forwards"),
                           OMO_WORD("Move a little forwards"),
                           OMO_WORD("Turn the camera until the arm fits"));
    case OMO_CUE_MOVE_BACKWARD:
        return by_position(s, OMO_WORD("Move one step backwards"),
                           OMO_WORD("Move a little backwards"),
                           OMO_WORD("Turn the camera until the arm fits"));
    case OMO_CUE_SHOULDER_HIDDEN:
        return OMO_WORD("Shoulder hidden: clear what covers the marker");
    case OMO_CUE_ELBOW_HIDDEN:
        return OMO_WORD("Elbow hidden: clear what covers the marker");
    case OMO_CUE_WRIST_HIDDEN:
        return needs(s, OMO_WRIST)
                   ? front_rotation(s)
                         ? OMO_WORD("Wrist hidden: rest the hand on your belly")
                         : OMO_WORD("Wrist hidden: clear what covers the marker")
                   : OMO_WORD("Wrist hidden: keep your arm as it is");
    case OMO_CUE_HIP_HIDDEN:
        return OMO_WORD("Hip hidden: clear what covers the marker");
    case OMO_CUE_WRONG_SIDE:
        return OMO_WORD("Other way round: check the chosen side");
    case OMO_CUE_OUT_OF_PLANE:
        return out_of_plane(s);
    case OMO_CUE_ELBOW_AWAY:
        return OMO_WORD("Elbow drifts away: keep it at your side");
    case OMO_CUE_TURNING:
        return OMO_WORD("Trunk turns: face the camera if you can");
    case OMO_CUE_LEANING:
        return by_position(s, OMO_WORD("Trunk leans: stand as upright as is comfortable"),
                           OMO_WORD("Trunk leans: sit as upright as is comfortable"),
                           OMO_WORD("Trunk moves: lie as flat as is comfortable"));
    case OMO_CUE_HITCHING:
        return OMO_WORD("Shoulder lifts: let it sink if you can");
    case OMO_CUE_NONE:
    case OMO_CUE_COUNT:
        break;
    }
    return "";
}

/* gettext answers an empty text with the file's head. */
static const char *translated(const char *text)
{
    return text[0] != '\0' ? omo_word(text) : text;
}

const char *omo_cue_sentence(enum omo_cue cue,
                             const struct omo_measure_settings *settings)
{
    return translated(cue_text(cue, settings));
}

const char *omo_cue_spoken(enum omo_cue cue, const struct omo_measure_settings *settings)
{
    switch (cue) {
    case OMO_CUE_SECOND_PERSON:
        return omo_word(OMO_WORD("The camera sees a second person, or a mirror. Please "
                                 "clear the view."));
    case OMO_CUE_LOOK_ALIKE:
        return omo_word(OMO_WORD("Something near the arm looks like a marker. Please "
                                 "clear it away."));
    case OMO_CUE_WRONG_SIDE:
        return omo_word(OMO_WORD("The arm moves the other way round. Please check which "
                                 "side was chosen."));
    default:
        return omo_cue_sentence(cue, settings);
    }
}

/* ---- the course ---- */

static const char *settle(const struct omo_measure_settings *s)
{
    switch (s->movement->geometry) {
    case OMO_GEOMETRY_PENDULUM:
        return by_side(s, OMO_WORD("Hold still, let your left arm hang"),
                       OMO_WORD("Hold still, let your right arm hang"));
    case OMO_GEOMETRY_FORESHORTENED:
        return by_side(s, OMO_WORD("Hold still, left hand resting on your belly"),
                       OMO_WORD("Hold still, right hand resting on your belly"));
    case OMO_GEOMETRY_ROTATION:
        if (s->position == OMO_SUPINE)
            return by_side(s, OMO_WORD("Hold still, left forearm pointing up"),
                           OMO_WORD("Hold still, right forearm pointing up"));
        if (s->position == OMO_PRONE)
            return by_side(s, OMO_WORD("Hold still, left forearm hanging down"),
                           OMO_WORD("Hold still, right forearm hanging down"));
        return by_side(s, OMO_WORD("Hold still, left forearm pointing ahead"),
                       OMO_WORD("Hold still, right forearm pointing ahead"));
    case OMO_GEOMETRY_ELEVATION:
        break;
    }
    if (lies(s))
        return by_side(s, OMO_WORD("Lie still, left arm beside you"),
                       OMO_WORD("Lie still, right arm beside you"));
    if (!upright(s))
        return by_side(s, OMO_WORD("Sit still, left arm hanging"),
                       OMO_WORD("Sit still, right arm hanging"));
    return by_side(s, OMO_WORD("Stand still, left arm hanging"),
                   OMO_WORD("Stand still, right arm hanging"));
}

static const char *turn_forearm(const struct omo_measure_settings *s)
{
    bool external = s->movement->sign < 0.0;
    if (s->position == OMO_SUPINE || s->position == OMO_PRONE)
        return external
                   ? by_side(s,
                             OMO_WORD("Move your left hand headwards, while comfortable"),
                             OMO_WORD(
                                 "Move your right hand headwards, while comfortable"))
                   : by_side(s,
                             OMO_WORD("Move your left hand footwards, while comfortable"),
                             OMO_WORD(
                                 "Move your right hand footwards, while comfortable"));
    return external
               ? by_side(s, OMO_WORD("Move your left hand upwards, while comfortable"),
                         OMO_WORD("Move your right hand upwards, while comfortable"))
               : by_side(s, OMO_WORD("Move your left hand downwards, while comfortable"),
                         OMO_WORD("Move your right hand downwards, while comfortable"));
}

static const char *raise(const struct omo_measure_settings *s)
{
    const struct omo_movement *m = s->movement;
    if (m->geometry == OMO_GEOMETRY_PENDULUM)
        return by_side(s, OMO_WORD("Let your left arm swing gently"),
                       OMO_WORD("Let your right arm swing gently"));
    if (m->geometry == OMO_GEOMETRY_ROTATION)
        return turn_forearm(s);
    if (m->geometry == OMO_GEOMETRY_FORESHORTENED)
        return by_side(s, OMO_WORD("Move your left hand outwards, while comfortable"),
                       OMO_WORD("Move your right hand outwards, while comfortable"));
    if (m->view == OMO_VIEW_SIDE)
        return m->sign < 0.0
                   ? by_side(s,
                             OMO_WORD("Raise your left arm forwards, while comfortable"),
                             OMO_WORD("Raise your right arm forwards, while comfortable"))
                   : by_side(s,
                             OMO_WORD("Move your left arm backwards, while comfortable"),
                             OMO_WORD(
                                 "Move your right arm backwards, while comfortable"));
    if (m->sign < 0.0)
        return by_side(s, OMO_WORD("Move your left arm across, while comfortable"),
                       OMO_WORD("Move your right arm across, while comfortable"));
    if (strcmp(m->plane, "frontal") != 0)
        return by_side(s, OMO_WORD("Raise your left arm diagonally, while comfortable"),
                       OMO_WORD("Raise your right arm diagonally, while comfortable"));
    return by_side(s, OMO_WORD("Raise your left arm sideways, while comfortable"),
                   OMO_WORD("Raise your right arm sideways, while comfortable"));
}

static const char *ended(enum omo_live_end end)
{
    switch (end) {
    case OMO_END_STILL:
        return OMO_WORD("Ended: nothing moved for a while");
    case OMO_END_RAISES:
        return OMO_WORD("That is enough: please rest now");
    case OMO_END_ENOUGH:
        return OMO_WORD("Enough for today: it counts as done");
    case OMO_END_STOP:
        return OMO_WORD("Stopped");
    case OMO_END_NOT_YET:
        break;
    }
    return "";
}

static const char *phase_text(const struct omo_live_view *view,
                              const struct omo_measure_settings *s)
{
    switch (view->phase) {
    case OMO_PHASE_SEEK:
        return by_position(s, OMO_WORD("Stand so that your markers are in view"),
                           OMO_WORD("Sit so that your markers are in view"),
                           OMO_WORD("Lie so that your markers are in view"));
    case OMO_PHASE_SETTLE:
        return settle(s);
    case OMO_PHASE_NEUTRAL:
        return OMO_WORD("Keep still: taking your resting position");
    case OMO_PHASE_READY:
        return view->raises == 0 ? raise(s) : OMO_WORD("Once more if you like, or rest");
    case OMO_PHASE_RAISE:
        return OMO_WORD("Only as far as is comfortable");
    case OMO_PHASE_LOWER:
        return OMO_WORD("Back again at your own pace");
    case OMO_PHASE_WARN:
        return OMO_WORD("Still for long: the measurement ends soon");
    case OMO_PHASE_ENDED:
        return ended(view->end);
    case OMO_PHASE_COUNT:
        break;
    }
    return "";
}

const char *omo_phase_sentence(const struct omo_live_view *view,
                               const struct omo_measure_settings *settings)
{
    return translated(phase_text(view, settings));
}

const char *omo_phase_spoken(const struct omo_live_view *view,
                             const struct omo_measure_settings *settings)
{
    switch (view->phase) {
    case OMO_PHASE_NEUTRAL:
        return omo_word(OMO_WORD("Please keep still."));
    case OMO_PHASE_RAISE:
    case OMO_PHASE_LOWER:
        return ""; /* tones follow the arm; a voice would urge */
    case OMO_PHASE_WARN:
        return omo_word(OMO_WORD("You have been still for a while. The measurement will "
                                 "end soon."));
    default:
        return omo_phase_sentence(view, settings);
    }
}
