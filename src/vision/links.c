#include "length.h"
#include "tracker.h"

#include <math.h>

#define RAD_TO_DEG 57.29577951308232

/* Pairs whose distance says something, and how fast it may change: log length and
 * degrees at once and per second. The arm turns, the trunk does not. */
static const struct {
    int from, to;
    double length_sigma, length_rate, direction_sigma, direction_rate;
} pairs[OMO_LINK_COUNT] = {
    {OMO_SHOULDER, OMO_ELBOW, 0.08, 0.5, 12, 250},
    {OMO_ELBOW, OMO_WRIST, 0.09, 0.6, 15, 350},
    {OMO_SHOULDER, OMO_HIP, 0.04, 0.06, 4, 8},
    {OMO_SHOULDER, OMO_CHEST, 0.07, 0.1, 7, 10},
    {OMO_CHEST, OMO_HIP, 0.04, 0.05, 4, 8},
    {OMO_ELBOW, OMO_HIP, 0.15, 1.5, 20, 300},
    /* The shoulder blade under both turns with the arm. */
    {OMO_SHOULDER, OMO_ACROMION, 0.10, 0.5, 12, 120},
    {OMO_ACROMION, OMO_HIP, 0.04, 0.06, 4, 8},
};
#define SHOULDER_ACROMION 6
/* A band beside the acromion's sticker that is shorter than this share of what it was
 * away from it lies behind it in part; our choice. */
#define COVERED_REACH 0.955
/* However long ago: an arm may have gone anywhere, a trunk has not. */
#define LENGTH_SIGMA_MAX    0.28
#define DIRECTION_SIGMA_MAX 200.0
#define TRUNK_LENGTH_MAX    0.08
#define TRUNK_DIRECTION_MAX 9.0
/* A sighting whose links cost more than this per link does not belong to the body. */
#define TEAR_COST 20.0
/* Full length of an arm's part, our choice: known after so many frames at (within the
 * near ratio of) it, exceeded by no more than the room, which widens while it is out of
 * sight; it follows a person who comes nearer or goes, per frame. */
#define FULL_FRAMES   15
#define FULL_NEAR     1.01
#define FULL_ROOM     1.016
#define FULL_RATE     0.08
#define FULL_ROOM_MAX 1.15
#define FULL_NOISE_PX 0.6
#define FULL_DECAY    0.0003
#define FULL_GROWTH   0.004
/* Nothing that lies this many lengths of a limb's part away belongs to its other end. */
#define REACH_ROOM 1.4
/* From the shoulder's marker to the acromion's, in statures: 70 mm of 1.7 m. */
#define ACROMION_REACH 0.041

static double square(double v)
{
    return v * v;
}

static double wrap(double deg)
{
    double d = fmod(deg + 180, 360);
    return d < 0 ? d + 180 : d - 180;
}

static bool trunk_pair(int i)
{
    return (i >= 2 && i <= 4) || i == 7;
}

static double link_cost(const struct omo_tracker *tracker, int i, double dx, double dy)
{
    const struct omo_link *link = &tracker->links[i];
    double age = fmax(tracker->time_s - link->time_s, 0);
    double length_max = trunk_pair(i) ? TRUNK_LENGTH_MAX : LENGTH_SIGMA_MAX;
    double direction_max = trunk_pair(i) ? TRUNK_DIRECTION_MAX : DIRECTION_SIGMA_MAX;
    double ls = fmin(pairs[i].length_sigma + age * pairs[i].length_rate, length_max);
    double ds =
        fmin(pairs[i].direction_sigma + age * pairs[i].direction_rate, direction_max);
    double length = omo_length(dx, dy);
    if (length < 1)
        return INFINITY;
    return square((log(length) - link->log_length) / ls) +
           square(wrap(atan2(dy, dx) * RAD_TO_DEG - link->direction_deg) / ds);
}

/* A limb's part shows its full length when it lies in the picture's plane, and never
 * more; only nearing the camera lengthens it, slowly. A marker that stretches it has come
 * off. Length over what is possible, 1 or less when nothing is wrong. */
static double stretch_of(const struct omo_tracker *tracker, int i, double length)
{
    const struct omo_link *link = &tracker->links[i];
    if (i > 1 || !link->known || link->full_frames < FULL_FRAMES)
        return 0;
    double age = fmax(tracker->time_s - link->time_s, 0);
    double most = link->full_px * fmin(FULL_ROOM + FULL_RATE * age, FULL_ROOM_MAX);
    return length / (most + FULL_NOISE_PX);
}

static void update_full(struct omo_link *link, double length)
{
    double ratio = link->full_px > 0 ? length / link->full_px : 2;
    if (ratio > FULL_ROOM || (ratio > 1 && link->full_frames < FULL_FRAMES)) {
        link->full_px = length;
        link->full_frames = ratio > FULL_NEAR ? 0 : link->full_frames + 1;
        return;
    }
    link->full_px *= 1 + fmin(fmax(ratio - 1, -FULL_DECAY), FULL_GROWTH);
    if (ratio > 2 - FULL_NEAR)
        link->full_frames++;
}

