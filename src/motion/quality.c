#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/text.h"

/* One table for the file, the help and the documents; in the order of the bits. */
static const struct {
    enum omo_quality bit;
    const char *word, *meaning;
} words[] = {
    {OMO_QUALITY_NO_SHOULDER, "no-shoulder", "the shoulder marker was not seen"},
    {OMO_QUALITY_NO_ELBOW, "no-elbow", "the elbow marker was not seen"},
    {OMO_QUALITY_NO_WRIST, "no-wrist", "the wrist marker was not seen and is needed"},
    {OMO_QUALITY_ASSUMED_VERTICAL, "assumed-vertical",
     "no trunk was seen: the picture's vertical stands for it, or its horizontal for a "
     "person lying"},
    {OMO_QUALITY_ESTIMATED_LEAN, "estimated-lean",
     "the trunk's lean is estimated from the shoulder's sideways shift"},
    {OMO_QUALITY_OUT_OF_PLANE, "out-of-plane",
     "the arm looks shorter than 0.90 of its length: it points out of the picture's "
     "plane"},
    {OMO_QUALITY_UNFILTERED, "unfiltered",
     "the stretch is too short to filter: angle_deg is the raw angle"},
    {OMO_QUALITY_DAMAGED, "damaged", "the frame's bytes were broken: angle_deg is empty"},
    {OMO_QUALITY_REPEATED, "repeated",
     "the same picture as before: angle_deg is empty if the arm had moved meanwhile"},
    {OMO_QUALITY_EDITED, "edited",
     "a marker of the frame, or one that its angle rests on, was placed or taken away by "
     "hand"},
    {OMO_QUALITY_TRUNK_HELD, "trunk-held",
     "the hip or chest was hidden: its last clear place is used"},
    {OMO_QUALITY_CAMERA_MOVED, "camera-moved",
     "the camera was moved in this frame or before it"},
    {OMO_QUALITY_ELBOW_ANGLE, "elbow-angle",
     "rotation from in front: the elbow is not within 30 degrees of a right angle, or "
     "the "
     "forearm is far longer than it should be; no angle"},
    {OMO_QUALITY_ELBOW_AWAY, "elbow-away",
     "rotation from in front: the elbow has left the side by more than 15 degrees"},
    {OMO_QUALITY_TRUNK_TURNED, "trunk-turned",
     "rotation from in front: shoulder and breastbone have closed up or drawn apart by "
     "more than a tenth, as when the trunk turns"},
    {OMO_QUALITY_INSENSITIVE, "insensitive",
     "rotation from in front beyond 65 degrees: a small error of the forearm's length is "
     "a "
     "large one of the angle"},
};

#define WORD_COUNT (int)(sizeof words / sizeof words[0])

void omo_quality_text(unsigned quality, char *text, size_t size)
{
    omo_text_copy(text, size, quality == 0 ? "ok" : "");
    for (int i = 0; i < WORD_COUNT; i++) {
        if ((quality & (unsigned)words[i].bit) == 0)
            continue;
        omo_text_add(text, size, "%s%s", text[0] != '\0' ? "+" : "", words[i].word);
    }
}

const char *omo_quality_word(int index, const char **meaning)
{
    /* Index 0 is "ok", which has no bit. */
    if (index < 0 || index > WORD_COUNT)
        return NULL;
    if (meaning != NULL)
        *meaning = index == 0 ? "every marker needed was seen" : words[index - 1].meaning;
    return index == 0 ? "ok" : words[index - 1].word;
}

const char *omo_reference_name(enum omo_reference reference)
{
    switch (reference) {
    case OMO_REFERENCE_NONE:
        return "none";
    case OMO_REFERENCE_SHIFT:
        return "shift";
    case OMO_REFERENCE_HIP:
        return "hip";
    case OMO_REFERENCE_CHEST_HIP:
        return "chest-hip";
    }
    return "none";
}
