#include "motion/pivot.h"

#include <math.h>
#include <string.h>

#include "motion/take.h"

static int part_of(double image_deg)
{
    double at = floor((image_deg - OMO_PIVOT_FROM_DEG) / OMO_PIVOT_PART_DEG);
    return at >= 0.0 && at < OMO_PIVOT_PARTS ? (int)at : -1;
}

void omo_pivot_clear(struct omo_pivot *pivot)
{
    memset(pivot->part, 0, sizeof pivot->part);
}

static void add(struct omo_spot *sum, struct omo_spot one)
{
    sum->ahead += one.ahead;
    sum->down += one.down;
}

void omo_pivot_take(struct omo_pivot *pivot, const struct omo_pivot_view *view,
                    double image_deg)
{
    int at = isfinite(image_deg) ? part_of(image_deg) : -1;
    if (at < 0)
        return;
    struct omo_pivot_part *part = &pivot->part[at];
    part->frames++;
    part->image_deg += image_deg;
    part->lean_deg += view->lean_deg;
    add(&part->shoulder, view->shoulder);
    add(&part->elbow, view->elbow);
    if (!view->wrist_seen)
        return;
    part->wrists++;
    add(&part->forearm, (struct omo_spot){view->wrist.ahead - view->elbow.ahead,
                                          view->wrist.down - view->elbow.down});
}

static struct omo_spot in_mm(struct omo_spot px, double mm_per_px)
{
    return (struct omo_spot){px.ahead * mm_per_px, px.down * mm_per_px};
}

/** Between the middles of the parts on a straight line. */
static double shift_at(const struct omo_pivot *pivot, double image_deg)
{
    double at = (image_deg - OMO_PIVOT_FROM_DEG) / OMO_PIVOT_PART_DEG - 0.5;
    at = fmin(fmax(at, 0.0), OMO_PIVOT_PARTS - 1.0);
    int below = at < OMO_PIVOT_PARTS - 1 ? (int)at : OMO_PIVOT_PARTS - 2;
    double share = at - below;
    return (1.0 - share) * pivot->shift_deg[below] + share * pivot->shift_deg[below + 1];
}

double omo_pivot_angle_deg(const struct omo_pivot *pivot,
                           const struct omo_pivot_view *view, double image_deg)
{
    if (!pivot->known || !isfinite(image_deg))
        return image_deg;
    struct omo_pivot_view mm = {.shoulder = in_mm(view->shoulder, pivot->mm_per_px),
                                .elbow = in_mm(view->elbow, pivot->mm_per_px),
                                .lean_deg = view->lean_deg};
    double angle_deg = shift_at(pivot, image_deg);
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        double weight = pivot->weight[try];
        if (weight > 0.0)
            angle_deg += weight * omo_pivot_read(pivot->found[try].parameter,
                                                 &pivot->scale, &mm, image_deg)
                                      .angle_deg;
    }
    return angle_deg;
}

struct omo_pivot_variance omo_pivot_variance_at(const struct omo_pivot *pivot,
                                                double image_deg)
{
    double at = (image_deg - OMO_PIVOT_FROM_DEG) / OMO_PIVOT_PART_DEG;
    if (!(at > 0.0))
        return pivot->variance[0];
    return pivot->variance[at < OMO_PIVOT_PARTS ? (int)at : OMO_PIVOT_PARTS - 1];
}

static double mean_of(const struct omo_pivot *pivot, enum omo_pivot_unknown unknown)
{
    double mean = 0;
    for (int try = 0; try < OMO_PIVOT_TRIES; try++)
        mean += pivot->weight[try] * pivot->found[try].parameter[unknown];
    return mean;
}

double omo_pivot_offset_ratio(const struct omo_pivot *pivot)
{
    if (!pivot->known)
        return NAN;
    return hypot(mean_of(pivot, OMO_PIVOT_UP), mean_of(pivot, OMO_PIVOT_AHEAD)) /
           OMO_UPPER_ARM_MM;
}

double omo_pivot_turn_deg(const struct omo_pivot *pivot)
{
    return pivot->known ? mean_of(pivot, OMO_PIVOT_TURN) : (double)NAN;
}
