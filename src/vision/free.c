/* Markers without a body: every entry of the set is one object and stands alone. */
#include "length.h"
#include "tracker.h"

#include <math.h>

/* An object out of sight for longer may come back anywhere. */
#define FREE_LOSS_S 0.4
/* Objects need not be round; this much unlike a disc is still taken. */
#define FREE_COST_MAX 40.0
/* What comes back must look as it did. */
#define FREE_RETURN_MAX 14.0
#define FREE_TURN_DEG   8.0
#define PATCH_COVER     0.55
#define PATCH_OUTSIDE   0.45
#define LIGHT_FRAMES    8
/* What is seen for the first time with a centre known no better than this has to look the
 * more like a disc. Stickers of 8 px in a dark room's noise state 0.2 px, seldom 0.45;
 * blobs of stronger noise 0.5 and more, and they are ragged or tiny; real objects in dull
 * light state as much, and are not. */
#define FREE_SIGMA_PX    0.45
#define FREE_SIGMA_SHARE 0.03 /* of the diameter, of large ones */
#define FREE_MISFIT      0.27
#define FREE_TINY_PX     6.0

static const struct omo_sieve free_sieve = {.smallest_px = 4.5,
                                            .largest_px = 600,
                                            .largest_aspect = 8,
                                            .least_fill = 0.2};

/* A disc where a disc fits, else the patch by its moments. */
static bool measure(struct omo_tracker *tracker, struct omo_candidate *c,
                    enum omo_shape shape)
{
    if (c->tried)
        return c->good && c->cost <= FREE_COST_MAX;
    if (omo_candidate_measure(c, &tracker->view, shape) && c->cost <= FREE_COST_MAX)
        return true;
    if (shape == OMO_BAND)
        return false;
    c->tried = false;
    if (!omo_candidate_measure(c, &tracker->view, OMO_BAND) ||
        c->spot.cover < PATCH_COVER || c->spot.outside > PATCH_OUTSIDE) {
        c->good = false;
        return false;
    }
    c->cost = fmin(c->cost + 10, FREE_COST_MAX);
    return true;
}

static void list_entries(struct omo_tracker *tracker, struct omo_sighting *list)
{
    const struct omo_marker_set *set = &tracker->settings.set;
    for (int i = 0; i < set->count; i++)
        list[i] = (struct omo_sighting){.track = &tracker->tracks[i],
                                        .class_index = tracker->palette.class_of_entry[i],
                                        .shape = set->entry[i].shape,
                                        .candidate = -1};
}

/* As likely a blob of noise. */
static bool doubtful(const struct omo_candidate *c)
{
    double known_px = fmax(FREE_SIGMA_PX, FREE_SIGMA_SHARE * c->diameter_px);
    return !(c->spot.sigma_px <= known_px) &&
           (c->spot.misfit > FREE_MISFIT || c->diameter_px < FREE_TINY_PX);
}

/* How much worse than expected a candidate is as entry k. */
static double entry_cost(struct omo_tracker *tracker, const struct omo_sighting *sighting,
                         struct omo_candidate *c)
{
    if (!measure(tracker, c, sighting->shape))
        return INFINITY;
    const struct omo_track *track = sighting->track;
    if (!track->ever && doubtful(c))
        return INFINITY;
    double cost = c->cost;
    if (!track->ever) {
        const struct omo_palette_class *meant = &tracker->palette.classes[c->class_index];
        double turn =
            omo_colour_turn_deg(meant->angle_deg, omo_colour_angle_deg(c->spot.core)) /
            FREE_TURN_DEG;
        /* The larger one is likelier meant. */
        return cost + turn * turn - 2 * log(c->diameter_px);
    }
    double changed = omo_track_cost(track, &c->spot, 0);
    if (changed > FREE_RETURN_MAX)
        return INFINITY;
    double away = omo_length(c->x_px - track->x_px, c->y_px - track->y_px) /
                  (track->outline.radius_px + c->diameter_px);
    return cost + changed + 2 * log(1 + away);
}

