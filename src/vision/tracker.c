#include "tracker.h"
#include "length.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A marker out of sight for longer is looked for by the body's layout, not by motion. */
#define FOLLOW_LOSS_S 0.25
/* Without any marker for so long the body is looked for anew. */
#define UNLOCK_S 0.6
/* Table and light are looked after every so many frames. */
#define LIGHT_FRAMES 8
/* A body of two markers is believed after so many frames in the same place. */
#define PAIR_FRAMES 6
/* A marker that comes back must fit this well, and better than the next by a margin. */
#define FIRST_COST_MAX  10.0
#define SPARE_COST_MAX  4.0
#define RETURN_COST_MAX 16.0
#define RETURN_MARGIN   4.0
#define FIGURE_COST_MAX 30.0
/* A trunk's marker out of sight may be this much of stature a second from where it was.
 */
#define WANDER_PER_S      0.05
#define WANDER_MOST_S     2.0
#define CHALLENGE_MARGIN  8.0
#define CHALLENGE_FIRST_S 0.5
#define CHALLENGE_MOST_S  4.0
/* Large patches are struck anew after so many frames. */
#define STRIKE_FRAMES  90
#define SHARE_SIGMA    0.25 /* logarithm of a newcomer's chroma against what is expected */
#define PRESENT_FRAMES 8
#define PRESENT_COVER  0.75
#define PRESENT_MISFIT 0.27
/* Exposure as a share of the frame's time before anything moved fast. */
#define SHUTTER_FIRST 0.45
#define STATURE_RATE  0.05
#define SMALLEST_AREA 4 /* chroma samples */

static const struct omo_sieve disc_sieve = {.smallest_px = 4.5,
                                            .largest_px = 110,
                                            .largest_aspect = 3.2,
                                            .least_fill = 0.42};
static const struct omo_sieve band_sieve = {.smallest_px = 4.5,
                                            .largest_px = 160,
                                            .largest_aspect = 8,
                                            .least_fill = 0.18};

enum omo_status omo_tracker_create(const struct omo_tracker_settings *settings,
                                   struct omo_tracker **out)
{
    if (!settings || !out || settings->set.count < 1 || settings->set.count > OMO_SET_MAX)
        return OMO_ERR_ARG;
    struct omo_layout layout;
    enum omo_status status = omo_layout_load(NULL, &layout);
    if (status != OMO_OK)
        return status;
    struct omo_tracker *tracker = calloc(1, sizeof *tracker);
    if (!tracker)
        return OMO_ERR_MEMORY;
    tracker->settings = *settings;
    tracker->time_s = NAN;
    tracker->shutter = SHUTTER_FIRST;
    omo_figure_frame_init(&tracker->figure_frame, settings, &layout);
    omo_palette_init(&tracker->palette, &settings->set);
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        tracker->entry_of_role[r] = -1;
    for (int i = 0; i < settings->set.count; i++) {
        enum omo_role role = omo_role_from_name(settings->set.entry[i].name);
        tracker->bands |= settings->set.entry[i].shape == OMO_BAND;
        if (role != OMO_ROLE_COUNT)
            tracker->entry_of_role[role] = i;
    }
    if (tracker->entry_of_role[OMO_CHEST] < 0)
        tracker->entry_of_role[OMO_CHEST] = tracker->entry_of_role[OMO_HIP];
    *out = tracker;
    return OMO_OK;
}

void omo_tracker_destroy(struct omo_tracker *tracker)
{
    if (!tracker)
        return;
    omo_blobs_finish(&tracker->blobs);
    free(tracker);
}

/* ---- one frame ---- */

/* Time since the frame before; a stamp that stands still counts as an ordinary step. */
static void advance(struct omo_tracker *tracker, const struct omo_frame *frame)
{
    double step = frame->time_s - tracker->time_s;
    if (!isfinite(step))
        step = 1.0 / 30;
    tracker->step_s = step > 1e-3 ? fmin(step, 1) : 1e-3;
    tracker->time_s = frame->time_s;
}

static double largest_marker_px2(const struct omo_tracker *tracker)
{
    double largest = NAN;
    for (int r = 0; r < OMO_SET_MAX; r++) {
        const struct omo_track *track = &tracker->tracks[r];
        double radius = track->outline.radius_px;
        if (track->ever)
            largest = fmax(largest, M_PI * radius * radius);
    }
    return largest;
}

/* Looks once, and again where large patches were struck from the table. While nothing is
 * followed both looks count: a marker may have a large patch's very colour. */
