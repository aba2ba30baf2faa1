#include "length.h"
#include "tracker.h"

#include <math.h>
#include <string.h>

/* Each marker that fits earns this much, a spare one less; what fits badly costs up to as
 * much. */
#define ROLE_REWARD  20.0
#define SPARE_REWARD 8.0
/* Sizes of two bodies differ by their distance: the nearer one is likelier meant. */
#define NEARER_REWARD 40.0
/* Markers of more than 3 % of the picture's height are near enough: larger ones are
 * things in the room as likely. */
#define NEAR_ENOUGH (-3.45)
/* Between two bodies it counts up to so much, and each marker more that is seen so much.
 */
#define MOST_NEARER     0.25
#define HIDDEN_COST     7.0
#define LONE_CHEST_COST 14.0
#define LONE_HIP_COST   4.0
/* A marker's place must beat every other explanation of the picture by this much: it is
 * better not to see than to be wrong. */
#define MARGIN 4.0
/* A marker the movement needs may be hidden when the others are there. */
#define MISSING_COST 24.0
/* Worst arrangement and colours still believed. */
#define FIGURE_COST_MAX 26.0
#define COLOUR_COST_MAX 18.0
/* A proposal must earn this share of what its markers could. */
#define LEAST_SHARE      0.35
#define LEAST_SHARE_PAIR 0.70
/* A search is repeated after so many frames that it costs no more than this a frame. */
#define NODES_PER_FRAME 1000
#define NODES_MAX       10000

struct choices {
    int count;
    int candidate[OMO_CHOICES_MAX];
};

struct search {
    struct omo_tracker *tracker;
    struct choices choices[OMO_ROLE_COUNT];
    unsigned needed;
    int nodes;
    double most_nearness; /**< of any body here */
    struct omo_figure figure;
    int chosen[OMO_ROLE_COUNT];
    double spot_cost;
    double best_with[OMO_ROLE_COUNT][OMO_CANDIDATES_MAX];
    double best_without[OMO_ROLE_COUNT];
    struct omo_proposal best;
};

static void add_choice(struct choices *choices, const struct omo_candidates *all,
                       int index)
{
    int place = choices->count < OMO_CHOICES_MAX ? choices->count : OMO_CHOICES_MAX - 1;
    double cost = all->item[index].cost;
    if (choices->count == OMO_CHOICES_MAX &&
        all->item[choices->candidate[OMO_CHOICES_MAX - 1]].cost <= cost)
        return;
    if (choices->count < OMO_CHOICES_MAX)
        choices->count++;
    while (place > 0 && all->item[choices->candidate[place - 1]].cost > cost) {
        choices->candidate[place] = choices->candidate[place - 1];
        place--;
    }
    choices->candidate[place] = index;
}

static void list_choices(struct search *search)
{
    struct omo_tracker *tracker = search->tracker;
    struct omo_candidates *all = &tracker->candidates;
    for (int i = 0; i < all->count; i++) {
        struct omo_candidate *c = &all->item[i];
        for (int r = 0; r < OMO_ROLE_COUNT; r++) {
            int k = omo_class_of_role(tracker, r);
            if (k != c->class_index)
                continue;
            if (!omo_candidate_measure(c, &tracker->view, omo_shape_of_role(tracker, r)))
                break;
            double expected, doubt;
            omo_palette_expect(&tracker->palette, k, &expected, &doubt);
            double turn =
                omo_colour_turn_deg(expected, omo_colour_angle_deg(c->spot.core));
            if (c->cost <= OMO_SPOT_COST_MAX && fabs(turn) <= doubt + 4)
                add_choice(&search->choices[r], all, i);
        }
    }
}

static double colour_cost(const struct search *search)
{
    const struct omo_tracker *tracker = search->tracker;
    int class_index[OMO_ROLE_COUNT];
    double angle_deg[OMO_ROLE_COUNT], magnitude[OMO_ROLE_COUNT];
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (search->chosen[r] < 0)
            continue;
        const struct omo_candidate *c = &tracker->candidates.item[search->chosen[r]];
        class_index[count] = c->class_index;
        angle_deg[count] = omo_colour_angle_deg(c->spot.core);
        magnitude[count++] = omo_colour_magnitude(c->spot.core);
    }
    return omo_palette_joint_cost(&tracker->palette, class_index, angle_deg, magnitude,
                                  count);
}

