#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"

#include "length.h"
#include "pair.h"

/* One tracker an arm, each with its own idea of what is seen, on the same planes. What is
 * special about two arms is who has which marker: they are acquired together, since only
 * beside each other is a right shoulder told from a left one, and in no frame may both
 * have the same patch. */

/* Of two arms that follow to the same patch one has to be nearer to where it expected it
 * by this ratio. */
#define CLEARLY_NEARER 0.5

enum omo_status omo_pair_create(const struct omo_tracker_settings *settings,
                                struct omo_pair **out)
{
    if (!settings || !out || !settings->body || settings->view != OMO_VIEW_FRONT ||
        settings->position == OMO_SIDE_LYING)
        return OMO_ERR_ARG;
    struct omo_pair *pair = calloc(1, sizeof *pair);
    enum omo_status status = pair ? OMO_OK : OMO_ERR_MEMORY;
    for (int side = 0; side < 2 && status == OMO_OK; side++) {
        struct omo_tracker_settings one = *settings;
        one.side = (enum omo_side)side;
        status = omo_tracker_create(&one, &pair->tracker[side]);
        if (status != OMO_OK)
            break;
        pair->tracker[side]->figure_frame.either_hip = true;
        if (pair->tracker[side]->entry_of_role[OMO_ACROMION] < 0)
            continue;
        omo_error("the set \"%s\" has an acromion marker, which both arms at once do not "
                  "know; use another set of colours, or one arm",
                  settings->set.name);
        status = OMO_ERR_SETTINGS;
    }
    if (status != OMO_OK) {
        omo_pair_destroy(pair);
        return status;
    }
    for (int side = 0; side < 2; side++)
        pair->tracker[side]->other_arm = pair->tracker[1 - side];
    *out = pair;
    return OMO_OK;
}

void omo_pair_destroy(struct omo_pair *pair)
{
    if (!pair)
        return;
    for (int side = 0; side < 2; side++)
        omo_tracker_destroy(pair->tracker[side]);
    free(pair);
}

static void start(struct omo_pair *pair, const struct omo_both *both,
                  struct omo_sighting list[2][OMO_ROLE_COUNT])
{
    for (int side = 0; side < 2; side++)
        omo_start_body(pair->tracker[side], &both->arm[side], list[side]);
    pair->score = both->score;
    pair->challenge_wins = 0;
    pair->challenge_wait_s = OMO_CHALLENGE_FIRST_S;
    pair->next_challenge_s = pair->tracker[0]->time_s + OMO_CHALLENGE_FIRST_S;
}

/* An arm that is followed stays; the other one has to be found beside it. */
static void try_to_lock(struct omo_pair *pair,
                        struct omo_sighting list[2][OMO_ROLE_COUNT])
{
    struct omo_both both;
    if (pair->frames_to_search-- > 0 || !omo_pair_acquire(pair, &both))
        return;
    bool good = true;
    for (int side = 0; side < 2; side++) {
        struct omo_tracker *tracker = pair->tracker[side];
        bool fits = tracker->locked ? omo_body_agrees(&both.arm[side], list[side])
                                    : omo_body_believed(tracker, &both.arm[side]);
        good = good && fits;
    }
    if (!good)
        return;
    if (!pair->tracker[0]->locked && !pair->tracker[1]->locked) {
        start(pair, &both, list);
        return;
    }
    int side = pair->tracker[0]->locked ? 1 : 0;
    omo_start_body(pair->tracker[side], &both.arm[side], list[side]);
}

/* As for one arm: the first lock may have been on the wrong things. */
static void challenge(struct omo_pair *pair, struct omo_sighting list[2][OMO_ROLE_COUNT])
{
    struct omo_both both;
    double time_s = pair->tracker[0]->time_s;
    if (time_s < pair->next_challenge_s)
        return;
    bool found = omo_pair_acquire(pair, &both);
    bool same = found && omo_body_agrees(&both.arm[0], list[0]) &&
                omo_body_agrees(&both.arm[1], list[1]);
    if (same)
        pair->score = fmax(pair->score, both.score);
    bool other = found && !same && both.score > pair->score + OMO_CHALLENGE_MARGIN;
    pair->challenge_wins = other ? pair->challenge_wins + 1 : 0;
    if (pair->challenge_wins >= 3) {
        start(pair, &both, list);
        return;
    }
    if (!other)
        pair->challenge_wait_s = fmin(2 * pair->challenge_wait_s, OMO_CHALLENGE_MOST_S);
    pair->next_challenge_s = time_s + (other ? 0.15 : pair->challenge_wait_s);
}