static void find_patches(struct omo_tracker *tracker, const struct omo_planes *planes,
                         const struct omo_sieve *sieve)
{
    struct omo_palette *palette = &tracker->palette;
    bool fresh = !tracker->locked || tracker->frames_to_strike-- <= 0;
    if (fresh) {
        omo_strike_forget(palette);
        tracker->frames_to_strike = STRIKE_FRAMES;
    }
    if (!palette->lut_ready)
        omo_palette_update(palette, palette->narrow);
    tracker->candidates.count = 0;
    for (int looks = 0; looks < 3; looks++) {
        omo_blobs_find(&tracker->blobs, planes, &palette->lut, SMALLEST_AREA);
        omo_candidates_sift(&tracker->candidates, &tracker->blobs, &tracker->view, sieve);
        if (!fresh || !omo_strike_large(palette, &tracker->blobs, planes,
                                        largest_marker_px2(tracker)))
            return;
    }
}

enum omo_status omo_tracker_look(struct omo_tracker *tracker,
                                 const struct omo_frame *frame,
                                 const struct omo_sieve *sieve)
{
    const struct omo_planes *planes = &frame->planes;
    if (!planes->cb || !planes->cr || planes->chroma_width < 1 ||
        planes->chroma_height < 1)
        return OMO_ERR_ARG;
    enum omo_status status =
        omo_blobs_reserve(&tracker->blobs, planes->chroma_width, planes->chroma_height);
    if (status != OMO_OK)
        return status;
    advance(tracker, frame);
    omo_palette_match(&tracker->palette, planes);
    omo_view_of_frame_init(&tracker->view, frame, &tracker->palette.map);
    tracker->view.step_s = tracker->step_s;
    tracker->view.shutter = tracker->shutter;
    find_patches(tracker, planes, sieve);
    return OMO_OK;
}

static void list_roles(struct omo_tracker *tracker, struct omo_sighting *list)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        int entry = tracker->entry_of_role[r];
        list[r] = (struct omo_sighting){.track = &tracker->tracks[r],
                                        .class_index = omo_class_of_role(tracker, r),
                                        .candidate = -1};
        if (entry >= 0)
            list[r].shape = tracker->settings.set.entry[entry].shape;
    }
}

static unsigned sighted(const struct omo_sighting *list)
{
    unsigned mask = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (list[r].got)
            mask |= 1u << r;
    return mask;
}

void omo_tracker_sight(struct omo_tracker *tracker, struct omo_sighting *sighting,
                       int role, int index)
{
    struct omo_candidate *c = &tracker->candidates.item[index];
    sighting->got = true;
    sighting->clear = c->spot.rim > 0.93;
    sighting->x_px = c->x_px;
    sighting->y_px = c->y_px;
    sighting->spot = c->spot;
    sighting->candidate = index;
    c->owner = role;
}

/* ---- a marker that comes back, or is seen for the first time ---- */

static void fill_figure(const struct omo_sighting *list, struct omo_figure *figure)
{
    memset(figure, 0, sizeof *figure);
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (!list[r].got)
            continue;
        figure->there[r] = true;
        figure->x_px[r] = list[r].x_px;
        figure->y_px[r] = list[r].y_px;
        figure->diameter_px[r] = list[r].spot.width_px;
    }
}

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
    fill_figure(list, &figure);
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

static void bring_back(struct omo_tracker *tracker, struct omo_sighting *list, int role)
{
    int best = -1;
    double best_cost = INFINITY,
           second = INFINITY; /* second: another one, or as another */
    for (int i = 0; i < tracker->candidates.count; i++) {
        struct omo_candidate *c = &tracker->candidates.item[i];
        if (c->class_index != list[role].class_index || c->owner >= 0 ||
            omo_bystander_blocks(tracker, c, role))
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
    for (int r = 0; r < OMO_ROLE_COUNT && best >= 0; r++)
        if (r != role && !list[r].got && list[r].class_index == list[role].class_index &&
            r != OMO_CHEST)
            second = fmin(second,
                          return_cost(tracker, list, r, &tracker->candidates.item[best]));
    double most = tracker->tracks[role].ever      ? RETURN_COST_MAX
                  : omo_role_spare(tracker, role) ? SPARE_COST_MAX
                                                  : FIRST_COST_MAX;
    if (best >= 0 && best_cost <= most && second - best_cost >= RETURN_MARGIN)
        omo_tracker_sight(tracker, &list[role], role, best);
}

static void bring_all_back(struct omo_tracker *tracker, struct omo_sighting *list)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        unsigned mask = sighted(list);
        if (list[r].got || list[r].class_index < 0 || mask == 0)
            continue;
        /* One trunk marker in the colour of both is the hip's. */
        if (r == OMO_CHEST && !list[OMO_HIP].got &&
            list[r].class_index == list[OMO_HIP].class_index)
            continue;
        bring_back(tracker, list, r);
    }
}

