#include "length.h"
#include "tracker.h"

#include <math.h>
#include <string.h>

/* Gates, our choice: an arm at its fastest changes its speed by about this much. */
#define ACCELERATION_DIAMETERS 700.0 /* marker diameters per s^2 */
#define GATE_DIAMETERS         0.6
/* A position is believed this much against the motion so far. */
#define VELOCITY_SHARE 0.6
/* Slow means, per frame. */
#define SHUTTER_RATE 0.1
#define OUTLINE_RATE 0.06
#define SHRINK_RATE  0.03
#define CORE_RATE    0.10

#define SIZE_SIGMA     0.13 /* logarithm of the radius from frame to frame */
#define ANGLE_SIGMA    5.0  /* degrees of chroma */
#define STRENGTH_SIGMA 0.25 /* logarithm of chroma */
#define TRACK_COST_MAX 14.0

/* Less than this share of the usual extent in any direction means that something covers
 * it. */
#define CLEAR_EXTENT 0.90
#define CLEAR_RIM    0.93
/* Below this share of its area too little is left to say where its middle is. */
#define LEAST_COVER        0.70
#define MOST_MISFIT        0.27
#define KNOWN_RADIUS_SIGMA 0.04
/* Blur of so many diameters shows; an outline of the right length misfits by less than
 * this. */
#define THIN_SMEAR 0.22
#define WELL_DRAWN 0.12

static void to_upright(const struct omo_view_of_frame *view, double *x, double *y)
{
    omo_turn_point(&view->turned, x, y);
}

void omo_track_predict(const struct omo_track *track, double time_s, double *x_px,
                       double *y_px, double *gate_px)
{
    double dt = fmin(fmax(time_s - track->time_s, 0), 0.25);
    double diameter = 2 * track->outline.radius_px;
    double speed = omo_length(track->vx_px_s, track->vy_px_s);
    double half = 0.5 * fmin(dt * dt, 0.005);
    *x_px = track->x_px + track->vx_px_s * dt + track->ax_px_s2 * half;
    *y_px = track->y_px + track->vy_px_s * dt + track->ay_px_s2 * half;
    /* What moved slowly until now does not go far at once. */
    double surprise = fmin(0.5 * ACCELERATION_DIAMETERS * diameter * dt * dt,
                           2 * diameter + speed * dt);
    *gate_px = GATE_DIAMETERS * diameter + 0.5 * speed * dt + surprise;
}

/* By how much the colour has turned. Smeared over its ground it is still seen in the
 * right direction from there. */
static double colour_turn_deg(const struct omo_track *track, const struct omo_spot *spot,
                              double smear)
{
    double was[2] = {track->core[0], track->core[1]};
    double is[2] = {spot->core[0], spot->core[1]};
    for (int i = 0; i < 2 && smear > THIN_SMEAR; i++) {
        was[i] -= spot->ground[i];
        is[i] -= spot->ground[i];
    }
    return omo_colour_turn_deg(omo_colour_angle_deg(was), omo_colour_angle_deg(is));
}

double omo_track_cost(const struct omo_track *track, const struct omo_spot *spot,
                      double smear)
{
    double size = log(spot->outline.radius_px / track->outline.radius_px);
    /* Motion during the exposure lengthens it and thins its colour. */
    size /= size > 0 ? SIZE_SIGMA + 0.6 * smear : SIZE_SIGMA;
    double turn = colour_turn_deg(track, spot, smear);
    double magnitude = omo_colour_magnitude(spot->core);
    double usual = omo_colour_magnitude(track->core);
    /* Noise turns weak colours more than strong ones. */
    double angle = turn / (ANGLE_SIGMA + 60 / fmax(magnitude, 6));
    double strength = log(magnitude / usual);
    strength /= strength < 0 ? STRENGTH_SIGMA + 0.8 * smear : STRENGTH_SIGMA;
    return size * size + angle * angle + strength * strength;
}

static double area_of(const struct omo_outline *outline)
{
    return outline->radius_px * outline->radius_px;
}

