#include "length.h"
#include "tracker.h"

#include <math.h>

/* Measuring every patch in a cluttered room takes as long as tracking; what is said about
 * them needs no hurry. */
#define AROUND_EVERY_S 0.09
/* A thing has to have been there in so many frames: glints and halves of passing things
 * have not. Our choice. */
#define LASTING_FRAMES 10
/* Half to twice as large as the followed markers, as a logarithm. */
#define LIKE_SIZE 0.75
/* So many of the arm's lengths from the shoulder a thing can get in its way. */
#define REACH_SHARE 1.25
/* Elbow to wrist, in upper arms. */
#define FOREARM_SHARE 0.785
/* Worst arrangement of three or more markers that is called a body. A person's, and a
 * reflection's, stays below 2.5; a room's cups and books make up one of 7 and more. */
#define BODY_COST_MAX 5.0
/* The person's other shoulder lies within this of where it should, in statures. */
#define OTHER_SHOULDER_SHARE 0.07
/* What is taken for a marker without a body round it has to look like one. */
#define LONE_COST_MAX 4.0
/* Fewer markers are soon found in any room. */
#define BODY_MARKERS 3
#define THINGS_MAX   12
#define BODIES_MAX   4

/** Patches that look like whole markers and are nobody's. */
struct things {
    int count;
    struct omo_candidate thing[THINGS_MAX];
    bool taken[THINGS_MAX];
};

static int role_of_class(const struct omo_tracker *tracker, int class_index)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (omo_class_of_role(tracker, r) == class_index)
            return r;
    return -1;
}

/* Where a followed marker is, its patch may be found once more. The trunk's stay about
 * where they were seen last. */
static bool is_of(const struct omo_tracker *tracker, const struct omo_candidate *c)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        const struct omo_track *track = &tracker->tracks[r];
        bool stays = r == OMO_HIP || r == OMO_CHEST;
        if (track->ever && (stays || tracker->time_s - track->time_s < 0.5) &&
            omo_length(track->x_px - c->x_px, track->y_px - c->y_px) <
                2 * track->outline.radius_px)
            return true;
    }
    return false;
}

static bool is_own(const struct omo_tracker *tracker, const struct omo_candidate *c)
{
    return is_of(tracker, c) || (tracker->other_arm && is_of(tracker->other_arm, c));
}

/* While a marker is missing, what has never been seen beside it may be that marker. */
static bool may_be_missing_one(const struct omo_tracker *tracker,
                               const struct omo_candidate *c)
{
    const struct omo_bystander *b = &tracker->bystanders[c->bystander];
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        const struct omo_track *track = &tracker->tracks[r];
        if (omo_class_of_role(tracker, r) == c->class_index && track->ever &&
            !track->seen && b->together[r] < OMO_TOGETHER_ENOUGH)
            return true;
    }
    return false;
}

/* By size, against the markers that are followed. */
static bool alike_in_size(const struct omo_tracker *tracker,
                          const struct omo_candidate *c)
{
    double sum = 0;
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (!tracker->tracks[r].ever)
            continue;
        sum += 2 * tracker->tracks[r].outline.radius_px;
        count++;
    }
    return count > 0 && fabs(log(c->diameter_px * count / sum)) < LIKE_SIZE;
}

static void list_things(const struct omo_tracker *tracker, struct things *things)
{
    things->count = 0;
    for (int i = 0; i < tracker->candidates.count && things->count < THINGS_MAX; i++) {
        struct omo_candidate c = tracker->candidates.item[i];
        int role = role_of_class(tracker, c.class_index);
        if (c.owner >= 0 || c.bystander < 0 || role < 0 ||
            tracker->bystanders[c.bystander].frames < LASTING_FRAMES ||
            is_own(tracker, &c) || may_be_missing_one(tracker, &c))
            continue;
        enum omo_shape shape = omo_shape_of_role(tracker, role);
        if (!omo_candidate_measure(&c, &tracker->view, shape) ||
            c.cost > OMO_SPOT_COST_MAX || !omo_spot_whole(&c.spot, shape) ||
            !alike_in_size(tracker, &c))
            continue;
        things->taken[things->count] = false;
        things->thing[things->count++] = c;
    }
}