double omo_links_cost(const struct omo_tracker *tracker, int role, double x_px,
                      double y_px, const struct omo_sighting *list, int *neighbours,
                      double *mean)
{
    double cost = 0, sum = 0;
    *neighbours = 0;
    for (int i = 0; i < OMO_LINK_COUNT; i++) {
        int from = pairs[i].from, to = pairs[i].to;
        if (!tracker->links[i].known || (from != role && to != role))
            continue;
        int other = from == role ? to : from;
        if (!list[other].got)
            continue;
        double sign = from == role ? 1 : -1;
        double dx = sign * (list[other].x_px - x_px);
        double dy = sign * (list[other].y_px - y_px);
        double one = stretch_of(tracker, i, omo_length(dx, dy)) > 1
                         ? (double)INFINITY
                         : link_cost(tracker, i, dx, dy);
        cost = fmax(cost, one);
        sum += one;
        ++*neighbours;
    }
    *mean = *neighbours ? sum / *neighbours : 0;
    return cost;
}

/* A band at the shoulder passes the acromion with the arm: neither length nor direction
 * between them says anything. */
static bool says_nothing(const struct omo_tracker *tracker, int i)
{
    return i == SHOULDER_ACROMION && tracker->figure_frame.shoulder_band;
}

void omo_links_update(struct omo_tracker *tracker, const struct omo_sighting *list)
{
    for (int i = 0; i < OMO_LINK_COUNT; i++) {
        const struct omo_sighting *a = &list[pairs[i].from], *b = &list[pairs[i].to];
        struct omo_link *link = &tracker->links[i];
        if (!a->got || !b->got || says_nothing(tracker, i))
            continue;
        double dx = b->x_px - a->x_px, dy = b->y_px - a->y_px;
        double length = log(fmax(omo_length(dx, dy), 1));
        double direction = atan2(dy, dx) * RAD_TO_DEG;
        double rate = link->known ? fmin(8 * tracker->step_s, 1) : 1;
        link->log_length += rate * (length - link->log_length);
        if (i <= 1)
            update_full(link, omo_length(dx, dy));
        link->direction_deg = direction;
        link->time_s = tracker->time_s;
        link->known = true;
    }
}

/* The end of a stretched part that moved more surprisingly is the one that came off. */
static int surprising_end(const struct omo_tracker *tracker,
                          const struct omo_sighting *list, int a, int b)
{
    double off[2];
    for (int i = 0; i < 2; i++) {
        const struct omo_sighting *s = &list[i ? b : a];
        double x, y, gate;
        omo_track_predict(s->track, tracker->time_s, &x, &y, &gate);
        off[i] = s->track->ever ? omo_length(s->x_px - x, s->y_px - y) : 0;
    }
    return off[1] >= off[0] ? b : a;
}

static void drop_stretched(struct omo_tracker *tracker, struct omo_sighting *list)
{
    for (int i = 0; i < 2; i++) {
        int a = pairs[i].from, b = pairs[i].to;
        if (!list[a].got || !list[b].got)
            continue;
        double length =
            omo_length(list[a].x_px - list[b].x_px, list[a].y_px - list[b].y_px);
        if (stretch_of(tracker, i, length) > 1)
            omo_tracker_drop(tracker, &list[surprising_end(tracker, list, a, b)]);
    }
}

void omo_links_check(struct omo_tracker *tracker, struct omo_sighting *list)
{
    drop_stretched(tracker, list);
    for (;;) {
        int worst = -1;
        double worst_cost = TEAR_COST;
        for (int r = 0; r < OMO_ROLE_COUNT; r++) {
            int neighbours;
            if (!list[r].got)
                continue;
            /* The mean: of two ends of a torn link the one that fits its others stays. */
            double mean;
            omo_links_cost(tracker, r, list[r].x_px, list[r].y_px, list, &neighbours,
                           &mean);
            if (neighbours && mean > worst_cost) {
                worst_cost = mean;
                worst = r;
            }
        }
        if (worst < 0)
            return;
        omo_tracker_drop(tracker, &list[worst]);
    }
}

void omo_links_check_band(struct omo_tracker *tracker, struct omo_sighting *list)
{
    struct omo_sighting *band = &list[OMO_SHOULDER], *sticker = &list[OMO_ACROMION];
    struct omo_link *link = &tracker->links[SHOULDER_ACROMION];
    if (!tracker->figure_frame.shoulder_band || !band->got || !sticker->got)
        return;
    double apart_px = omo_length(band->x_px - sticker->x_px, band->y_px - sticker->y_px);
    double reach_px = omo_outline_reach_px(&band->spot.outline);
    if (apart_px > reach_px + omo_outline_reach_px(&sticker->spot.outline))
        link->full_px = reach_px;
    else if (reach_px < COVERED_REACH * link->full_px)
        omo_tracker_drop(tracker, band);
}