/* Form of the outline, mixed slowly; its determinant is kept at 1. */
static void mix_outline(struct omo_outline *mean, const struct omo_outline *news,
                        double rate)
{
    mean->radius_px += rate * (news->radius_px - mean->radius_px);
    mean->a += rate * (news->a - mean->a);
    mean->b += rate * (news->b - mean->b);
    mean->c += rate * (news->c - mean->c);
    double det = mean->a * mean->c - mean->b * mean->b;
    if (det > 1e-6) {
        double k = 1 / sqrt(det);
        mean->a *= k;
        mean->b *= k;
        mean->c *= k;
    }
}

static bool judge(const struct omo_track *track, enum omo_shape shape,
                  const struct omo_spot *spot, double smear)
{
    double cost = omo_spot_cost(spot, shape, smear);
    if (track->ever)
        cost = 0.5 * cost + omo_track_cost(track, spot, smear);
    return cost <= TRACK_COST_MAX;
}

/* Path during the time of one frame, in diameters. */
static double path_of(const struct omo_view_of_frame *view, const struct omo_track *track)
{
    if (!track->ever)
        return 0;
    return omo_length(track->vx_px_s, track->vy_px_s) * view->step_s /
           (2 * track->outline.radius_px);
}

/* Makes an outline longer along a direction. */
static void stretch(struct omo_outline *o, double x, double y, double ratio)
{
    double length = omo_length(x, y);
    if (length < 1e-9)
        return;
    /* squared distances along the direction shrink by ratio^2; the area grows by ratio */
    double u = x / length, v = y / length, k = 1 / (ratio * ratio) - 1;
    double gu = o->a * u + o->b * v, gv = o->b * u + o->c * v;
    double along = gu * u + gv * v;
    o->a += k * gu * gu / along;
    o->b += k * gu * gv / along;
    o->c += k * gv * gv / along;
    double root = sqrt(fmax(o->a * o->c - o->b * o->b, 1e-9));
    o->a /= root;
    o->b /= root;
    o->c /= root;
    o->radius_px *= sqrt(ratio);
}

/* Places where the middle of a partly covered marker may be: where it was expected, and
 * such that what is seen ends at its edge on one side or the other. */
static int likely_places(const struct omo_track *track, const struct omo_spot *seen,
                         double x, double y, double places[3][2])
{
    places[0][0] = x;
    places[0][1] = y;
    if (!seen)
        return 1;
    const struct omo_outline *o = &seen->seen;
    double mean = 0.5 * (o->a + o->c), half = omo_length(0.5 * (o->a - o->c), o->b);
    double turn = 0.5 * atan2(2 * o->b, o->a - o->c); /* of the short axis */
    double shift = track->outline.radius_px - o->radius_px / sqrt(mean + half);
    if (shift <= 0)
        return 1;
    for (int i = 0; i < 2; i++) {
        double sign = i ? -1 : 1;
        places[i + 1][0] = seen->x_px + sign * shift * cos(turn);
        places[i + 1][1] = seen->y_px + sign * shift * sin(turn);
    }
    return 3;
}

/* A second look with the outline it is known to have: what is left of a partly covered
 * disc still shows where its middle is. `seen` is what a free look gave, or NULL. */
static bool measure_known(const struct omo_view_of_frame *view,
                          const struct omo_track *track, enum omo_shape shape,
                          const struct omo_spot *seen, double coded_x, double coded_y,
                          struct omo_spot *spot)
{
    struct omo_spot_start start = {.shape = shape,
                                   .outline = track->outline,
                                   .outline_known = true,
                                   .radius_sigma = KNOWN_RADIUS_SIGMA};
    double places[3][2];
    int count = likely_places(track, seen, coded_x, coded_y, places);
    bool any = false;
    for (int i = 0; i < count; i++) {
        struct omo_spot here;
        start.x_px = places[i][0];
        start.y_px = places[i][1];
        if (!omo_spot_measure(view->planes, view->map, &start, &here) ||
            (any && here.misfit >= spot->misfit))
            continue;
        *spot = here;
        any = true;
    }
    return any;
}

/* A marker drawn out along its path, by lengths and from places to be tried. */
struct drawn_out {
    const struct omo_view_of_frame *view;
    const struct omo_track *track;
    double path;             /* in this frame's time, diameters */
    double along_x, along_y; /* its direction, coded */
    bool any;
    struct omo_spot best;
    double best_shutter; /* NAN: the form as seen */
};

