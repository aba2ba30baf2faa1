/* Where each marker goes in words, and the order for one person with one stiff arm. */
#include "omogon/placement.h"

#include <glib.h>

#include "omogon/words.h"

enum set { SET_SIDE, SET_FRONT, SET_BEHIND, SET_ALONG, SET_COUNT };

static enum set set_of(const struct omo_placement_settings *settings)
{
    switch (settings->view) {
    case OMO_VIEW_SIDE:
        return SET_SIDE;
    case OMO_VIEW_FRONT:
        return settings->from_behind ? SET_BEHIND : SET_FRONT;
    case OMO_VIEW_ALONG_ARM:
        break;
    }
    return SET_ALONG;
}

/** Along the arm a band at the elbow would be seen from its edge: a sticker it is. */
static bool is_band(const struct omo_placement_settings *settings, enum omo_role role)
{
    if (!settings->bands)
        return false;
    return role == OMO_WRIST || (settings->view != OMO_VIEW_ALONG_ARM &&
                                 (role == OMO_SHOULDER || role == OMO_ELBOW));
}

const char *omo_placement_place(const struct omo_placement_settings *settings,
                                enum omo_role role)
{
    static const char *const places[SET_COUNT][OMO_ROLE_COUNT] = {
        [SET_SIDE] =
            {OMO_WORD("outside of the shoulder, two finger-widths below the bony edge"),
             OMO_WORD("outer bump of the elbow"),
             OMO_WORD("middle of the back of the wrist"),
             OMO_WORD("side line, at the hip bone"),
             OMO_WORD("side line, a hand's width below the armpit"),
             OMO_WORD("on the bony edge itself, above S")},
        [SET_FRONT] = {OMO_WORD("front of the shoulder, over its round bone"),
                       OMO_WORD("middle of the arm's front, 2 cm above the elbow crease"),
                       OMO_WORD("middle of the palm side of the wrist"),
                       OMO_WORD("front of the hip bone"),
                       OMO_WORD("notch at the top of the breastbone"),
                       OMO_WORD("front of the bony edge, above S")},
        [SET_BEHIND] = {OMO_WORD("back of the shoulder, over its round bone"),
                        OMO_WORD("middle of the arm's back, 2 cm above the elbow point"),
                        OMO_WORD("middle of the back of the wrist"),
                        OMO_WORD("dimple at the back of the hip bone"),
                        OMO_WORD("bump at the root of the neck"),
                        OMO_WORD("back of the bony edge, above S")},
        [SET_ALONG] = {"", OMO_WORD("point of the elbow"),
                       OMO_WORD("wrist bump on the little finger's side"), "", ""},
    };
    static const char *const bands[] = {
        OMO_WORD("round the upper arm, close under the armpit"),
        OMO_WORD("round the arm, its middle 2 cm above the elbow crease"),
        OMO_WORD("round the wrist")};
    if (role == OMO_ACROMION && !settings->acromion)
        return "";
    if (is_band(settings, role))
        return omo_word(bands[role]);
    if (role >= OMO_ROLE_COUNT || !places[set_of(settings)][role] ||
        places[set_of(settings)][role][0] == '\0')
        return "";
    return omo_word(places[set_of(settings)][role]);
}

/* ---- the order ---- */

static const char peel[] = OMO_WORD("Sit at a table. Peel all stickers first and hang "
                                    "each by its edge on the table's rim.");