/* ---- other bodies ---- */

static void own_figure(const struct omo_tracker *tracker, struct omo_figure *figure)
{
    *figure = (struct omo_figure){.there = {false}};
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        const struct omo_track *track = &tracker->tracks[r];
        figure->there[r] = track->ever && track->seen;
        figure->x_px[r] = track->x_px;
        figure->y_px[r] = track->y_px;
        figure->diameter_px[r] = 2 * track->outline.radius_px;
    }
}

/* Markers on both arms: the other shoulder lies a shoulder's width away, as high. */
static bool is_own_other_arm(const struct omo_tracker *tracker,
                             const struct omo_figure *figure)
{
    const struct omo_figure_frame *frame = &tracker->figure_frame;
    const struct omo_track *shoulder = &tracker->tracks[OMO_SHOULDER];
    struct omo_figure own;
    double stature_px;
    if (frame->view != OMO_VIEW_FRONT || !shoulder->ever || !figure->there[OMO_SHOULDER])
        return false;
    own_figure(tracker, &own);
    if (!isfinite(omo_figure_cost(frame, &own, &stature_px)))
        return false;
    double x = shoulder->x_px -
               frame->forward_x * 2 * frame->layout.half_shoulder_width * stature_px;
    return omo_length(figure->x_px[OMO_SHOULDER] - x,
                      figure->y_px[OMO_SHOULDER] - shoulder->y_px) <
           OTHER_SHOULDER_SHARE * stature_px;
}

/** The best body among the things left. */
struct body {
    double cost;
    int count;
    int thing[OMO_ROLE_COUNT];
    struct omo_figure figure;
};

struct body_search {
    const struct omo_tracker *tracker;
    const struct things *things;
    struct omo_figure_frame frame;
    struct body now, best;
};

static void judge(struct body_search *search)
{
    struct body *now = &search->now;
    if (now->count < BODY_MARKERS)
        return;
    now->cost = omo_figure_cost(&search->frame, &now->figure, NULL);
    if (now->cost <= BODY_COST_MAX &&
        (now->count > search->best.count ||
         (now->count == search->best.count && now->cost < search->best.cost)))
        search->best = *now;
}

/* An arm is what may be taken for this one; a trunk's markers alone are none. */
static void descend(struct body_search *search, int role)
{
    struct body *now = &search->now;
    if (role == OMO_ROLE_COUNT) {
        judge(search);
        return;
    }
    for (int i = 0; i < search->things->count; i++) {
        const struct omo_candidate *c = &search->things->thing[i];
        bool taken = search->things->taken[i];
        for (int r = 0; r < role; r++)
            taken |= now->thing[r] == i;
        if (taken || c->class_index != omo_class_of_role(search->tracker, role))
            continue;
        now->thing[role] = i;
        now->count++;
        now->figure.there[role] = true;
        now->figure.x_px[role] = c->x_px;
        now->figure.y_px[role] = c->y_px;
        now->figure.diameter_px[role] = c->diameter_px;
        /* Two markers that cannot go together need no third. */
        if (now->count < 2 ||
            omo_figure_cost(&search->frame, &now->figure, NULL) <= BODY_COST_MAX)
            descend(search, role + 1);
        now->figure.there[role] = false;
        now->count--;
        now->thing[role] = -1;
    }
    if (role > OMO_ELBOW)
        descend(search, role + 1);
}

static bool find_body(const struct omo_tracker *tracker, const struct things *things,
                      struct body *found)
{
    struct body_search search = {.tracker = tracker, .things = things};
    search.best.cost = INFINITY;
    for (int turn = 0; turn < 2; turn++) {
        search.frame = tracker->figure_frame;
        if (turn == 1) /* someone else may face the other way */
            search.frame.forward_x = -search.frame.forward_x;
        search.now = (struct body){.cost = INFINITY};
        for (int r = 0; r < OMO_ROLE_COUNT; r++)
            search.now.thing[r] = -1;
        descend(&search, 0);
    }
    *found = search.best;
    return search.best.count > 0;
}