/* ---- the whole body ---- */

static void drop(struct omo_tracker *tracker, struct omo_sighting *sighting)
{
    if (sighting->candidate >= 0)
        tracker->candidates.item[sighting->candidate].owner = -1;
    sighting->candidate = -1;
    sighting->got = false;
}

static void start_body(struct omo_tracker *tracker, const struct omo_proposal *proposal,
                       struct omo_sighting *list)
{
    memset(tracker->tracks, 0, sizeof tracker->tracks);
    memset(tracker->links, 0, sizeof tracker->links);
    memset(tracker->bystanders, 0, sizeof tracker->bystanders);
    omo_palette_forget(&tracker->palette);
    list_roles(tracker, list);
    for (int i = 0; i < tracker->candidates.count; i++)
        tracker->candidates.item[i].owner = -1;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (proposal->candidate[r] >= 0)
            omo_tracker_sight(tracker, &list[r], r, proposal->candidate[r]);
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (list[r].got && !omo_spot_whole(&list[r].spot, list[r].shape))
            drop(tracker, &list[r]);
    tracker->locked = true;
    tracker->frames_to_light = 0;
    tracker->pair_frames = 0;
    tracker->challenge_wins = 0;
    tracker->body_score = proposal->score;
    tracker->stature_px = proposal->stature_px;
    tracker->challenge_wait_s = CHALLENGE_FIRST_S;
    tracker->next_challenge_s = tracker->time_s + CHALLENGE_FIRST_S;
}

/* Two patches in the right places are soon found in any room: they have to stay. */
static bool believed(struct omo_tracker *tracker, const struct omo_proposal *proposal)
{
    int whole = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (proposal->candidate[r] >= 0)
            whole +=
                omo_spot_whole(&tracker->candidates.item[proposal->candidate[r]].spot,
                               omo_shape_of_role(tracker, r));
    if (proposal->count > 2 && whole > 1)
        return true;
    double x = 0, y = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (proposal->candidate[r] < 0)
            continue;
        x += tracker->candidates.item[proposal->candidate[r]].x_px / proposal->count;
        y += tracker->candidates.item[proposal->candidate[r]].y_px / proposal->count;
    }
    bool same = omo_length(x - tracker->pair_x, y - tracker->pair_y) <
                0.06 * proposal->stature_px;
    tracker->pair_frames = same ? tracker->pair_frames + 1 : 1;
    tracker->pair_x = x;
    tracker->pair_y = y;
    return tracker->pair_frames >= PAIR_FRAMES;
}

static void try_to_lock(struct omo_tracker *tracker, struct omo_sighting *list)
{
    struct omo_proposal proposal;
    if (tracker->frames_to_search-- > 0)
        return;
    if (omo_acquire(tracker, &proposal) && believed(tracker, &proposal))
        start_body(tracker, &proposal, list);
}

/* Whether a proposal is the body that is followed, as far as it is seen. */
static bool agrees(const struct omo_proposal *proposal, const struct omo_sighting *list)
{
    int same = 0, other = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (proposal->candidate[r] < 0 || !list[r].got)
            continue;
        if (proposal->candidate[r] == list[r].candidate)
            same++;
        else
            other++;
    }
    return other == 0 || same >= 2;
}

/* Now and then the followed body is held against the best other one: the first lock may
 * have been on a reflection, or on things in the right places. It counts with the best it
 * ever showed, since a hand may hide its markers but does not make it another one. */
static void challenge(struct omo_tracker *tracker, struct omo_sighting *list)
{
    struct omo_proposal proposal;
    if (tracker->time_s < tracker->next_challenge_s)
        return;
    bool found = omo_acquire(tracker, &proposal);
    bool same = found && agrees(&proposal, list);
    if (same)
        tracker->body_score = fmax(tracker->body_score, proposal.score);
    bool other =
        found && !same && proposal.score > tracker->body_score + CHALLENGE_MARGIN;
    tracker->challenge_wins = other ? tracker->challenge_wins + 1 : 0;
    if (tracker->challenge_wins >= 3) {
        start_body(tracker, &proposal, list);
        return;
    }
    if (!other)
        tracker->challenge_wait_s = fmin(2 * tracker->challenge_wait_s, CHALLENGE_MOST_S);
    tracker->next_challenge_s =
        tracker->time_s + (other ? 0.15 : tracker->challenge_wait_s);
}

