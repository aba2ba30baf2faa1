#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"

#include "length.h"
#include "tracker.h"

/* One tracker an arm, each with its own idea of what is seen, on the same planes. What is
 * special about two arms is who has which marker: they are acquired together, since only
 * beside each other is a right shoulder told from a left one, and in no frame may both
 * have the same patch. */

/* Two shoulders of one person, our choice: their distance as a logarithm and their levels
 * in statures, and how alike both halves of a body are in size. */
#define APART_SIGMA 0.18
#define LEVEL_SIGMA 0.045
#define ALIKE_SIGMA 0.10
/* Pairs beyond this are not looked at: half to twice as far apart as shoulders are. */
#define APART_LEAST 0.5
#define APART_MOST  2.0
#define LEVEL_MOST  0.15
/* Ordinary stature and sticker, mm, as for a single body. */
#define STATURE_MM 1700.0
#define DISC_MM    33.0
/* Any other pair of shoulders has to be worse by this much. */
#define MARGIN 4.0
/* Of two arms that follow to the same patch one has to be nearer to where it expected it
 * by this ratio. */
#define CLEARLY_NEARER 0.5

/** Both arms as found in a frame. */
struct both {
    struct omo_proposal arm[2];
    double score;
};

struct omo_pair {
    struct omo_tracker *tracker[2]; /* by enum omo_side */
    int frames_to_search;
    double score; /* the best that the followed pair has shown */
    int challenge_wins;
    double next_challenge_s, challenge_wait_s;
};

static const enum omo_role trunk_roles[2] = {OMO_HIP, OMO_CHEST};

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

static double square(double v)
{
    return v * v;
}

static const struct omo_candidate *item(const struct omo_pair *pair, int side, int index)
{
    return &pair->tracker[side]->candidates.item[index];
}

/* ---- both arms from nothing ---- */

static bool may_be_shoulders(const struct omo_pair *pair, const int shoulder[2])
{
    const struct omo_figure_frame *frame = &pair->tracker[0]->figure_frame;
    const struct omo_candidate *a = item(pair, 0, shoulder[0]),
                               *b = item(pair, 1, shoulder[1]);
    double size_mm = frame->size_mm[OMO_SHOULDER];
    double stature_px = 0.5 * (a->diameter_px + b->diameter_px) * STATURE_MM /
                        (isfinite(size_mm) ? size_mm : DISC_MM);
    double apart = frame->forward_x * (a->x_px - b->x_px) /
                   (2 * frame->layout.half_shoulder_width * stature_px);
    return apart > APART_LEAST && apart < APART_MOST &&
           fabs(a->y_px - b->y_px) < LEVEL_MOST * stature_px;
}

/* What speaks against the two being one person's, beside what each costs. */
static double pair_cost(const struct omo_pair *pair, const int shoulder[2],
                        const struct both *both)
{
    const struct omo_figure_frame *frame = &pair->tracker[0]->figure_frame;
    const struct omo_candidate *a = item(pair, 0, shoulder[0]),
                               *b = item(pair, 1, shoulder[1]);
    double one = both->arm[0].stature_px, other = both->arm[1].stature_px;
    double stature_px = sqrt(one * other);
    double apart =
        fabs(a->x_px - b->x_px) / (2 * frame->layout.half_shoulder_width * stature_px);
    return square(log(apart) / APART_SIGMA) +
           square((a->y_px - b->y_px) / (LEVEL_SIGMA * stature_px)) +
           square((both->arm[0].nearness - both->arm[1].nearness) / ALIKE_SIGMA);
}

static bool one_trunk(const struct omo_pair *pair, const struct both *both)
{
    for (int i = 0; i < 2; i++) {
        int a = both->arm[0].candidate[trunk_roles[i]];
        int b = both->arm[1].candidate[trunk_roles[i]];
        if ((a < 0) != (b < 0))
            return false;
        if (a < 0)
            continue;
        const struct omo_candidate *p = item(pair, 0, a), *q = item(pair, 1, b);
        if (omo_length(p->x_px - q->x_px, p->y_px - q->y_px) > 0.5 * q->diameter_px)
            return false;
    }
    return true;
}