/* The good hand does everything; the stiff arm lies on the table. */
static const char *const stiff_words[SET_COUNT][OMO_ROLE_COUNT] = {
    [SET_SIDE] =
        {OMO_WORD("Good hand: S on the outside of the stiff shoulder, two finger-widths "
                  "below the bony edge."),
         OMO_WORD(
             "Stiff forearm rests on the table. Good hand: E on the outer bump of the "
             "elbow."),
         OMO_WORD(
             "Stiff forearm still rests. Good hand: W on the middle of the back of the "
             "wrist."),
         OMO_WORD("Stand up. Good hand: H on the side line, at the hip bone."),
         OMO_WORD("Good hand: C on the side line, a hand's width below the armpit."),
         OMO_WORD("Good hand: A on the bony edge of the stiff shoulder, above S.")},
    [SET_FRONT] =
        {OMO_WORD(
             "Good hand: S on the front of the stiff shoulder, over its round bone."),
         OMO_WORD(
             "Stiff forearm rests on the table, palm up. Good hand: E two centimetres "
             "above the elbow crease."),
         OMO_WORD("Stiff forearm still rests, palm up. Good hand: W on the middle of the "
                  "wrist."),
         OMO_WORD("Stand up. Good hand: H on the front of the hip bone."),
         OMO_WORD("Good hand: C on the notch at the top of the breastbone."),
         OMO_WORD("Good hand: A on the front of the stiff shoulder's bony edge, above "
                  "S.")},
    [SET_ALONG] =
        {NULL,
         OMO_WORD("Stiff forearm rests on the table. Good hand: E on the point of the "
                  "elbow."),
         OMO_WORD("Stiff forearm still rests. Good hand: W on the wrist bump, little "
                  "finger's side."),
         NULL, NULL},
};

/* The good arm comes to the stiff hand, which lies in the lap or on the table. */
static const char *const good_words[SET_COUNT][OMO_ROLE_COUNT] = {
    [SET_SIDE] =
        {OMO_WORD("Bend the good elbow: its hand puts S on its own shoulder, two "
                  "finger-widths below the bony edge."),
         OMO_WORD("Stiff hand rests in the lap, holding E. Bring the good elbow's outer "
                  "bump to it."),
         OMO_WORD(
             "Stiff hand still rests, holding W. Bring the back of the good wrist to "
             "it."),
         OMO_WORD("Stand up. Good hand: H on its own side line, at the hip bone."),
         OMO_WORD("Good hand: C on its own side line, a hand's width below the armpit."),
         OMO_WORD("Bend the good elbow: its hand puts A on its own bony edge, above S.")},
    [SET_FRONT] =
        {OMO_WORD(
             "Bend the good elbow: its hand puts S on the front of its own shoulder."),
         OMO_WORD(
             "Stiff hand rests in the lap, holding E. Bring the good arm to it: 2 cm "
             "above the crease."),
         OMO_WORD(
             "Stiff hand still rests, holding W. Bring the palm side of the good wrist "
             "to it."),
         OMO_WORD("Stand up. Good hand: H on the front of its own hip bone."),
         OMO_WORD("Good hand: C on the notch at the top of the breastbone."),
         OMO_WORD("Bend the good elbow: its hand puts A on its own bony edge, above S.")},
    [SET_ALONG] =
        {NULL,
         OMO_WORD(
             "Stiff hand rests in the lap, holding E. Bring the point of the good elbow "
             "to it."),
         OMO_WORD(
             "Stiff hand still rests, holding W. Bring the good wrist's little-finger "
             "bump to it."),
         NULL, NULL},
};

static const char peel_bands[] = OMO_WORD(
    "Sit at a table. Close each band to a loop that slides over the hand. Peel the "
    "stickers.");
/* The stiff forearm lies on the table, its hand over the edge. */
static const char *const stiff_bands[] = {
    OMO_WORD("Stiff forearm rests on the table. Good hand: slide S over it up to the "
             "armpit."),
    OMO_WORD("Good hand: slide E over the resting stiff forearm, to 2 cm above the elbow "
             "crease."),
    OMO_WORD("Good hand: slide W over the resting stiff hand, to the wrist."),
};
/* A hand cannot push a loop up its own arm as far as the armpit. */
static const char *const good_bands[] = {
    OMO_WORD("A second person: S round the good upper arm, close under the armpit."),
    OMO_WORD(
        "Stiff hand rests in the lap, holding E. Slip the good arm in, past the elbow "
        "crease."),
    OMO_WORD(
        "Stiff hand still rests, holding W. Slip the good hand in, up to the wrist."),
};

