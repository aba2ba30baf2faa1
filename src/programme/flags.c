/* Warning signs: what is asked, and how soon somebody has to see it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/care.h"
#include "omogon/words.h"
#include "programme/care_parts.h"

/* From what pathways for painful shoulders ask for (Rangan et al. 2015; BMJ
 * 2023;382:p1255, both as quoted elsewhere) and the signs of heart and stroke that
 * everybody is taught. */
static const struct omo_red_flag flags[] = {
    {"chest-pain", OMO_WORD("pain in the chest, or short of breath"), OMO_URGENCY_NOW},
    {"sweating", OMO_WORD("sweating together with pain in the arm or the jaw"),
     OMO_URGENCY_NOW},
    {"face-speech-side",
     OMO_WORD("face droops, speech is slurred or gone, or one side is weak"),
     OMO_URGENCY_NOW},
    {"vision-lost", OMO_WORD("sudden loss of vision"), OMO_URGENCY_NOW},
    {"arm-changed", OMO_WORD("arm out of shape, cold, blue or suddenly numb"),
     OMO_URGENCY_NOW},
    {"fever", OMO_WORD("fever"), OMO_URGENCY_TODAY},
    {"hot-joint", OMO_WORD("the joint is hot and red"), OMO_URGENCY_TODAY},
    {"arm-swollen", OMO_WORD("sudden swelling of the arm"), OMO_URGENCY_TODAY},
    {"cannot-lift",
     OMO_WORD("cannot lift the arm after a fall, a seizure or an electric shock"),
     OMO_URGENCY_TODAY},
    {"infection", OMO_WORD("redness, heat, pus or chills after an injection or surgery"),
     OMO_URGENCY_TODAY},
    {"lump", OMO_WORD("a lump"), OMO_URGENCY_DAYS},
    {"cancer", OMO_WORD("cancer now or in the past"), OMO_URGENCY_DAYS},
    {"weight-loss", OMO_WORD("weight loss without a reason"), OMO_URGENCY_DAYS},
    {"night-pain", OMO_WORD("night pain that nothing eases"), OMO_URGENCY_DAYS},
    {"clumsy-hands", OMO_WORD("hands have become clumsy"), OMO_URGENCY_DAYS},
    {"both-shoulders", OMO_WORD("both shoulders began to hurt"), OMO_URGENCY_DAYS},
};

const struct omo_red_flag *omo_red_flag_at(int index)
{
    if (index < 0 || index >= (int)(sizeof flags / sizeof flags[0]))
        return NULL;
    return &flags[index];
}

const char *omo_urgency_words(enum omo_urgency urgency)
{
    switch (urgency) {
    case OMO_URGENCY_NOW:
        return omo_word("Stop. Call the emergency number of your country now.");
    case OMO_URGENCY_TODAY:
        return omo_word("Stop for today. See a doctor or clinic today.");
    case OMO_URGENCY_DAYS:
        return omo_word("Have a doctor look at this within the next days.");
    case OMO_URGENCY_NONE:
        break;
    }
    return "";
}

static bool date_of(const char *text, GDate *date)
{
    int year, month, day;
    char rest;
    if (text == NULL || strlen(text) != 10 ||
        sscanf(text, "%4d-%2d-%2d%c", &year, &month, &day, &rest) != 3 || year < 1 ||
        month < 1 || day < 1 ||
        !g_date_valid_dmy((GDateDay)day, (GDateMonth)month, (GDateYear)year))
        return false;
    g_date_clear(date, 1);
    g_date_set_dmy(date, (GDateDay)day, (GDateMonth)month, (GDateYear)year);
    return true;
}

bool omo_days_between(const char *from, const char *to, int *days)
{
    GDate first, second;
    if (!date_of(from, &first) || !date_of(to, &second))
        return false;
    *days = g_date_days_between(&first, &second);
    return true;
}

enum omo_list_due omo_red_flags_due(const struct omo_care *care, const char *last_date,
                                    const char *today, bool fall_injection_or_surgery)
{
    int days;
    /* A clock that went back says nothing about a gap. */
    if (fall_injection_or_surgery || !omo_days_between(last_date, today, &days) ||
        days < 0 || days >= care->gap_days)
        return OMO_LIST_WHOLE;
    return OMO_LIST_SHORT;
}
