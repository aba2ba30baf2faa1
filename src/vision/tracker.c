#include "tracker.h"
#include "length.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"

/* A marker out of sight for longer is looked for by the body's layout, not by motion. */
#define FOLLOW_LOSS_S 0.25
/* Without any marker for so long the body is looked for anew. */
#define UNLOCK_S 0.6
/* Table and light are looked after every so many frames. */
#define LIGHT_FRAMES 8
/* A body of two markers is believed after so many frames in the same place. */
#define PAIR_FRAMES 6
/* Large patches are struck anew after so many frames. */
#define STRIKE_FRAMES 90
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

/* The acromion's marker may share the shoulder's colour, since one lies above the other;
 * no other one's. Along the arm nobody sees it. */
static bool acromion_fits(struct omo_tracker *tracker)
{
    int own = omo_class_of_role(tracker, OMO_ACROMION);
    if (own < 0 || !tracker->settings.body)
        return true;
    if (tracker->settings.view == OMO_VIEW_ALONG_ARM)
        tracker->entry_of_role[OMO_ACROMION] = -1;
    for (int r = 0; r < OMO_ACROMION; r++) {
        bool same = omo_class_of_role(tracker, r) == own;
        if (!same || (r == OMO_SHOULDER && omo_shape_of_role(tracker, r) == OMO_DISC))
            continue;
        omo_error(
            "in the set \"%s\" the acromion has the colour of the %s%s; it may only "
            "share that of a round sticker on the shoulder",
            tracker->settings.set.name, omo_role_name((enum omo_role)r),
            r == OMO_SHOULDER ? "'s band" : "");
        return false;
    }
    return true;
}

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
    if (!acromion_fits(tracker)) {
        omo_tracker_destroy(tracker);
        return OMO_ERR_SETTINGS;
    }
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

unsigned omo_sighted(const struct omo_sighting *list)
{
    unsigned mask = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (list[r].got)
            mask |= 1u << r;
    return mask;
}

void omo_sighted_figure(const struct omo_sighting *list, struct omo_figure *figure)
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

void omo_tracker_drop(struct omo_tracker *tracker, struct omo_sighting *sighting)
{
    if (sighting->candidate >= 0)
        tracker->candidates.item[sighting->candidate].owner = -1;
    sighting->candidate = -1;
    sighting->got = false;
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

/* ---- the whole body ---- */

void omo_start_body(struct omo_tracker *tracker, const struct omo_proposal *proposal,
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
            omo_tracker_drop(tracker, &list[r]);
    tracker->locked = true;
    tracker->frames_to_light = 0;
    tracker->pair_frames = 0;
    tracker->challenge_wins = 0;
    tracker->body_score = proposal->score;
    tracker->stature_px = proposal->stature_px;
    tracker->challenge_wait_s = OMO_CHALLENGE_FIRST_S;
    tracker->next_challenge_s = tracker->time_s + OMO_CHALLENGE_FIRST_S;
}

/* Two patches in the right places are soon found in any room: they have to stay. */
bool omo_body_believed(struct omo_tracker *tracker, const struct omo_proposal *proposal)
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
    if (omo_acquire(tracker, &proposal) && omo_body_believed(tracker, &proposal))
        omo_start_body(tracker, &proposal, list);
}

/* Whether a proposal is the body that is followed, as far as it is seen. */
bool omo_body_agrees(const struct omo_proposal *proposal, const struct omo_sighting *list)
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
    bool same = found && omo_body_agrees(&proposal, list);
    if (same)
        tracker->body_score = fmax(tracker->body_score, proposal.score);
    bool other =
        found && !same && proposal.score > tracker->body_score + OMO_CHALLENGE_MARGIN;
    tracker->challenge_wins = other ? tracker->challenge_wins + 1 : 0;
    if (tracker->challenge_wins >= 3) {
        omo_start_body(tracker, &proposal, list);
        return;
    }
    if (!other)
        tracker->challenge_wait_s =
            fmin(2 * tracker->challenge_wait_s, OMO_CHALLENGE_MOST_S);
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
    omo_sighted_figure(list, &figure);
    if (__builtin_popcount(omo_sighted(list)) > 1 &&
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

enum omo_status omo_tracker_follow(struct omo_tracker *tracker,
                                   const struct omo_frame *frame,
                                   struct omo_sighting list[OMO_ROLE_COUNT])
{
    enum omo_status status =
        omo_tracker_look(tracker, frame, tracker->bands ? &band_sieve : &disc_sieve);
    if (status != OMO_OK)
        return status;
    list_roles(tracker, list);
    if (tracker->locked) {
        omo_bystanders_match(tracker);
        omo_tracks_follow(tracker, list, OMO_ROLE_COUNT, FOLLOW_LOSS_S);
        omo_links_check(tracker, list);
    }
    return OMO_OK;
}

void omo_tracker_keep(struct omo_tracker *tracker, const struct omo_frame *frame,
                      struct omo_sighting list[OMO_ROLE_COUNT],
                      struct omo_markers *markers)
{
    if (tracker->locked) {
        unsigned mask = omo_sighted(list);
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
}

enum omo_status omo_tracker_step(struct omo_tracker *tracker,
                                 const struct omo_frame *frame,
                                 struct omo_markers *markers)
{
    if (!tracker || !frame || !markers)
        return OMO_ERR_ARG;
    struct omo_sighting list[OMO_ROLE_COUNT];
    enum omo_status status = omo_tracker_follow(tracker, frame, list);
    if (status != OMO_OK)
        return status;
    if (tracker->locked) {
        omo_bring_all_back(tracker, list, NULL);
        omo_links_check_band(tracker, list);
        challenge(tracker, list);
    } else {
        try_to_lock(tracker, list);
    }
    omo_tracker_keep(tracker, frame, list, markers);
    return OMO_OK;
}

void omo_tracker_report(const struct omo_tracker *tracker,
                        struct omo_tracker_report *report)
{
    *report = tracker->report;
    report->other_side_better =
        tracker->other_way > 10 && tracker->other_way > 3 * tracker->stated_way;
}