/* Nobody reaches these alone without twisting a shoulder. */
static const char *const helper_words[OMO_ROLE_COUNT] = {
    OMO_WORD("A second person: S on the back of the shoulder, over its round bone."),
    OMO_WORD("A second person: E in the middle of the arm, 2 cm above the elbow point."),
    OMO_WORD("A second person: W on the middle of the back of the wrist."),
    OMO_WORD("A second person: H on the dimple at the back of the hip bone."),
    OMO_WORD("A second person: C on the bump at the root of the neck."),
    OMO_WORD("A second person: A on the back of the bony edge, above S."),
};

static enum omo_side other(enum omo_side side)
{
    return side == OMO_LEFT ? OMO_RIGHT : OMO_LEFT;
}

/** A hand that works on the other arm, or that goes to the middle and past it. */
static bool reaches_across(enum omo_role role, bool stiff)
{
    return stiff && role != OMO_CHEST;
}

int omo_placement_steps(const struct omo_placement_settings *settings, bool stiff,
                        struct omo_placement_step step[OMO_PLACEMENT_STEPS])
{
    static const enum omo_role order[] = {OMO_SHOULDER, OMO_ACROMION, OMO_ELBOW,
                                          OMO_WRIST,    OMO_HIP,      OMO_CHEST};
    const enum set set = set_of(settings);
    const enum omo_side good = stiff ? other(settings->side) : settings->side;
    int count = 0;

    step[count++] = (struct omo_placement_step){.role = OMO_ROLE_COUNT,
                                                .hand = good,
                                                .moves = good,
                                                .words = omo_word(
                                                    settings->bands ? peel_bands : peel)};
    for (size_t i = 0; i < G_N_ELEMENTS(order); i++) {
        enum omo_role role = order[i];
        bool band = is_band(settings, role);
        bool helper = set == SET_BEHIND || (band && !stiff && role == OMO_SHOULDER);
        const char *words = stiff ? stiff_words[set][role] : good_words[set][role];
        if (set == SET_BEHIND)
            words = helper_words[role];
        else if (band)
            words = stiff ? stiff_bands[role] : good_bands[role];
        if (words == NULL || (role == OMO_ACROMION && !settings->acromion))
            continue;
        /* The stiff hand may hold a marker while it rests; it never moves. */
        bool held = !stiff && !helper && (role == OMO_ELBOW || role == OMO_WRIST);
        step[count++] =
            (struct omo_placement_step){.has_role = true,
                                        .role = role,
                                        .hand = held ? other(good) : good,
                                        .moves = good,
                                        .across = !helper &&
                                                  (held || reaches_across(role, stiff)),
                                        .helper = helper,
                                        .words = omo_word(words)};
    }
    return count;
}

const char *omo_placement_caution(int index)
{
    static const char *const cautions[] = {
        OMO_WORD("Stop at pain. Never reach across with the stiff arm: its hand only "
                 "rests."),
        OMO_WORD("Fragile skin, a plaster allergy, a wound, a rash or much hair: no "
                 "stickers; wear bands over a close-fitting sleeve."),
        OMO_WORD(
            "Take stickers off slowly, along the skin. Take everything off if the skin "
            "itches or reddens, and bands if the hand tingles or turns pale."),
        OMO_WORD(
            "A measuring and record-keeping aid, not a medical device. Do not decide "
            "treatment on its numbers alone; ask a licensed practitioner, at once if "
            "a shoulder is hot, swollen, injured or suddenly weak, or there is fever "
            "or chest pain."),
    };
    if (index < 0 || index >= (int)G_N_ELEMENTS(cautions))
        return NULL;
    return omo_word(cautions[index]);
}
