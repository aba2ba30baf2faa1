#include <string.h>

#include "omogon/motion.h"
#include "omogon/words.h"

static const struct {
    const char *name, *words;
} movements[] = {
    {"flexion", OMO_WORD("arm to the front (flexion)")},
    {"extension", OMO_WORD("arm to the back (extension)")},
    {"abduction", OMO_WORD("arm to the side (abduction)")},
    {"adduction", OMO_WORD("arm across the body (adduction)")},
    {"scaption", OMO_WORD("arm slantwise to the front (scaption)")},
    {"external-rotation", OMO_WORD("forearm outward (external rotation)")},
    {"internal-rotation", OMO_WORD("forearm inward (internal rotation)")},
    {"external-rotation/front",
     OMO_WORD("forearm outward, from in front (external rotation)")},
    {"pendulum", OMO_WORD("arm hanging and swinging (pendulum)")},
};

const char *omo_movement_words(const char *key)
{
    for (size_t i = 0; i < sizeof movements / sizeof movements[0]; i++)
        if (!strcmp(movements[i].name, key))
            return omo_word(movements[i].words);
    return key;
}
