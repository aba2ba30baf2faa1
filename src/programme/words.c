/* The words of a programme's file, and what stands for them on the screen. */
#include <string.h>

#include "omogon/programme.h"
#include "omogon/words.h"

static const char *const group_names[OMO_GROUP_COUNT] = {
    [OMO_GROUP_SETTLE] = "settle", [OMO_GROUP_SWING] = "swing",
    [OMO_GROUP_REACH] = "reach",   [OMO_GROUP_TURN] = "turn",
    [OMO_GROUP_USE] = "use",
};

static const char *const kind_names[OMO_STEP_KIND_COUNT] = {
    [OMO_STEP_PRESS] = "press",     [OMO_STEP_PENDULUM] = "pendulum",
    [OMO_STEP_STAY] = "stay",       [OMO_STEP_MEASURE] = "measure",
    [OMO_STEP_FINDING] = "finding", [OMO_STEP_DESK] = "desk",
    [OMO_STEP_NOTE] = "note",       [OMO_STEP_PAIN] = "pain",
};

static const char *const when_names[OMO_PAIN_WHEN_COUNT] = {
    [OMO_PAIN_NOW] = "now",
    [OMO_PAIN_WORST_24H] = "worst-24h",
    [OMO_PAIN_DURING] = "during",
    [OMO_PAIN_AFTER] = "after",
    [OMO_PAIN_NEXT_MORNING] = "next-morning",
};

const char *omo_group_name(enum omo_step_group group)
{
    return (unsigned)group < OMO_GROUP_COUNT ? group_names[group] : NULL;
}

const char *omo_step_kind_name(enum omo_step_kind kind)
{
    return (unsigned)kind < OMO_STEP_KIND_COUNT ? kind_names[kind] : NULL;
}

const char *omo_pain_when_name(enum omo_pain_when when)
{
    return (unsigned)when < OMO_PAIN_WHEN_COUNT ? when_names[when] : NULL;
}

/* Where a ball or a fingertip may rest: common practice, no source. Each keeps away from
 * what lies near: bone edges, the neck's front, the breast, nerves and vessels. */
static const struct omo_area areas[] = {
    {"upper-trapezius", OMO_WORD("top of the shoulder, halfway to the neck"),
     OMO_WORD("Keep away from the side and the front of the neck."), false},
    {"blade-corner", OMO_WORD("upper inner corner of the shoulder blade"),
     OMO_WORD("Keep away from the spine and the side of the neck."), false},
    {"blade-inner-edge", OMO_WORD("beside the inner edge of the shoulder blade"),
     OMO_WORD("Keep away from the spine; do not press on the ribs."), false},
    {"blade-back", OMO_WORD("flat back of the shoulder blade"),
     OMO_WORD("Keep away from the bony ridge across the blade."), false},
    {"outer-shoulder", OMO_WORD("outside of the shoulder, below its bony edge"),
     OMO_WORD("Keep off the bone; stay above the middle of the upper arm."), false},
    {"chest-front", OMO_WORD("front of the chest, a hand's width from the armpit"),
     OMO_WORD("Keep away from the collarbone, the breast and the armpit."), false},
    {"upper-arm-back", OMO_WORD("back of the upper arm"),
     OMO_WORD("Keep away from the inside of the arm and from the elbow."), false},
    {"blade-front", OMO_WORD("front of the shoulder blade, from its outer edge"),
     OMO_WORD(
         "Never up and in to the armpit: vessels, nerves and lymph nodes lie there."),
     true},
    {"armpit-back", OMO_WORD("fold at the back of the armpit"),
     OMO_WORD("Hold the fold from outside; never up and in to the armpit: vessels, "
              "nerves and lymph nodes lie there."),
     true},
};

const struct omo_area *omo_area_at(int index)
{
    if (index < 0 || index >= (int)(sizeof areas / sizeof areas[0]))
        return NULL;
    return &areas[index];
}

const struct omo_area *omo_area_find(const char *name)
{
    for (int i = 0; omo_area_at(i) != NULL; i++) {
        if (strcmp(areas[i].name, name) == 0)
            return &areas[i];
    }
    return NULL;
}

/* How far up the back the thumb comes, in the trade's words. */
static const char *const back_levels[] = {"thigh", "buttock", "sacrum", "L5",
                                          "L3",    "T12",     "T7",     NULL};
static const char *const can_levels[] = {"yes", "hard", "no", NULL};
static const char *const feel_levels[] = {"soft",    "firm",  "hard", "springy",
                                          "guarded", "empty", NULL};

/* The most a questionnaire's total may be: above all that are in use, our choice. */
#define TOTAL_MOST 1000.0

static const struct omo_finding findings[] = {
    {"hand-behind-back",
     OMO_WORD("How far up does the thumb reach behind the back, without forcing it?"),
     OMO_FINDING_LEVEL, back_levels, 0.0, 0.0, true},
    {"hand-to-mouth", OMO_WORD("Does the hand come to the mouth?"), OMO_FINDING_CAN,
     can_levels, 0.0, 0.0, true},
    {"behind-the-head", OMO_WORD("Does the hand come behind the head?"), OMO_FINDING_CAN,
     can_levels, 0.0, 0.0, true},
    {"opposite-shoulder", OMO_WORD("Does the hand come to the other shoulder?"),
     OMO_FINDING_CAN, can_levels, 0.0, 0.0, true},
    {"back-pocket", OMO_WORD("Does the hand come to the back pocket?"), OMO_FINDING_CAN,
     can_levels, 0.0, 0.0, true},
    {"end-feel", OMO_WORD("For the practitioner: how does the end of the movement feel?"),
     OMO_FINDING_END_FEEL, feel_levels, 0.0, 0.0, true},
    {"activity-1", OMO_WORD("First activity of your choice: 0 not at all, 10 easily."),
     OMO_FINDING_SCORE, NULL, 0.0, 10.0, false},
    {"activity-2", OMO_WORD("Second activity of your choice: 0 not at all, 10 easily."),
     OMO_FINDING_SCORE, NULL, 0.0, 10.0, false},
    {"activity-3", OMO_WORD("Third activity of your choice: 0 not at all, 10 easily."),
     OMO_FINDING_SCORE, NULL, 0.0, 10.0, false},
    {"nights-woken",
     OMO_WORD("In how many of the last seven nights did the shoulder wake you?"),
     OMO_FINDING_COUNT_OF, NULL, 0.0, 7.0, false},
    {"questionnaire", OMO_WORD("Total of the questionnaire, the number alone."),
     OMO_FINDING_TOTAL, NULL, 0.0, TOTAL_MOST, false},
};

const struct omo_finding *omo_finding_at(int index)
{
    if (index < 0 || index >= (int)(sizeof findings / sizeof findings[0]))
        return NULL;
    return &findings[index];
}

const struct omo_finding *omo_finding_find(const char *name)
{
    for (int i = 0; omo_finding_at(i) != NULL; i++) {
        if (strcmp(findings[i].name, name) == 0)
            return &findings[i];
    }
    return NULL;
}