/* Fast markers are thin on the picture; in steps, so that the table rests in between. */
static bool smear_changed(struct omo_tracker *tracker)
{
    double smear[OMO_SET_MAX] = {0}, ground[OMO_SET_MAX] = {0};
    bool changed = false;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        const struct omo_track *track = &tracker->tracks[r];
        int k = omo_class_of_role(tracker, r);
        if (k < 0 || !track->ever || tracker->time_s - track->time_s > FOLLOW_LOSS_S)
            continue;
        double path = omo_length(track->vx_px_s, track->vy_px_s) * tracker->step_s;
        double blur = 1.7 * tracker->shutter * path;
        double steps = floor(blur / track->outline.radius_px) / 2;
        if (steps > smear[k]) {
            smear[k] = fmin(steps, 2);
            ground[k] = omo_colour_angle_deg(track->ground);
        }
    }
    for (int k = 0; k < tracker->palette.class_count; k++) {
        changed |= fabs(tracker->palette.classes[k].smear - smear[k]) > 0.1;
        tracker->palette.classes[k].smear = smear[k];
        tracker->palette.classes[k].ground_deg = ground[k];
    }
    return changed;
}

static void look_after_light(struct omo_tracker *tracker, const struct omo_sighting *list)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (list[r].got && list[r].clear)
            omo_palette_show(&tracker->palette, list[r].class_index, list[r].spot.core,
                             0.15);
    bool changed = smear_changed(tracker);
    if (tracker->frames_to_light-- > 0 && !changed)
        return;
    tracker->frames_to_light = LIGHT_FRAMES;
    omo_palette_update(&tracker->palette, true);
}

static void unlock(struct omo_tracker *tracker)
{
    tracker->locked = false;
    tracker->pair_frames = 0;
    tracker->frames_to_search = 0;
    omo_palette_update(&tracker->palette, false);
}

static void look_at_figure(struct omo_tracker *tracker, const struct omo_sighting *list)
{
    struct omo_figure figure;
    double stature;
    fill_figure(list, &figure);
    if (__builtin_popcount(sighted(list)) > 1 &&
        isfinite(omo_figure_cost(&tracker->figure_frame, &figure, &stature)))
        tracker->stature_px += STATURE_RATE * (stature - tracker->stature_px);
    double up = omo_figure_elevation_deg(&tracker->figure_frame, &figure);
    if (up > 35 && up < 150)
        tracker->stated_way++;
    if (up < -35 && up > -150)
        tracker->other_way++;
}

void omo_tracker_write(struct omo_tracker *tracker, const struct omo_sighting *list,
                       int count, struct omo_marker *markers)
{
    for (int r = 0; r < count; r++) {
        struct omo_marker *m = &markers[r];
        *m = (struct omo_marker){.seen = OMO_NOT_SEEN,
                                 .x_px = NAN,
                                 .y_px = NAN,
                                 .diameter_px = NAN,
                                 .sigma_px = NAN};
        if (!list[r].got)
            continue;
        m->seen = OMO_SEEN;
        m->x_px = list[r].x_px;
        m->y_px = list[r].y_px;
        m->diameter_px = list[r].spot.width_px;
        m->sigma_px = list[r].spot.sigma_px;
        tracker->report.seen[r]++;
    }
    tracker->report.frames++;
}

enum omo_status omo_tracker_step(struct omo_tracker *tracker,
                                 const struct omo_frame *frame,
                                 struct omo_markers *markers)
{
    if (!tracker || !frame || !markers)
        return OMO_ERR_ARG;
    enum omo_status status =
        omo_tracker_look(tracker, frame, tracker->bands ? &band_sieve : &disc_sieve);
    if (status != OMO_OK)
        return status;
    struct omo_sighting list[OMO_ROLE_COUNT];
    list_roles(tracker, list);
    if (tracker->locked) {
        omo_bystanders_match(tracker);
        omo_tracks_follow(tracker, list, OMO_ROLE_COUNT, FOLLOW_LOSS_S);
        omo_links_check(tracker, list);
        bring_all_back(tracker, list);
        challenge(tracker, list);
    } else {
        try_to_lock(tracker, list);
    }
    if (tracker->locked) {
        unsigned mask = sighted(list);
        omo_tracks_update(tracker, list, OMO_ROLE_COUNT, frame->repeated);
        omo_links_update(tracker, list);
        look_at_figure(tracker, list);
        omo_bystanders_update(tracker, list, OMO_ROLE_COUNT);
        look_after_light(tracker, list);
        if (mask)
            tracker->lost_since_s = tracker->time_s;
        else if (tracker->time_s - tracker->lost_since_s > UNLOCK_S)
            unlock(tracker);
    }
    omo_tracker_write(tracker, list, OMO_ROLE_COUNT, markers->role);
    return OMO_OK;
}

void omo_tracker_report(const struct omo_tracker *tracker,
                        struct omo_tracker_report *report)
{
    *report = tracker->report;
    report->other_side_better =
        tracker->other_way > 10 && tracker->other_way > 3 * tracker->stated_way;
}
