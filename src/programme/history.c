/* What is known of a person's history, in the words of the sheet. */
#include <stddef.h>

#include "omogon/care.h"
#include "omogon/words.h"

static const struct {
    const char *name, *words;
} history[OMO_HISTORY_BITS] = {
    {"blood-thinners", OMO_WORD("takes blood thinners")},
    {"nodes-removed", OMO_WORD("lymph nodes removed on this side")},
    {"radiotherapy", OMO_WORD("radiotherapy near this shoulder")},
    {"clot", OMO_WORD("a blood clot, now or lately")},
    {"line-arm", OMO_WORD("dialysis access or a line in this arm")},
    {"fracture", OMO_WORD("a fracture of this shoulder or arm")},
    {"fragile-bone", OMO_WORD("fragile bones (osteoporosis)")},
    {"dislocation", OMO_WORD("this shoulder has been out of joint")},
    {"joint-replaced", OMO_WORD("an artificial shoulder joint")},
    {"device", OMO_WORD("a heart pacemaker or defibrillator")},
    {"device-new", OMO_WORD("a pacemaker or defibrillator put in lately")},
    {"surgery", OMO_WORD("surgery of this shoulder")},
    {"pregnancy", OMO_WORD("pregnancy")},
    {"dizziness", OMO_WORD("dizziness or fainting")},
    {"glaucoma", OMO_WORD("glaucoma")},
    {"both-sides", OMO_WORD("both shoulders affected")},
};

const char *omo_history_name(int bit)
{
    return bit >= 0 && bit < OMO_HISTORY_BITS ? history[bit].name : NULL;
}

const char *omo_history_words(int bit)
{
    return bit >= 0 && bit < OMO_HISTORY_BITS ? history[bit].words : NULL;
}
