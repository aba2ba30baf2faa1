#include "length.h"
#include "tracker.h"

#include <math.h>

#define RAD_TO_DEG 57.29577951308232

/* A marker that comes back must fit this well, and better than the next by a margin. */
#define FIRST_COST_MAX  10.0
#define SPARE_COST_MAX  4.0
#define RETURN_COST_MAX 16.0
#define FIGURE_COST_MAX 30.0
/* A trunk's marker out of sight may be this much of stature a second from where it was.
 */
#define WANDER_PER_S   0.05
#define WANDER_MOST_S  2.0
#define SHARE_SIGMA    0.25 /* logarithm of a newcomer's chroma against what is expected */
#define PRESENT_FRAMES 8
#define PRESENT_COVER  0.75
#define PRESENT_MISFIT 0.27
/* Farther from the shoulder's marker no acromion's is, in statures. */
#define ACROMION_REACH 0.06

/* A newcomer has to be whole, or to have stayed as it is: a highlight takes a part of a
 * marker for good, an arm that moves past does not. */
static bool presentable(const struct omo_tracker *tracker, enum omo_shape shape,
                        const struct omo_candidate *c)
{
    return omo_spot_whole(&c->spot, shape) ||
           (c->bystander >= 0 &&
            tracker->bystanders[c->bystander].frames >= PRESENT_FRAMES &&
            c->spot.cover >= PRESENT_COVER && c->spot.misfit <= PRESENT_MISFIT);
}

/* Clearly smaller than the markers that are followed: a part of one, more likely. */
static bool small(const struct omo_sighting *list, int role,
                  const struct omo_candidate *c)
{
    double sum = 0;
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (!list[r].got || r == role || list[r].shape != list[role].shape)
            continue;
        sum += list[r].spot.outline.radius_px;
        count++;
    }
    return count > 0 && c->spot.outline.radius_px < 0.86 * sum / count;
}

/* A trunk sways and leans; it does not go to another place. */
static double wander_cost(const struct omo_tracker *tracker, int role,
                          const struct omo_candidate *c)
{
    const struct omo_track *track = &tracker->tracks[role];
    if (role == OMO_ELBOW || role == OMO_WRIST)
        return 0;
    double age = fmin(tracker->time_s - track->time_s, WANDER_MOST_S);
    double sigma = track->outline.radius_px + WANDER_PER_S * tracker->stature_px * age;
    double d = omo_length(c->x_px - track->x_px, c->y_px - track->y_px) / sigma;
    return d * d;
}

/* How badly a candidate fits as the missing role of the body seen in this frame. */
static double return_cost(struct omo_tracker *tracker, const struct omo_sighting *list,
                          int role, struct omo_candidate *c)
{
    const struct omo_track *track = &tracker->tracks[role];
    int neighbours;
    double mean,
        links = omo_links_cost(tracker, role, c->x_px, c->y_px, list, &neighbours, &mean);
    if (!omo_candidate_measure(c, &tracker->view, list[role].shape))
        return INFINITY;
    /* A first wrist anywhere, its elbow out of sight, could be anybody's. */
    if (!track->ever && role == OMO_WRIST && !list[OMO_ELBOW].got)
        return INFINITY;
    links = omo_links_cost(tracker, role, c->x_px, c->y_px, list, &neighbours, &mean);
    double cost = 0.5 * c->cost + links;
    if (track->ever) {
        cost += omo_track_cost(track, &c->spot, 0) + wander_cost(tracker, role, c);
        if (neighbours == 0 || !omo_track_clear(track, list[role].shape, &c->spot, 0))
            return INFINITY;
    } else if (!presentable(tracker, list[role].shape, c) || small(list, role, c)) {
        return INFINITY; /* half covered, its middle would be wrong */
    } else {
        double expected, doubt;
        omo_palette_expect(&tracker->palette, c->class_index, &expected, &doubt);
        double turn = omo_colour_turn_deg(expected, omo_colour_angle_deg(c->spot.core));
        double share =
            log(omo_colour_magnitude(c->spot.core) /
                omo_palette_expected_magnitude(&tracker->palette, c->class_index));
        cost += 4 * turn * turn / (doubt * doubt) +
                share * share / (SHARE_SIGMA * SHARE_SIGMA);
    }
    struct omo_figure figure;
    omo_sighted_figure(list, &figure);
    double before = omo_figure_cost(&tracker->figure_frame, &figure, NULL);
    figure.there[role] = true;
    figure.x_px[role] = c->x_px;
    figure.y_px[role] = c->y_px;
    figure.diameter_px[role] = c->diameter_px;
    double after = omo_figure_cost(&tracker->figure_frame, &figure, NULL);
    if (!(after <= FIGURE_COST_MAX))
        return INFINITY;
    /* Known links say more than the table of proportions. */
    return cost + (neighbours ? 0.4 : 1.0) * fmax(after - before, 0);
}