static int chosen_count(const struct search *search)
{
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        count += search->chosen[r] >= 0;
    return count;
}

bool omo_role_spare(const struct omo_tracker *tracker, int role)
{
    if (role == OMO_CHEST)
        return tracker->entry_of_role[OMO_CHEST] == tracker->entry_of_role[OMO_HIP];
    if (role == OMO_ACROMION)
        return true;
    return role == OMO_SHOULDER && tracker->settings.view == OMO_VIEW_ALONG_ARM;
}

static double role_reward(const struct omo_tracker *tracker, int role)
{
    return omo_role_spare(tracker, role) ? SPARE_REWARD : ROLE_REWARD;
}

static double reward(const struct search *search)
{
    double sum = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (search->chosen[r] >= 0)
            sum += role_reward(search->tracker, r);
    return sum;
}

/* Mean logarithm of the markers' size on the picture: those of one person are alike, and
 * those of the nearer person are larger. */
static double nearness(const struct search *search)
{
    double sum = 0;
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (search->chosen[r] < 0)
            continue;
        sum += log(search->figure.diameter_px[r] / search->tracker->view.height);
        count++;
    }
    return fmin(sum / count, NEAR_ENOUGH);
}

/* The most it can be. */
static double most_nearness(const struct search *search)
{
    const struct omo_candidates *all = &search->tracker->candidates;
    double largest = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        for (int i = 0; i < search->choices[r].count; i++)
            largest =
                fmax(largest, all->item[search->choices[r].candidate[i]].diameter_px);
    return fmin(log(largest / search->tracker->view.height), NEAR_ENOUGH);
}

static void propose(struct search *search)
{
    struct omo_tracker *tracker = search->tracker;
    int count = chosen_count(search);
    int missing = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        missing += (search->needed >> r & 1) && search->chosen[r] < 0;
    /* Without the shoulder's it is no acromion's. */
    if (count < 2 ||
        (search->chosen[OMO_ACROMION] >= 0 && search->chosen[OMO_SHOULDER] < 0))
        return;
    double stature;
    double figure = omo_figure_cost(&tracker->figure_frame, &search->figure, &stature);
    if (!(figure <= FIGURE_COST_MAX))
        return;
    double near = nearness(search), nearer = NEARER_REWARD * near;
    double score = reward(search) - figure - search->spot_cost + nearer;
    /* One trunk marker in the colour of both is the hip's. */
    if (search->chosen[OMO_CHEST] >= 0 && search->chosen[OMO_HIP] < 0 &&
        omo_class_of_role(tracker, OMO_CHEST) == omo_class_of_role(tracker, OMO_HIP))
        score -= LONE_CHEST_COST;
    score -= MISSING_COST * missing;
    /* A wrist is hidden less often than a hip, when it could be either. */
    if (search->chosen[OMO_HIP] >= 0 && search->chosen[OMO_WRIST] < 0 &&
        omo_class_of_role(tracker, OMO_WRIST) == omo_class_of_role(tracker, OMO_HIP))
        score -= LONE_HIP_COST;
    if (score <= search->best.score - MARGIN)
        return;
    double colour = colour_cost(search);
    score -= colour;
    double earned = score - nearer;
    double least = count > 2 ? LEAST_SHARE : LEAST_SHARE_PAIR;
    if (colour > COLOUR_COST_MAX ||
        earned < least * reward(search) - MISSING_COST * missing)
        return;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        double *best = search->chosen[r] >= 0 ? &search->best_with[r][search->chosen[r]]
                                              : &search->best_without[r];
        *best = fmax(*best, score);
    }
    if (score <= search->best.score)
        return;
    memcpy(search->best.candidate, search->chosen, sizeof search->chosen);
    search->best.count = count;
    search->best.score = score;
    search->best.cost = figure + search->spot_cost + colour;
    search->best.nearness = near;
    search->best.stature_px = stature;
}