static void try_drawn_out(struct drawn_out *d, double x, double y, double shutter,
                          double reach_px)
{
    bool known = isfinite(shutter);
    struct omo_spot here;
    struct omo_spot_start start = {.shape = OMO_DISC,
                                   .x_px = x,
                                   .y_px = y,
                                   .outline = d->track->outline,
                                   .outline_known = known,
                                   .radius_sigma = known ? 0.1 : (double)NAN,
                                   .smeared = true,
                                   .reach_px = known ? 0 : reach_px};
    if (known)
        stretch(&start.outline, d->along_x, d->along_y, 1 + shutter * d->path);
    if (!omo_spot_measure(d->view->planes, d->view->map, &start, &here) ||
        (d->any && here.misfit >= d->best.misfit))
        return;
    d->any = true;
    d->best = here;
    d->best_shutter = shutter;
}

/* With the exposure's share of the frame's time as it was found so far; all shares now
 * and then, and when that one does not fit. */
static void measure_drawn_out(struct drawn_out *d, const struct omo_candidate *candidate,
                              double coded_x, double coded_y)
{
    static const double shutters[] = {0.2, 0.4, 0.6, 0.85};
    double x = candidate ? candidate->coded_x : coded_x;
    double y = candidate ? candidate->coded_y : coded_y;
    try_drawn_out(d, x, y, d->view->shutter, 0);
    if (candidate)
        try_drawn_out(d, x, y, NAN, candidate->reach_px);
    if (d->any && d->best.misfit < WELL_DRAWN && d->track->frames % 16 != 0)
        return;
    for (int k = 0; k < 4; k++) {
        try_drawn_out(d, x, y, shutters[k], 0);
        if (candidate)
            try_drawn_out(d, coded_x, coded_y, shutters[k], 0);
    }
}

static bool measure_smeared(const struct omo_view_of_frame *view,
                            const struct omo_candidate *candidate, double coded_x,
                            double coded_y, struct omo_sighting *sighting,
                            struct omo_spot *spot)
{
    const struct omo_track *track = sighting->track;
    double x = track->vx_px_s, y = track->vy_px_s, ox = 0, oy = 0;
    omo_turn_point(&view->back, &x, &y);
    omo_turn_point(&view->back, &ox, &oy);
    struct drawn_out d = {.view = view,
                          .track = track,
                          .path = path_of(view, track),
                          .along_x = x - ox,
                          .along_y = y - oy};
    measure_drawn_out(&d, candidate, coded_x, coded_y);
    *spot = d.best;
    sighting->shutter = d.best_shutter;
    return d.any;
}

bool omo_track_clear(const struct omo_track *track, enum omo_shape shape,
                     const struct omo_spot *spot, double smear)
{
    if (shape == OMO_BAND) /* its ends come and go with the limb's outline */
        return !track->ever || area_of(&spot->outline) >= 0.6 * area_of(&track->outline);
    if (smear > THIN_SMEAR) /* its ends fade: no sign of an occluder */
        return spot->rim >= 0.7;
    double least = CLEAR_EXTENT - 0.3 / spot->seen.radius_px;
    /* A highlight may always bite into it. */
    return spot->rim >= fmin(CLEAR_RIM, track->ever ? track->rim - 0.05 : 1) &&
           (!track->ever ||
            omo_outline_least_ratio(&spot->seen, &track->seen_outline) >= least);
}