/* The fence of the other arm, with this arm's trunk. */
static struct omo_fence with_trunk(const struct omo_pair *pair,
                                   const struct omo_proposal *proposal, int side,
                                   struct omo_fence fence)
{
    fence.trunk_given = true;
    for (int i = 0; i < 2; i++) {
        int index = proposal->candidate[trunk_roles[i]];
        fence.trunk_x[i] = index < 0 ? (double)NAN : item(pair, side, index)->x_px;
        fence.trunk_y[i] = index < 0 ? (double)NAN : item(pair, side, index)->y_px;
    }
    return fence;
}

/* A trunk's marker that only one arm is sure of is nobody's. */
static void settle_trunk(struct both *both)
{
    for (int i = 0; i < 2; i++) {
        int role = trunk_roles[i];
        for (int side = 0; side < 2; side++) {
            struct omo_proposal *arm = &both->arm[side];
            if (arm->candidate[role] >= 0 && both->arm[1 - side].candidate[role] < 0) {
                arm->candidate[role] = -1;
                arm->count--;
            }
        }
    }
}

/* The best of both arms with these shoulders; false when there is none. */
static bool propose(struct omo_pair *pair, const int shoulder[2], struct both *best)
{
    struct omo_fence fence[2];
    struct both free_trunk;
    double middle_x =
        0.5 * (item(pair, 0, shoulder[0])->x_px + item(pair, 1, shoulder[1])->x_px);
    best->score = -INFINITY;
    for (int side = 0; side < 2; side++) {
        const struct omo_candidate *c = item(pair, side, shoulder[side]);
        fence[side] = (struct omo_fence){.shoulder_x = c->x_px,
                                         .shoulder_y = c->y_px,
                                         .middle_x = middle_x};
        if (!omo_acquire_arm(pair->tracker[side], &fence[side], &free_trunk.arm[side]))
            return false;
    }
    for (int side = 0; side < 2; side++) {
        struct both both = free_trunk;
        if (!one_trunk(pair, &both)) {
            struct omo_fence given =
                with_trunk(pair, &both.arm[side], side, fence[1 - side]);
            if (!omo_acquire_arm(pair->tracker[1 - side], &given, &both.arm[1 - side]))
                continue;
            settle_trunk(&both);
        }
        both.score =
            both.arm[0].score + both.arm[1].score - pair_cost(pair, shoulder, &both);
        if (both.score > best->score)
            *best = both;
    }
    return isfinite(best->score) && best->arm[0].count >= 2 && best->arm[1].count >= 2;
}

static bool acquire(struct omo_pair *pair, struct both *best)
{
    int list[2][OMO_CHOICES_MAX], count[2];
    double second = -INFINITY;
    best->score = -INFINITY;
    for (int side = 0; side < 2; side++) {
        pair->tracker[side]->frames_to_search = 0;
        count[side] = omo_acquire_shoulders(pair->tracker[side], list[side]);
    }
    for (int i = 0; i < count[0]; i++) {
        for (int k = 0; k < count[1]; k++) {
            const int shoulder[2] = {list[0][i], list[1][k]};
            struct both both;
            if (!may_be_shoulders(pair, shoulder) || !propose(pair, shoulder, &both))
                continue;
            second = fmax(second, fmin(both.score, best->score));
            if (both.score > best->score)
                *best = both;
        }
    }
    pair->frames_to_search =
        pair->tracker[0]->frames_to_search + pair->tracker[1]->frames_to_search;
    return isfinite(best->score) && best->score - second >= MARGIN;
}

static void start(struct omo_pair *pair, const struct both *both,
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
    struct both both;
    if (pair->frames_to_search-- > 0 || !acquire(pair, &both))
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
    struct both both;
    double time_s = pair->tracker[0]->time_s;
    if (time_s < pair->next_challenge_s)
        return;
    bool found = acquire(pair, &both);
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
        struct omo_sighting *of[2] = {&list[0][trunk_roles[i]], &list[1][trunk_roles[i]]};
        if (of[0]->got && of[1]->got && !one_thing(of[0], of[1]))
            settle(pair, of);
    }
}

/* The trunk's markers as the arm that sees them does; both the first one's when both do.
 */
static void share_trunk(struct omo_markers *markers)
{
    for (int i = 0; i < 2; i++) {
        struct omo_marker *one = &markers[0].role[trunk_roles[i]];
        struct omo_marker *other = &markers[1].role[trunk_roles[i]];
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