/* ---- bystanders ---- */

/* A moving one that is out of sight is soon anybody's guess; one that stood still will
 * be where it was when the arm has passed. */
static double memory_s(const struct omo_bystander *b)
{
    return omo_length(b->vx_px_s, b->vy_px_s) < 1.5 * b->diameter_px ? 12.0 : 0.8;
}

static int nearest_bystander(const struct omo_tracker *tracker,
                             const struct omo_candidate *c)
{
    int best = -1;
    double best_d = 1;
    for (int i = 0; i < OMO_BYSTANDERS_MAX; i++) {
        const struct omo_bystander *b = &tracker->bystanders[i];
        double age = tracker->time_s - b->time_s;
        if (!b->used || b->class_index != c->class_index || age > memory_s(b))
            continue;
        double dt = fmin(age, 0.2);
        double d = omo_length(c->x_px - b->x_px - b->vx_px_s * dt,
                              c->y_px - b->y_px - b->vy_px_s * dt);
        double gate = 0.5 * fmax(b->diameter_px, c->diameter_px) + 2 +
                      10 * b->diameter_px * fmin(age, 0.1);
        if (d / gate < best_d) {
            best_d = d / gate;
            best = i;
        }
    }
    return best;
}

void omo_bystanders_match(struct omo_tracker *tracker)
{
    for (int i = 0; i < tracker->candidates.count; i++) {
        struct omo_candidate *c = &tracker->candidates.item[i];
        c->bystander = nearest_bystander(tracker, c);
    }
}

static int free_bystander(const struct omo_tracker *tracker)
{
    int oldest = 0;
    for (int i = 0; i < OMO_BYSTANDERS_MAX; i++) {
        if (!tracker->bystanders[i].used)
            return i;
        if (tracker->bystanders[i].time_s < tracker->bystanders[oldest].time_s)
            oldest = i;
    }
    return oldest;
}

/* Whether a thing lies farther from a role's neighbours on the body than limbs are long.
 */
static bool out_of_reach(const struct omo_tracker *tracker, int role,
                         const struct omo_candidate *c, const struct omo_sighting *list)
{
    const struct omo_layout *layout = &tracker->figure_frame.layout;
    const double trunk = layout->shoulder_height - layout->hip_height;
    const double reach[OMO_LINK_COUNT] = {layout->upper_arm,
                                          layout->forearm,
                                          trunk,
                                          trunk,
                                          trunk,
                                          trunk + layout->upper_arm,
                                          tracker->figure_frame.shoulder_band
                                              ? OMO_ACROMION_FROM_BAND
                                              : ACROMION_REACH,
                                          trunk + ACROMION_REACH};
    for (int i = 0; i < OMO_LINK_COUNT; i++) {
        int from = pairs[i].from, to = pairs[i].to;
        int other = from == role ? to : to == role ? from : -1;
        if (other < 0 || !list[other].got)
            continue;
        if (omo_length(c->x_px - list[other].x_px, c->y_px - list[other].y_px) >
            REACH_ROOM * reach[i] * tracker->stature_px)
            return true;
    }
    return false;
}

static void meet(struct omo_tracker *tracker, const struct omo_candidate *c,
                 const struct omo_sighting *list, int count)
{
    struct omo_bystander *b;
    if (c->bystander < 0) {
        b = &tracker->bystanders[free_bystander(tracker)];
        *b = (struct omo_bystander){.used = true, .class_index = c->class_index};
    } else {
        b = &tracker->bystanders[c->bystander];
        double dt = tracker->time_s - b->time_s;
        if (dt > 1e-4 && dt < 0.3) {
            b->vx_px_s += 0.4 * ((c->x_px - b->x_px) / dt - b->vx_px_s);
            b->vy_px_s += 0.4 * ((c->y_px - b->y_px) / dt - b->vy_px_s);
        }
    }
    b->frames++;
    b->x_px = c->x_px;
    b->y_px = c->y_px;
    b->diameter_px = c->diameter_px;
    b->time_s = tracker->time_s;
    for (int r = 0; r < count && r < OMO_ROLE_COUNT; r++)
        if (list[r].class_index == c->class_index &&
            (list[r].got ||
             (tracker->settings.body && out_of_reach(tracker, r, c, list))))
            b->together[r]++;
}

void omo_bystanders_update(struct omo_tracker *tracker, const struct omo_sighting *list,
                           int count)
{
    for (int i = 0; i < tracker->candidates.count; i++) {
        const struct omo_candidate *c = &tracker->candidates.item[i];
        if (c->owner < 0)
            meet(tracker, c, list, count);
    }
}

bool omo_bystander_blocks(const struct omo_tracker *tracker,
                          const struct omo_candidate *candidate, int role)
{
    return candidate->bystander >= 0 &&
           tracker->bystanders[candidate->bystander].together[role] >=
               OMO_TOGETHER_ENOUGH;
}
