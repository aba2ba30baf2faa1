#include "programme/table.h"

/* In the order of their enums; those of groups, kinds and the like come from their names.
 */
static const char *const side_words[] = {"affected", "other", "left",
                                         "right",    "both",  NULL};
static const char *const mode_words[] = {"active", "assisted", NULL};
static const char *const pace_words[] = {"own", "paced", NULL};
static const char *const arms_words[] = {"one", "both", NULL};

static const char *group_word(int i)
{
    return omo_group_name((enum omo_step_group)i);
}

static const char *kind_word(int i)
{
    return omo_step_kind_name((enum omo_step_kind)i);
}

static const char *when_word(int i)
{
    return omo_pain_when_name((enum omo_pain_when)i);
}

static const char *position_word(int i)
{
    return omo_position_name((enum omo_position)i);
}

static const char *view_word(int i)
{
    return i <= OMO_VIEW_ALONG_ARM ? omo_view_name((enum omo_view)i) : NULL;
}

static const char *area_word(int i)
{
    const struct omo_area *area = omo_area_at(i);
    return area != NULL ? area->name : NULL;
}

static const char *finding_word(int i)
{
    const struct omo_finding *finding = omo_finding_at(i);
    return finding != NULL ? finding->name : NULL;
}

#define S(member) offsetof(struct omo_step, member), sizeof((struct omo_step *)0)->member
#define P(member)                                                                        \
    offsetof(struct omo_programme, member), sizeof((struct omo_programme *)0)->member

/* Ranges: holds of a ball 30 s to 3 min or 5 to 10 breaths, circles 10 to 20 each way and
 * weights up to 5 lb (2.27 kg) are common practice, no source; 4 to 20 breaths a minute
 * span slow and usual breathing (Russo et al. 2017, as quoted); the rest is our choice.
 */