void omo_track_measure(const struct omo_view_of_frame *view,
                       struct omo_candidate *candidate, double x_px, double y_px,
                       struct omo_sighting *sighting)
{
    const struct omo_track *track = sighting->track;
    struct omo_spot spot;
    double smear = path_of(view, track) * view->shutter;
    sighting->got = false;
    sighting->shutter = NAN;
    double x = x_px, y = y_px;
    omo_turn_point(&view->back, &x, &y);
    if (smear > THIN_SMEAR && sighting->shape == OMO_DISC) {
        if (!measure_smeared(view, candidate, x, y, sighting, &spot) ||
            spot.cover < LEAST_COVER || spot.misfit > MOST_MISFIT ||
            !judge(track, sighting->shape, &spot, smear))
            return;
        sighting->got = true;
        sighting->clear = false;
    } else if (candidate && omo_candidate_measure(candidate, view, sighting->shape) &&
               omo_track_clear(track, sighting->shape, &candidate->spot, smear) &&
               judge(track, sighting->shape, &candidate->spot, smear)) {
        sighting->got = true;
        sighting->clear = smear < 0.18;
        spot = candidate->spot;
    } else if (track->ever && sighting->shape == OMO_DISC) {
        const struct omo_spot *seen =
            candidate && candidate->good ? &candidate->spot : NULL;
        if (!measure_known(view, track, sighting->shape, seen, x, y, &spot) ||
            spot.cover < LEAST_COVER || spot.misfit > MOST_MISFIT ||
            !judge(track, sighting->shape, &spot, smear))
            return;
        sighting->got = true;
        sighting->clear = false;
        spot.sigma_px *= 1 + 3 * (1 - spot.cover);
    } else {
        return;
    }
    sighting->spot = spot;
    sighting->x_px = spot.x_px;
    sighting->y_px = spot.y_px;
    to_upright(view, &sighting->x_px, &sighting->y_px);
}

/* ---- all of them ---- */

struct bid {
    double cost;
    int16_t sighting, candidate;
};
#define BIDS_MAX 96

/* Who may be whose, by distance from the prediction; cheapest first. */
static int collect_bids(struct omo_tracker *tracker, struct omo_sighting *list, int count,
                        double longest_loss_s, struct bid *bids)
{
    int n = 0;
    for (int k = 0; k < count; k++) {
        const struct omo_track *track = list[k].track;
        if (list[k].class_index < 0 || !track->ever ||
            tracker->time_s - track->time_s > longest_loss_s)
            continue;
        double x, y, gate;
        omo_track_predict(track, tracker->time_s, &x, &y, &gate);
        for (int i = 0; i < tracker->candidates.count && n < BIDS_MAX; i++) {
            const struct omo_candidate *c = &tracker->candidates.item[i];
            if (c->class_index != list[k].class_index)
                continue;
            double d = omo_length(c->x_px - x, c->y_px - y) / gate;
            double size = log(c->diameter_px / (2 * track->outline.radius_px));
            /* Another thing is passed over, unless it is right where this is expected. */
            if (d * gate > track->outline.radius_px && tracker->settings.body &&
                omo_bystander_blocks(tracker, c, k))
                continue;
            if (d < 1)
                bids[n++] =
                    (struct bid){4 * d * d + 2 * size * size, (int16_t)k, (int16_t)i};
        }
    }
    for (int i = 1; i < n; i++) {
        struct bid b = bids[i];
        int j = i;
        for (; j > 0 && bids[j - 1].cost > b.cost; j--)
            bids[j] = bids[j - 1];
        bids[j] = b;
    }
    return n;
}

static void take(struct omo_tracker *tracker, struct omo_sighting *list, int k,
                 int candidate)
{
    list[k].candidate = candidate;
    if (candidate >= 0)
        tracker->candidates.item[candidate].owner = k;
}

/* Without a patch of its class a marker may still be there: merged with its ground's
 * colour for the table, but not for a fit. Only for what was seen a moment ago. */
static void look_without_patch(struct omo_tracker *tracker, struct omo_sighting *sighting)
{
    const struct omo_track *track = sighting->track;
    if (track->frames < 3 || track->lost_frames > 2)
        return;
    double x, y, gate;
    omo_track_predict(track, tracker->time_s, &x, &y, &gate);
    omo_track_measure(&tracker->view, NULL, x, y, sighting);
    if (sighting->got && omo_length(sighting->x_px - x, sighting->y_px - y) > gate)
        sighting->got = false;
}