/* Entries of one colour that are still to be found, against the patches of it that
 * nobody has: the best pairs first. */
static void find_missing(struct omo_tracker *tracker, struct omo_sighting *list,
                         int count)
{
    for (int round = 0; round < count; round++) {
        double best = 2 * FREE_COST_MAX;
        int entry = -1, patch = -1;
        for (int k = 0; k < count; k++) {
            if (list[k].got)
                continue;
            for (int i = 0; i < tracker->candidates.count; i++) {
                struct omo_candidate *c = &tracker->candidates.item[i];
                if (c->class_index != list[k].class_index || c->owner >= 0)
                    continue;
                double cost = entry_cost(tracker, &list[k], c);
                if (cost < best) {
                    best = cost;
                    entry = k;
                    patch = i;
                }
            }
        }
        if (entry < 0)
            return;
        omo_tracker_sight(tracker, &list[entry], entry, patch);
    }
}

/* Entries of one colour that were all found in this frame for the first time are handed
 * out from left to right in the set's order, so that a run can be repeated. */
static void order_newcomers(struct omo_tracker *tracker, struct omo_sighting *list,
                            int count)
{
    for (int a = 0; a < count; a++) {
        for (int b = a + 1; b < count; b++) {
            if (!list[a].got || !list[b].got || list[a].track->ever ||
                list[b].track->ever || list[a].class_index != list[b].class_index ||
                list[a].x_px <= list[b].x_px)
                continue;
            int first = list[b].candidate, second = list[a].candidate;
            omo_tracker_sight(tracker, &list[a], a, first);
            omo_tracker_sight(tracker, &list[b], b, second);
        }
    }
}

static void follow(struct omo_tracker *tracker, struct omo_sighting *list, int count)
{
    /* The follower asks for discs; what is none has to be measured as a patch first. */
    for (int i = 0; i < tracker->candidates.count; i++) {
        struct omo_candidate *c = &tracker->candidates.item[i];
        for (int k = 0; k < count; k++) {
            double x, y, gate;
            const struct omo_track *track = list[k].track;
            if (list[k].class_index != c->class_index || !track->ever ||
                tracker->time_s - track->time_s > FREE_LOSS_S)
                continue;
            omo_track_predict(track, tracker->time_s, &x, &y, &gate);
            if (omo_length(c->x_px - x, c->y_px - y) <= gate + c->diameter_px) {
                measure(tracker, c, list[k].shape);
                break;
            }
        }
    }
    omo_tracks_follow(tracker, list, count, FREE_LOSS_S);
}

static void look_after_light(struct omo_tracker *tracker, const struct omo_sighting *list,
                             int count)
{
    for (int k = 0; k < count; k++)
        if (list[k].got && list[k].clear)
            omo_palette_show(&tracker->palette, list[k].class_index, list[k].spot.core,
                             0.1);
    if (tracker->frames_to_light-- > 0)
        return;
    tracker->frames_to_light = LIGHT_FRAMES;
    omo_palette_update(&tracker->palette, false);
}

enum omo_status omo_tracker_step_free(struct omo_tracker *tracker,
                                      const struct omo_frame *frame,
                                      struct omo_marker *found)
{
    if (!tracker || !frame || !found)
        return OMO_ERR_ARG;
    enum omo_status status = omo_tracker_look(tracker, frame, &free_sieve);
    if (status != OMO_OK)
        return status;
    struct omo_sighting list[OMO_SET_MAX];
    int count = tracker->settings.set.count;
    list_entries(tracker, list);
    follow(tracker, list, count);
    find_missing(tracker, list, count);
    order_newcomers(tracker, list, count);
    omo_tracks_update(tracker, list, count, frame->repeated);
    look_after_light(tracker, list, count);
    omo_tracker_write(tracker, list, count, found);
    return OMO_OK;
}
