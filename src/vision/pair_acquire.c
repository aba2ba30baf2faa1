#include <math.h>

#include "length.h"
#include "pair.h"

/* Both arms from nothing. */

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
/* Elbow to wrist in upper arms, and how unlike the two forearms of one person may be as a
 * logarithm, a third shorter: one bent forwards is seen shorter too, but then its wrist
 * is found again later. Our choice. */
#define FOREARM_SHARE   0.785
#define FOREARMS_UNLIKE 0.4
/* Any other pair of shoulders has to be worse by this much. */
#define MARGIN 4.0
static double square(double v)
{
    return v * v;
}

static const struct omo_candidate *item(const struct omo_pair *pair, int side, int index)
{
    return &pair->tracker[side]->candidates.item[index];
}

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
                        const struct omo_both *both)
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

static bool one_trunk(const struct omo_pair *pair, const struct omo_both *both)
{
    for (int i = 0; i < 2; i++) {
        int a = both->arm[0].candidate[omo_trunk_roles[i]];
        int b = both->arm[1].candidate[omo_trunk_roles[i]];
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
        int index = proposal->candidate[omo_trunk_roles[i]];
        fence.trunk_x[i] = index < 0 ? (double)NAN : item(pair, side, index)->x_px;
        fence.trunk_y[i] = index < 0 ? (double)NAN : item(pair, side, index)->y_px;
    }
    return fence;
}

/* A trunk's marker that only one arm is sure of is nobody's. */
static void settle_trunk(struct omo_both *both)
{
    for (int i = 0; i < 2; i++) {
        int role = omo_trunk_roles[i];
        for (int side = 0; side < 2; side++) {
            struct omo_proposal *arm = &both->arm[side];
            if (arm->candidate[role] >= 0 && both->arm[1 - side].candidate[role] < 0) {
                arm->candidate[role] = -1;
                arm->count--;
            }
        }
    }
}

/* The forearm in upper arms against what it should be, as a logarithm; NAN without. */
static double forearm_off(const struct omo_pair *pair, int side,
                          const struct omo_proposal *arm)
{
    const int *at = arm->candidate;
    if (at[OMO_SHOULDER] < 0 || at[OMO_ELBOW] < 0 || at[OMO_WRIST] < 0)
        return NAN;
    const struct omo_candidate *s = item(pair, side, at[OMO_SHOULDER]),
                               *e = item(pair, side, at[OMO_ELBOW]),
                               *w = item(pair, side, at[OMO_WRIST]);
    return log(omo_length(w->x_px - e->x_px, w->y_px - e->y_px) /
               (FOREARM_SHARE * omo_length(e->x_px - s->x_px, e->y_px - s->y_px)));
}

/* Behind a bare wrist somebody else's may hang: of two forearms that are unlike, the less
 * likely one's wrist is not believed yet. */
static void settle_wrists(const struct omo_pair *pair, struct omo_both *both)
{
    double off[2] = {forearm_off(pair, 0, &both->arm[0]),
                     forearm_off(pair, 1, &both->arm[1])};
    if (!(fabs(off[0] - off[1]) > FOREARMS_UNLIKE))
        return;
    struct omo_proposal *odd = &both->arm[fabs(off[0]) > fabs(off[1]) ? 0 : 1];
    odd->candidate[OMO_WRIST] = -1;
    odd->count--;
}

/* The best of both arms with these shoulders; false when there is none. */
static bool propose(struct omo_pair *pair, const int shoulder[2], struct omo_both *best)
{
    struct omo_fence fence[2];
    struct omo_both free_trunk;
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
        struct omo_both both = free_trunk;
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

bool omo_pair_acquire(struct omo_pair *pair, struct omo_both *best)
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
            struct omo_both both;
            if (!may_be_shoulders(pair, shoulder) || !propose(pair, shoulder, &both))
                continue;
            second = fmax(second, fmin(both.score, best->score));
            if (both.score > best->score)
                *best = both;
        }
    }
    pair->frames_to_search =
        pair->tracker[0]->frames_to_search + pair->tracker[1]->frames_to_search;
    if (isfinite(best->score))
        settle_wrists(pair, best);
    return isfinite(best->score) && best->score - second >= MARGIN;
}