static void place(struct search *search, int role, int candidate)
{
    const struct omo_candidate *c = &search->tracker->candidates.item[candidate];
    search->chosen[role] = candidate;
    search->figure.there[role] = true;
    search->figure.x_px[role] = c->x_px;
    search->figure.y_px[role] = c->y_px;
    search->figure.diameter_px[role] = c->diameter_px;
    search->spot_cost += c->cost;
}

static void lift(struct search *search, int role)
{
    search->spot_cost -= search->tracker->candidates.item[search->chosen[role]].cost;
    search->chosen[role] = -1;
    search->figure.there[role] = false;
}

/* Whether two candidates are one thing, which two looks may have found twice. */
static bool one_thing(const struct omo_candidate *a, const struct omo_candidate *b)
{
    return omo_length(a->x_px - b->x_px, a->y_px - b->y_px) < 0.5 * b->diameter_px;
}

static bool already_chosen(const struct search *search, int candidate)
{
    const struct omo_candidate *all = search->tracker->candidates.item;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        int other = search->chosen[r];
        if (other >= 0 && one_thing(&all[candidate], &all[other]))
            return true;
    }
    return false;
}

/* Depth first with the shoulder first; a branch whose best outcome cannot win is cut. */
static void descend(struct search *search, int role)
{
    if (role == OMO_ROLE_COUNT) {
        propose(search);
        return;
    }
    double cost = 0;
    int count = chosen_count(search);
    if (count >= 2)
        cost = omo_figure_cost(&search->tracker->figure_frame, &search->figure, NULL);
    double most =
        reward(search) - cost - search->spot_cost + NEARER_REWARD * search->most_nearness;
    for (int r = role; r < OMO_ROLE_COUNT; r++)
        most += search->choices[r].count ? role_reward(search->tracker, r) : 0;
    if (cost > FIGURE_COST_MAX || most <= search->best.score - MARGIN ||
        search->nodes++ > NODES_MAX)
        return;
    const struct choices *choices = &search->choices[role];
    for (int i = 0; i < choices->count; i++) {
        if (already_chosen(search, choices->candidate[i]))
            continue;
        place(search, role, choices->candidate[i]);
        descend(search, role + 1);
        lift(search, role);
    }
    descend(search, role + 1);
}

/* Trunk markers may be hidden at first; the arm's needed ones may not. */
static unsigned needed_roles(const struct omo_tracker *tracker)
{
    const unsigned arm = 1u << OMO_SHOULDER | 1u << OMO_ELBOW | 1u << OMO_WRIST;
    unsigned needed = tracker->settings.needed & arm;
    return needed ? needed : 1u << OMO_SHOULDER | 1u << OMO_ELBOW;
}

/* The best explanation of the picture in which this marker is elsewhere, is missing, or
 * is another one. */
static double best_rival(const struct search *search, int role)
{
    const struct omo_candidates *all = &search->tracker->candidates;
    const struct omo_candidate *own = &all->item[search->best.candidate[role]];
    double best = search->best_without[role];
    for (int i = 0; i < all->count; i++) {
        bool same = one_thing(&all->item[i], own);
        for (int q = 0; q < OMO_ROLE_COUNT; q++)
            if ((q == role) != same)
                best = fmax(best, search->best_with[q][i]);
    }
    return best;
}

/* A marker that could nearly as well be another one, or elsewhere, stays without a name.
 */
static void drop_doubtful(struct search *search)
{
    struct omo_proposal sure = search->best;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (sure.candidate[r] < 0 || best_rival(search, r) < search->best.score - MARGIN)
            continue;
        sure.candidate[r] = -1;
        sure.count--;
    }
    search->best = sure;
}