/* ---- who has which marker ---- */

static bool one_thing(const struct omo_sighting *a, const struct omo_sighting *b)
{
    return omo_length(a->x_px - b->x_px, a->y_px - b->y_px) < 0.5 * b->spot.width_px;
}

/* How far it is from where it was expected, in gates. */
static double surprise(const struct omo_tracker *tracker, const struct omo_sighting *s)
{
    double x, y, gate;
    omo_track_predict(s->track, tracker->time_s, &x, &y, &gate);
    return omo_length(s->x_px - x, s->y_px - y) / gate;
}

/* What was followed is believed before what came back, and the better of two alike when
 * it is clearly better; else neither has it. */
static void settle(struct omo_pair *pair, struct omo_sighting *of[2])
{
    bool keep[2] = {false, false};
    if (of[0]->returned != of[1]->returned) {
        keep[of[0]->returned ? 1 : 0] = true;
    } else if (of[0]->returned) {
        keep[0] = of[0]->return_cost < of[1]->return_cost - OMO_RETURN_MARGIN;
        keep[1] = of[1]->return_cost < of[0]->return_cost - OMO_RETURN_MARGIN;
    } else {
        double a = surprise(pair->tracker[0], of[0]);
        double b = surprise(pair->tracker[1], of[1]);
        keep[0] = a < CLEARLY_NEARER * b;
        keep[1] = b < CLEARLY_NEARER * a;
    }
    for (int side = 0; side < 2; side++)
        if (!keep[side])
            omo_tracker_drop(pair->tracker[side], of[side]);
}

static void separate(struct omo_pair *pair, struct omo_sighting list[2][OMO_ROLE_COUNT])
{
    for (int a = 0; a < OMO_ROLE_COUNT; a++) {
        for (int b = 0; b < OMO_ROLE_COUNT; b++) {
            struct omo_sighting *of[2] = {&list[0][a], &list[1][b]};
            /* The trunk's markers are both arms', each in its own role. */
            if (!of[0]->got || !of[1]->got || (a == b && !omo_of_an_arm(a)))
                continue;
            if (one_thing(of[0], of[1]))
                settle(pair, of);
        }
    }
    for (int i = 0; i < 2; i++) {
        struct omo_sighting *of[2] = {&list[0][omo_trunk_roles[i]],
                                      &list[1][omo_trunk_roles[i]]};
        if (of[0]->got && of[1]->got && !one_thing(of[0], of[1]))
            settle(pair, of);
    }
}

/* The trunk's markers as the arm that sees them does; both the first one's when both do.
 */
static void share_trunk(struct omo_markers *markers)
{
    for (int i = 0; i < 2; i++) {
        struct omo_marker *one = &markers[0].role[omo_trunk_roles[i]];
        struct omo_marker *other = &markers[1].role[omo_trunk_roles[i]];
        if (one->seen != OMO_NOT_SEEN)
            *other = *one;
        else
            *one = *other;
    }
}

enum omo_status omo_pair_step(struct omo_pair *pair, const struct omo_frame *frame,
                              struct omo_markers *markers)
{
    struct omo_sighting list[2][OMO_ROLE_COUNT], followed[2][OMO_ROLE_COUNT];
    if (!pair || !frame || !markers)
        return OMO_ERR_ARG;
    for (int side = 0; side < 2; side++) {
        enum omo_status status =
            omo_tracker_follow(pair->tracker[side], frame, list[side]);
        if (status != OMO_OK)
            return status;
    }
    separate(pair, list);
    memcpy(followed, list, sizeof list);
    for (int side = 0; side < 2; side++)
        if (pair->tracker[side]->locked)
            omo_bring_all_back(pair->tracker[side], list[side], followed[1 - side]);
    separate(pair, list);
    if (pair->tracker[0]->locked && pair->tracker[1]->locked)
        challenge(pair, list);
    else
        try_to_lock(pair, list);
    for (int side = 0; side < 2; side++)
        omo_tracker_keep(pair->tracker[side], frame, list[side], &markers[side]);
    share_trunk(markers);
    return OMO_OK;
}

void omo_pair_surroundings(struct omo_pair *pair, struct omo_surroundings *surroundings)
{
    for (int side = 0; side < 2; side++)
        omo_tracker_surroundings(pair->tracker[side], &surroundings[side]);
    for (int side = 0; side < 2; side++) {
        if (pair->tracker[side]->locked || !pair->tracker[1 - side]->locked)
            continue;
        surroundings[side].lone_patches = 0;
        surroundings[side].lone_px = NAN;
    }
}