/* Where a marker of the other arm was seen in this frame. */
static bool taken_beside(const struct omo_sighting *beside, const struct omo_candidate *c)
{
    for (int r = 0; r < OMO_ROLE_COUNT && beside; r++)
        if (omo_of_an_arm(r) && beside[r].got &&
            omo_length(beside[r].x_px - c->x_px, beside[r].y_px - c->y_px) <
                0.5 * c->diameter_px)
            return true;
    return false;
}

/* Of two alike, no farther apart than shoulder's and acromion's markers are, the one on
 * the far side of a candidate, down the trunk (way 1) or up (way -1). */
static bool mate(const struct omo_tracker *tracker, const struct omo_candidate *c,
                 int way)
{
    const struct omo_candidates *all = &tracker->candidates;
    const struct omo_link *trunk = &tracker->links[OMO_LINK_SHOULDER_HIP];
    double down_deg = trunk->known ? trunk->direction_deg : 90;
    double x = cos(down_deg / RAD_TO_DEG), y = sin(down_deg / RAD_TO_DEG);
    for (int i = 0; i < all->count; i++) {
        const struct omo_candidate *o = &all->item[i];
        double dx = o->x_px - c->x_px, dy = o->y_px - c->y_px;
        if (o != c && o->class_index == c->class_index && o->owner < 0 &&
            way * (dx * x + dy * y) > 0 &&
            omo_length(dx, dy) < ACROMION_REACH * tracker->stature_px)
            return true;
    }
    return false;
}

/* The lower of both is the shoulder's. With one alone in sight the hip has to tell which
 * of them that is. */
static bool other_of_shoulder(const struct omo_tracker *tracker,
                              const struct omo_sighting *list, int role,
                              const struct omo_candidate *c)
{
    if (role == OMO_ACROMION)
        return !list[OMO_SHOULDER].got;
    bool alike = list[OMO_ACROMION].class_index == list[OMO_SHOULDER].class_index;
    if (role != OMO_SHOULDER || !alike || !tracker->tracks[OMO_ACROMION].ever)
        return false;
    return (!list[OMO_ACROMION].got && !list[OMO_HIP].got) || mate(tracker, c, 1);
}

static void bring_back(struct omo_tracker *tracker, struct omo_sighting *list,
                       const struct omo_sighting *beside, int role)
{
    int best = -1;
    double best_cost = INFINITY,
           second = INFINITY; /* second: another one, or as another */
    for (int i = 0; i < tracker->candidates.count; i++) {
        struct omo_candidate *c = &tracker->candidates.item[i];
        if (c->class_index != list[role].class_index || c->owner >= 0 ||
            omo_bystander_blocks(tracker, c, role) || taken_beside(beside, c) ||
            other_of_shoulder(tracker, list, role, c))
            continue;
        double cost = return_cost(tracker, list, role, c);
        if (cost < best_cost) {
            second = best_cost;
            best_cost = cost;
            best = i;
        } else if (cost < second) {
            second = cost;
        }
    }
    /* With its mate above it there is no doubt which of the two it is. */
    bool lower = best >= 0 && role == OMO_SHOULDER &&
                 mate(tracker, &tracker->candidates.item[best], -1);
    for (int r = 0; r < OMO_ROLE_COUNT && best >= 0; r++)
        if (r != role && !list[r].got && list[r].class_index == list[role].class_index &&
            r != OMO_CHEST && !(lower && r == OMO_ACROMION))
            second = fmin(second,
                          return_cost(tracker, list, r, &tracker->candidates.item[best]));
    double most = tracker->tracks[role].ever      ? RETURN_COST_MAX
                  : omo_role_spare(tracker, role) ? SPARE_COST_MAX
                                                  : FIRST_COST_MAX;
    if (best >= 0 && best_cost <= most && second - best_cost >= OMO_RETURN_MARGIN) {
        omo_tracker_sight(tracker, &list[role], role, best);
        list[role].returned = true;
        list[role].return_cost = best_cost;
    }
}

void omo_bring_all_back(struct omo_tracker *tracker, struct omo_sighting *list,
                        const struct omo_sighting *beside)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        unsigned mask = omo_sighted(list);
        if (list[r].got || list[r].class_index < 0 || mask == 0)
            continue;
        /* One trunk marker in the colour of both is the hip's. */
        if (r == OMO_CHEST && !list[OMO_HIP].got &&
            list[r].class_index == list[OMO_HIP].class_index)
            continue;
        bring_back(tracker, list, beside, r);
    }
}
