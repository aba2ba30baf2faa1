#include "motion/cues.h"

#include <math.h>

#include "motion/jump.h"

/* Frames closer than this add nothing. */
#define APART_S 0.012
/* For how long a move counts as just now: with what a cue lives on, long enough to be
 * read. Our choice. */
#define FRESH_S 1.0

void omo_cue_past_init(struct omo_cue_past *past)
{
    past->count = past->next = 0;
    past->moved_s = NAN;
}

/** The sample `back` frames ago, 0 the last one. */
static int at(const struct omo_cue_past *past, int back)
{
    return (past->next - 1 - back + 2 * OMO_CUE_PAST_MAX) % OMO_CUE_PAST_MAX;
}

static void push(struct omo_cue_past *past, double time_s,
                 const struct omo_markers *markers)
{
    if (past->count > 0) {
        double since_s = time_s - past->time_s[at(past, 0)];
        if (since_s < 0.0)
            past->count = 0;
        else if (since_s < APART_S)
            return;
    }
    past->time_s[past->next] = time_s;
    past->markers[past->next] = *markers;
    past->next = (past->next + 1) % OMO_CUE_PAST_MAX;
    if (past->count < OMO_CUE_PAST_MAX)
        past->count++;
}

static bool usable(const struct omo_cue_past *past, int i, const struct anchors *anchors)
{
    return omo_seen(&past->markers[i], anchors->a) &&
           omo_seen(&past->markers[i], anchors->b);
}

static double way_px(const struct omo_cue_past *past, int from, int to,
                     enum omo_role role)
{
    return omo_point_distance(omo_place(&past->markers[from], role),
                              omo_place(&past->markers[to], role));
}

/** How far both markers moved together between two samples; 0 when they did not. */
static double together_px(const struct omo_cue_past *past, const struct anchors *anchors,
                          int from, int to, double least_px)
{
    struct omo_point a = omo_point_sub(omo_place(&past->markers[to], anchors->a),
                                       omo_place(&past->markers[from], anchors->a));
    struct omo_point b = omo_point_sub(omo_place(&past->markers[to], anchors->b),
                                       omo_place(&past->markers[from], anchors->b));
    double a_px = hypot(a.x, a.y), b_px = hypot(b.x, b.y);
    if (a_px < least_px || b_px < least_px ||
        omo_point_distance(a, b) > JUMP_APART_SHARE * fmax(a_px, b_px))
        return 0.0;
    return (a_px + b_px) / 2;
}

/** Both stay within most_px over STILL_S up to the sample `back` frames ago. */
static bool stood_still(const struct omo_cue_past *past, const struct anchors *anchors,
                        int back, double most_px)
{
    int end = at(past, back), samples = 0;
    double reached_s = 0.0;
    for (int k = back; k < past->count && reached_s < STILL_S; k++) {
        int i = at(past, k);
        reached_s = past->time_s[end] - past->time_s[i];
        if (!usable(past, i, anchors))
            continue;
        if (way_px(past, end, i, anchors->a) > most_px ||
            way_px(past, end, i, anchors->b) > most_px)
            return false;
        samples++;
    }
    return samples >= STILL_SAMPLES_MIN && reached_s >= STILL_S - APART_S;
}

/** The first sample at least JUMP_S after that one shows a jump. */
static bool jumps_after(const struct omo_cue_past *past, const struct anchors *anchors,
                        int back, double least_px)
{
    double from_s = past->time_s[at(past, back)];
    for (int k = back - 1; k >= 0; k--) {
        double late_s = past->time_s[at(past, k)] - from_s;
        if (late_s < JUMP_S - 1e-6 || !usable(past, at(past, k), anchors))
            continue;
        /* Two frames of a slow camera; later ones could be a person's own step. */
        return late_s <= 3 * JUMP_S &&
               together_px(past, anchors, at(past, back), at(past, k), least_px) > 0.0;
    }
    return false;
}

static bool moved_by(const struct omo_cue_past *past, const struct anchors *anchors,
                     double least_px)
{
    int now = at(past, 0);
    if (!usable(past, now, anchors))
        return false;
    for (int back = 1; back < past->count; back++) {
        int before = at(past, back);
        double ago_s = past->time_s[now] - past->time_s[before];
        if (ago_s > SETTLE_S + STILL_S + JUMP_S)
            break;
        if (ago_s < STILL_S || !usable(past, before, anchors))
            continue;
        double px = together_px(past, anchors, before, now, least_px);
        /* A walk of some length must not pass for a long jump's ringing. */
        if (px > 0.0 && stood_still(past, anchors, 0, fmin(STILL_AFTER * px, least_px)) &&
            stood_still(past, anchors, back, fmin(STILL_BEFORE * px, least_px)) &&
            jumps_after(past, anchors, back, least_px))
            return true;
    }
    return false;
}

bool omo_cue_camera_moved(struct omo_cue_past *past, double time_s,
                          const struct omo_markers *markers, double arm_px)
{
    /* The hanging arm hides the hip; then chest or elbow stand in for it. Rotations show
     * elbow and wrist alone. */
    static const struct anchors pairs[] = {
        {OMO_SHOULDER, OMO_HIP},
        {OMO_SHOULDER, OMO_CHEST},
        {OMO_SHOULDER, OMO_ELBOW},
        {OMO_ELBOW, OMO_WRIST},
    };
    double least_px =
        fmax(JUMP_PX_MIN, JUMP_ARM_SHARE * (isnan(arm_px) ? ARM_PX_UNKNOWN : arm_px));
    push(past, time_s, markers);
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        /* A forearm may be thrown about while the shoulder is there to tell. */
        if (pairs[i].a == OMO_ELBOW && omo_seen(markers, OMO_SHOULDER))
            continue;
        if (moved_by(past, &pairs[i], least_px)) {
            past->moved_s = time_s;
            past->count = 0;
            break;
        }
    }
    double since_s = time_s - past->moved_s;
    return since_s >= 0.0 && since_s < FRESH_S;
}