void omo_tracks_follow(struct omo_tracker *tracker, struct omo_sighting *list, int count,
                       double longest_loss_s)
{
    struct bid bids[BIDS_MAX];
    int n = collect_bids(tracker, list, count, longest_loss_s, bids);
    int tries[OMO_SET_MAX] = {0};
    for (int i = 0; i < n; i++) {
        struct omo_sighting *sighting = &list[bids[i].sighting];
        struct omo_candidate *c = &tracker->candidates.item[bids[i].candidate];
        if (sighting->got || c->owner >= 0 || tries[bids[i].sighting]++ > 1)
            continue;
        double x, y, gate;
        omo_track_predict(sighting->track, tracker->time_s, &x, &y, &gate);
        omo_track_measure(&tracker->view, c, x, y, sighting);
        if (sighting->got)
            take(tracker, list, bids[i].sighting, bids[i].candidate);
    }
    for (int k = 0; k < count; k++)
        if (!list[k].got && list[k].class_index >= 0 && list[k].track->ever &&
            tries[k] == 0 && tracker->time_s - list[k].track->time_s <= longest_loss_s)
            look_without_patch(tracker, &list[k]);
}

static void update_one(struct omo_track *track, const struct omo_sighting *sighting,
                       double time_s, bool repeated)
{
    double dt = time_s - track->time_s;
    if (!track->ever || dt > 0.3) {
        track->vx_px_s = track->vy_px_s = 0;
        track->ax_px_s2 = track->ay_px_s2 = 0;
    } else if (!repeated && dt > 1e-4) {
        double vx = (sighting->x_px - track->x_px) / dt;
        double vy = (sighting->y_px - track->y_px) / dt;
        /* What is left of a covered marker says little about its speed. */
        bool fit = sighting->clear || sighting->spot.cover > 0.9;
        /* The faster it is the less noise there is in its steps. */
        double path = omo_length(vx, vy) * dt;
        double share = VELOCITY_SHARE + (1 - VELOCITY_SHARE) * path / (path + 4);
        if (!fit)
            share *= 0.2;
        double was_x = track->vx_px_s, was_y = track->vy_px_s;
        track->vx_px_s += share * (vx - track->vx_px_s);
        track->vy_px_s += share * (vy - track->vy_px_s);
        double believed = path / (path + 6) / dt;
        track->ax_px_s2 = believed * (track->vx_px_s - was_x);
        track->ay_px_s2 = believed * (track->vy_px_s - was_y);
    }
    if (!track->ever) {
        track->outline = sighting->spot.outline;
        track->seen_outline = sighting->spot.seen;
        track->rim = sighting->spot.rim;
        memcpy(track->core, sighting->spot.core, sizeof track->core);
        memcpy(track->ground, sighting->spot.ground, sizeof track->ground);
    } else if (sighting->clear) {
        double early = 1.0 / (track->frames + 1);
        /* What creeps over it takes its outline along unless that shrinks slowly. */
        bool shrinks =
            omo_outline_least_ratio(&sighting->spot.seen, &track->seen_outline) < 1;
        double form = shrinks ? SHRINK_RATE : fmax(OUTLINE_RATE, early);
        mix_outline(&track->outline, &sighting->spot.outline, form);
        mix_outline(&track->seen_outline, &sighting->spot.seen, form);
        double rate = fmax(CORE_RATE, early);
        track->rim += rate * (sighting->spot.rim - track->rim);
        for (int i = 0; i < 2; i++) {
            track->core[i] += rate * (sighting->spot.core[i] - track->core[i]);
            track->ground[i] += rate * (sighting->spot.ground[i] - track->ground[i]);
        }
    }
    track->x_px = sighting->x_px;
    track->y_px = sighting->y_px;
    track->time_s = time_s;
    track->ever = true;
    track->frames++;
    track->lost_frames = 0;
}

void omo_tracks_update(struct omo_tracker *tracker, struct omo_sighting *list, int count,
                       bool repeated)
{
    for (int k = 0; k < count; k++)
        if (list[k].got && isfinite(list[k].shutter) &&
            path_of(&tracker->view, list[k].track) > 0.6)
            tracker->shutter += SHUTTER_RATE * (list[k].shutter - tracker->shutter);
    for (int k = 0; k < count; k++) {
        struct omo_track *track = list[k].track;
        track->seen = list[k].got;
        if (list[k].got)
            update_one(track, &list[k], tracker->time_s, repeated);
        else
            track->lost_frames++;
    }
}