static int count_bodies(const struct omo_tracker *tracker, struct things *things)
{
    int bodies = 0;
    struct body body;
    for (int i = 0; i < BODIES_MAX && things->count >= BODY_MARKERS; i++) {
        if (!find_body(tracker, things, &body))
            break;
        for (int r = 0; r < OMO_ROLE_COUNT; r++)
            if (body.thing[r] >= 0)
                things->taken[body.thing[r]] = true;
        bodies += !is_own_other_arm(tracker, &body.figure);
    }
    return bodies;
}

/* ---- things beside the arm ---- */

/** How far from the arm's root a thing matters; NAN when the arm is not known. */
static double reach_px(const struct omo_tracker *tracker, int *root)
{
    const struct omo_track *t = tracker->tracks;
    *root = tracker->figure_frame.view == OMO_VIEW_ALONG_ARM ? OMO_ELBOW : OMO_SHOULDER;
    int end = *root == OMO_ELBOW ? OMO_WRIST : OMO_ELBOW;
    if (!t[*root].ever || !t[end].ever)
        return NAN;
    double part = omo_length(t[*root].x_px - t[end].x_px, t[*root].y_px - t[end].y_px);
    for (int i = 0; i < OMO_LINK_COUNT; i++) /* the arm may point at the camera now */
        part = fmax(part, *root == OMO_SHOULDER ? tracker->links[i].full_px : 0);
    return REACH_SHARE * part * (*root == OMO_SHOULDER ? 1 + FOREARM_SHARE : 1);
}

static int count_look_alikes(const struct omo_tracker *tracker,
                             const struct things *things)
{
    int root, count = 0;
    double most_px = reach_px(tracker, &root);
    for (int i = 0; i < things->count; i++) {
        const struct omo_candidate *c = &things->thing[i];
        count += !things->taken[i] &&
                 omo_length(c->x_px - tracker->tracks[root].x_px,
                            c->y_px - tracker->tracks[root].y_px) < most_px;
    }
    return count;
}

/* ---- nobody yet ---- */

static void look_for_lone_ones(const struct omo_tracker *tracker,
                               struct omo_surroundings *surroundings)
{
    int tried = 0;
    for (int i = 0; i < tracker->candidates.count && tried < THINGS_MAX; i++) {
        struct omo_candidate c = tracker->candidates.item[i];
        int role = role_of_class(tracker, c.class_index);
        if (role < 0)
            continue;
        tried++;
        enum omo_shape shape = omo_shape_of_role(tracker, role);
        if (!omo_candidate_measure(&c, &tracker->view, shape) || c.cost > LONE_COST_MAX ||
            !omo_spot_whole(&c.spot, shape))
            continue;
        surroundings->lone_patches++;
        surroundings->lone_px = fmax(surroundings->lone_px, c.diameter_px);
    }
}

static void look_around(const struct omo_tracker *tracker,
                        struct omo_surroundings *surroundings)
{
    struct things things;
    *surroundings = (struct omo_surroundings){.lone_px = NAN};
    if (!tracker->view.planes)
        return;
    if (!tracker->locked) {
        look_for_lone_ones(tracker, surroundings);
        return;
    }
    list_things(tracker, &things);
    surroundings->other_bodies = count_bodies(tracker, &things);
    surroundings->look_alikes = count_look_alikes(tracker, &things);
}

void omo_tracker_surroundings(struct omo_tracker *tracker,
                              struct omo_surroundings *surroundings)
{
    if (!tracker->around_known || tracker->around_locked != tracker->locked ||
        !(fabs(tracker->time_s - tracker->around_s) < AROUND_EVERY_S)) {
        look_around(tracker, &tracker->around);
        tracker->around_known = true;
        tracker->around_locked = tracker->locked;
        tracker->around_s = tracker->time_s;
    }
    *surroundings = tracker->around;
}