/* The best body without these candidates. */
static void look_for(struct search *search, const struct omo_proposal *without)
{
    const struct omo_candidate *all = search->tracker->candidates.item;
    search->best = (struct omo_proposal){.score = -INFINITY};
    search->nodes = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        search->chosen[r] = -1;
        search->best_without[r] = -INFINITY;
        for (int i = 0; i < OMO_CANDIDATES_MAX; i++)
            search->best_with[r][i] = -INFINITY;
    }
    for (int r = 0; r < OMO_ROLE_COUNT && without; r++) {
        struct choices *choices = &search->choices[r];
        int kept = 0;
        for (int i = 0; i < choices->count; i++) {
            bool taken = false;
            for (int q = 0; q < OMO_ROLE_COUNT; q++)
                taken |=
                    without->candidate[q] >= 0 &&
                    one_thing(&all[choices->candidate[i]], &all[without->candidate[q]]);
            if (!taken)
                choices->candidate[kept++] = choices->candidate[i];
        }
        choices->count = kept;
    }
    descend(search, 0);
}

/* Which of two bodies is meant: what hides some markers of one says little about that. */
static double lead(const struct omo_proposal *one, const struct omo_proposal *other)
{
    double nearer = one->nearness - other->nearness;
    nearer = fmin(fmax(nearer, -MOST_NEARER), MOST_NEARER);
    return other->cost - one->cost + NEARER_REWARD * nearer +
           HIDDEN_COST * (one->count - other->count);
}

/* ---- one arm of two ---- */

static bool at(const struct omo_candidate *c, double x, double y)
{
    return omo_length(c->x_px - x, c->y_px - y) < 0.5 * c->diameter_px;
}

static bool within_fence(const struct omo_tracker *tracker, const struct omo_fence *fence,
                         int role, const struct omo_candidate *c)
{
    if (role == OMO_SHOULDER)
        return at(c, fence->shoulder_x, fence->shoulder_y);
    if (omo_of_an_arm(role))
        return tracker->figure_frame.forward_x * (c->x_px - fence->middle_x) > 0;
    return !fence->trunk_given ||
           at(c, fence->trunk_x[role == OMO_CHEST], fence->trunk_y[role == OMO_CHEST]);
}

int omo_acquire_shoulders(struct omo_tracker *tracker, int candidates[OMO_CHOICES_MAX])
{
    struct search search = {.tracker = tracker};
    list_choices(&search);
    const struct choices *found = &search.choices[OMO_SHOULDER];
    memcpy(candidates, found->candidate, sizeof found->candidate);
    return found->count;
}

bool omo_acquire_arm(struct omo_tracker *tracker, const struct omo_fence *fence,
                     struct omo_proposal *proposal)
{
    struct search search = {.tracker = tracker, .needed = needed_roles(tracker)};
    list_choices(&search);
    search.most_nearness = most_nearness(&search);
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        struct choices *choices = &search.choices[r];
        int kept = 0;
        for (int i = 0; i < choices->count; i++)
            if (within_fence(tracker, fence, r,
                             &tracker->candidates.item[choices->candidate[i]]))
                choices->candidate[kept++] = choices->candidate[i];
        choices->count = kept;
    }
    look_for(&search, NULL);
    tracker->frames_to_search += search.nodes / NODES_PER_FRAME;
    if (!isfinite(search.best.score) || search.nodes > NODES_MAX)
        return false;
    drop_doubtful(&search);
    *proposal = search.best;
    return proposal->count >= 2 && proposal->candidate[OMO_SHOULDER] >= 0;
}

/* ---- a body ---- */

bool omo_acquire(struct omo_tracker *tracker, struct omo_proposal *proposal)
{
    struct search search = {.tracker = tracker, .needed = needed_roles(tracker)};
    list_choices(&search);
    search.most_nearness = most_nearness(&search);
    look_for(&search, NULL);
    tracker->frames_to_search = search.nodes / NODES_PER_FRAME;
    /* A search that was cut short may have missed a rival. */
    if (!isfinite(search.best.score) || search.nodes > NODES_MAX)
        return false;
    struct omo_proposal best = search.best;
    drop_doubtful(&search);
    *proposal = search.best;
    if (proposal->count < 2)
        return false;
    look_for(&search, &best);
    return !isfinite(search.best.score) || lead(&best, &search.best) >= MARGIN;
}