const struct omo_field omo_fields[] = {
    {"title", OMO_KEY_PROGRAMME, OMO_KEY_PROGRAMME, OMO_FIELD_TEXT, P(title), 0, 0, NULL,
     NULL, NULL},
    {"issue", OMO_KEY_PROGRAMME, 0, OMO_FIELD_TEXT, P(issue), 0, 0, NULL, NULL, NULL},
    {"made_by", OMO_KEY_PROGRAMME, 0, OMO_FIELD_TEXT, P(made_by), 0, 0, NULL, NULL, NULL},
    {"arms", OMO_KEY_PROGRAMME, 0, OMO_FIELD_FLAG, P(arms_both), 0, 0, arms_words, NULL,
     NULL},
    {"pain_limit", OMO_KEY_PROGRAMME, 0, OMO_FIELD_NUMBER, P(pain_limit), 0, 10, NULL,
     NULL, "pain is told from 0 to 10"},
    {"group", OMO_KEY_ANY_STEP, OMO_KEY_ANY_STEP, OMO_FIELD_WORD, S(group), 0, 0, NULL,
     group_word, NULL},
    {"kind", OMO_KEY_ANY_STEP, OMO_KEY_ANY_STEP, OMO_FIELD_WORD, S(kind), 0, 0, NULL,
     kind_word, NULL},
    {"side", OMO_KEY_DOING | OMO_KEY_FINDING | OMO_KEY_DESK, 0, OMO_FIELD_WORD, S(side),
     0, 0, side_words, NULL, NULL},
    {"movement", OMO_KEY_STAY | OMO_KEY_MEASURE, OMO_KEY_STAY | OMO_KEY_MEASURE,
     OMO_FIELD_TEXT, S(movement), 0, 0, NULL, NULL, NULL},
    {"mode", OMO_KEY_STAY | OMO_KEY_MEASURE, 0, OMO_FIELD_WORD, S(mode), 0, 0, mode_words,
     NULL, NULL},
    {"position", OMO_KEY_DOING, 0, OMO_FIELD_WORD, S(position), 0, 0, NULL, position_word,
     NULL},
    {"view", OMO_KEY_STAY | OMO_KEY_MEASURE, 0, OMO_FIELD_TEXT, S(view), 0, 0, NULL,
     view_word, NULL},
    {"area", OMO_KEY_PRESS, OMO_KEY_PRESS, OMO_FIELD_TEXT, S(area), 0, 0, NULL, area_word,
     NULL},
    {"finding", OMO_KEY_FINDING, OMO_KEY_FINDING, OMO_FIELD_TEXT, S(finding), 0, 0, NULL,
     finding_word, NULL},
    {"for", OMO_KEY_FINDING, 0, OMO_FIELD_TEXT, S(words_for), 0, 0, NULL, NULL, NULL},
    {"when", OMO_KEY_PAIN, 0, OMO_FIELD_WORD, S(when), 0, 0, NULL, when_word, NULL},
    {"hold_s", OMO_KEY_PRESS, 0, OMO_FIELD_NUMBER, S(hold_s), 30, 180, NULL, NULL,
     "a press rests half a minute to three minutes"},
    {"hold_s", OMO_KEY_STAY, 0, OMO_FIELD_NUMBER, S(hold_s), 5, 180, NULL, NULL,
     "a stay rests five seconds to three minutes"},
    {"breaths", OMO_KEY_PRESS | OMO_KEY_STAY, 0, OMO_FIELD_WHOLE, S(breaths), 5, 10, NULL,
     NULL, "write 5 to 10, or hold_s instead"},
    {"pace", OMO_KEY_PRESS | OMO_KEY_STAY, 0, OMO_FIELD_WORD, S(pace), 0, 0, pace_words,
     NULL, NULL},
    {"breaths_per_min", OMO_KEY_PRESS | OMO_KEY_STAY, 0, OMO_FIELD_NUMBER,
     S(breaths_per_min), 4, 20, NULL, NULL, "6 is slow, 12 is usual"},
    {"circles", OMO_KEY_PENDULUM, 0, OMO_FIELD_WHOLE, S(circles), 10, 20, NULL, NULL,
     "it counts each way, 10 to begin with"},
    {"load_kg", OMO_KEY_PENDULUM, 0, OMO_FIELD_NUMBER, S(load_kg), 0, 2.5, NULL, NULL,
     "a hand weight is in kilograms"},
    {"repetitions", OMO_KEY_STAY | OMO_KEY_MEASURE, 0, OMO_FIELD_WHOLE, S(repetitions), 1,
     5, NULL, NULL, "more than five raises tire the arm"},
    {"ease_ups", OMO_KEY_STAY, 0, OMO_FIELD_WHOLE, S(ease_ups), 0, 3, NULL, NULL,
     "0 leaves them out"},
    {"ceiling_deg", OMO_KEY_STAY | OMO_KEY_MEASURE, 0, OMO_FIELD_NUMBER, S(ceiling_deg),
     0, 180, NULL, NULL,
     "it is the angle the arm must not pass; leave the line out for none"},
    {"pain_limit", OMO_KEY_DOING, 0, OMO_FIELD_NUMBER, S(pain_limit), 0, 10, NULL, NULL,
     "pain is told from 0 to 10"},
    {"every_min", OMO_KEY_DESK, 0, OMO_FIELD_NUMBER, S(every_min), 5, 240, NULL, NULL,
     "it is in minutes"},
    {"guidance", OMO_KEY_ANY_STEP, OMO_KEY_PRESS | OMO_KEY_PENDULUM | OMO_KEY_STAY,
     OMO_FIELD_TEXT, S(guidance), 0, 0, NULL, NULL, NULL},
    {"caution", OMO_KEY_ANY_STEP, 0, OMO_FIELD_TEXT, S(caution), 0, 0, NULL, NULL, NULL},
};
const size_t omo_field_count = sizeof omo_fields / sizeof omo_fields[0];
