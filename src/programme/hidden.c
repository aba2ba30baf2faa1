/* Steps that a history hides. The reasons stand in models/care.ini; all are our choice.
 */
#include <string.h>

#include "omogon/words.h"
#include "programme/care_parts.h"

enum {
    DISLOCATION = OMO_HISTORY_DISLOCATION,
    REPLACED = OMO_HISTORY_JOINT_REPLACED,
    ANY_DEVICE = OMO_HISTORY_DEVICE | OMO_HISTORY_DEVICE_NEW,
    PREGNANCY = OMO_HISTORY_PREGNANCY,
    DIZZINESS = OMO_HISTORY_DIZZINESS,
    GLAUCOMA = OMO_HISTORY_GLAUCOMA,
    /* Ribs and vessels under a finger, and bleeding below it. */
    NO_PRESS = OMO_HISTORY_BLOOD_THINNERS | OMO_HISTORY_NODES_REMOVED |
               OMO_HISTORY_RADIOTHERAPY | OMO_HISTORY_CLOT | OMO_HISTORY_LINE_ARM |
               OMO_HISTORY_FRACTURE | OMO_HISTORY_FRAGILE_BONE,
    NO_WEIGHT = DISLOCATION | REPLACED | ANY_DEVICE | OMO_HISTORY_SURGERY |
                OMO_HISTORY_FRACTURE | OMO_HISTORY_FRAGILE_BONE,
};

static const char slipped[] = OMO_WORD(
    "Left out: this position is where a shoulder that was out of joint may slip again.");
static const char new_joint[] =
    OMO_WORD("Left out: this position is where an artificial joint may slip out.");
static const char bent[] = OMO_WORD(
    "Left out: bent forward while standing you may get dizzy and fall; seated it "
    "is possible.");
static const char eye[] =
    OMO_WORD("Left out: with the head low the pressure in the eye rises; seated upright "
             "it is possible.");
static const char lying[] =
    OMO_WORD("Left out: lying flat in pregnancy can make you faint.");
static const char pressed[] =
    OMO_WORD("Left out: with what is in your history nothing is pressed.");
static const char device[] =
    OMO_WORD("Left out: the heart device lies below the front of the chest.");

/* A row hides a step of this kind when everything that it names fits. */
static const struct {
    unsigned history;
    enum omo_step_kind kind;
    const char *what; /* movement, area or finding; NULL any */
    int position;     /* -1 any */
    const char *why;
} rows[] = {
    {NO_PRESS, OMO_STEP_PRESS, NULL, -1, pressed},
    {ANY_DEVICE, OMO_STEP_PRESS, "chest-front", -1, device},
    {DISLOCATION, OMO_STEP_STAY, "external-rotation", -1, slipped},
    {DISLOCATION, OMO_STEP_STAY, "extension", -1, slipped},
    {DISLOCATION, OMO_STEP_FINDING, "behind-the-head", -1, slipped},
    {REPLACED, OMO_STEP_STAY, "internal-rotation", -1, new_joint},
    {REPLACED, OMO_STEP_STAY, "extension", -1, new_joint},
    {REPLACED, OMO_STEP_STAY, "adduction", -1, new_joint},
    {REPLACED, OMO_STEP_FINDING, "hand-behind-back", -1, new_joint},
    {REPLACED, OMO_STEP_FINDING, "back-pocket", -1, new_joint},
    {PREGNANCY, OMO_STEP_STAY, NULL, OMO_SUPINE, lying},
    {PREGNANCY, OMO_STEP_STAY, NULL, OMO_PRONE, lying},
    {PREGNANCY, OMO_STEP_MEASURE, NULL, OMO_SUPINE, lying},
    {PREGNANCY, OMO_STEP_MEASURE, NULL, OMO_PRONE, lying},
    {PREGNANCY, OMO_STEP_PRESS, NULL, OMO_SUPINE, lying},
    {PREGNANCY, OMO_STEP_PRESS, NULL, OMO_PRONE, lying},
    {DIZZINESS, OMO_STEP_PENDULUM, NULL, OMO_STANDING, bent},
    {GLAUCOMA, OMO_STEP_PENDULUM, NULL, OMO_STANDING, eye},
};

static const char *what_of(const struct omo_step *step)
{
    if (step->kind == OMO_STEP_PRESS)
        return step->area;
    return step->kind == OMO_STEP_FINDING ? step->finding : step->movement;
}

const char *omo_hidden_why(const struct omo_step *step, unsigned history)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if ((rows[i].history & history) != 0 && rows[i].kind == step->kind &&
            (rows[i].what == NULL || strcmp(rows[i].what, what_of(step)) == 0) &&
            (rows[i].position < 0 || rows[i].position == (int)step->position))
            return omo_word(rows[i].why);
    }
    return NULL;
}

bool omo_weight_hidden(unsigned history)
{
    return (history & NO_WEIGHT) != 0;
}
