#include "length.h"
#include "tracker.h"

#include <math.h>
#include <string.h>

/* Each marker that fits earns this much; what fits badly costs up to as much. */
#define ROLE_REWARD 20.0
/* Sizes of two bodies differ by their distance: the nearer one is likelier meant. */
#define NEARER_REWARD   8.0
#define LONE_CHEST_COST 14.0
#define LONE_HIP_COST   4.0
/* Among markers of one colour a name must beat every other by this much. */
#define NAME_MARGIN 4.0
/* A marker the movement needs may be hidden when the others are there. */
#define MISSING_COST 24.0
/* Worst arrangement and colours still believed. */
#define FIGURE_COST_MAX 26.0
#define COLOUR_COST_MAX 18.0
/* A proposal must earn this share of what its markers could. */
#define LEAST_SHARE      0.35
#define LEAST_SHARE_PAIR 0.70
#define CHOICES_MAX      10
#define NODES_MAX        6000

struct choices {
    int count;
    int candidate[CHOICES_MAX];
};

struct search {
    struct omo_tracker *tracker;
    struct choices choices[OMO_ROLE_COUNT];
    unsigned needed;
    int nodes;
    struct omo_figure figure;
    int chosen[OMO_ROLE_COUNT];
    double spot_cost;
    double best_earned; /**< the best score without its size's share */
    double margin;      /**< alternatives this near the best are worth knowing */
    double best_with[OMO_ROLE_COUNT][OMO_CANDIDATES_MAX];
    struct omo_proposal best;
};

static void add_choice(struct choices *choices, const struct omo_candidates *all,
                       int index)
{
    int place = choices->count < CHOICES_MAX ? choices->count : CHOICES_MAX - 1;
    double cost = all->item[index].cost;
    if (choices->count == CHOICES_MAX &&
        all->item[choices->candidate[CHOICES_MAX - 1]].cost <= cost)
        return;
    if (choices->count < CHOICES_MAX)
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

static void propose(struct search *search)
{
    struct omo_tracker *tracker = search->tracker;
    int count = chosen_count(search);
    int missing = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        missing += (search->needed >> r & 1) && search->chosen[r] < 0;
    if (count < 2)
        return;
    double stature;
    double figure = omo_figure_cost(&tracker->figure_frame, &search->figure, &stature);
    if (!(figure <= FIGURE_COST_MAX))
        return;
    double nearer = NEARER_REWARD * log(stature / tracker->view.height);
    double score = ROLE_REWARD * count - figure - search->spot_cost + nearer;
    /* One trunk marker in the colour of both is the hip's. */
    if (search->chosen[OMO_CHEST] >= 0 && search->chosen[OMO_HIP] < 0 &&
        omo_class_of_role(tracker, OMO_CHEST) == omo_class_of_role(tracker, OMO_HIP))
        score -= LONE_CHEST_COST;
    score -= MISSING_COST * missing;
    /* A wrist is hidden less often than a hip, when it could be either. */
    if (search->chosen[OMO_HIP] >= 0 && search->chosen[OMO_WRIST] < 0 &&
        omo_class_of_role(tracker, OMO_WRIST) == omo_class_of_role(tracker, OMO_HIP))
        score -= LONE_HIP_COST;
    if (score <= search->best.score - 2 * search->margin)
        return;
    double colour = colour_cost(search);
    score -= colour;
    double earned = score - nearer;
    double least = count > 2 ? LEAST_SHARE : LEAST_SHARE_PAIR;
    if (colour > COLOUR_COST_MAX ||
        earned < least * ROLE_REWARD * count - MISSING_COST * missing)
        return;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (search->chosen[r] >= 0)
            search->best_with[r][search->chosen[r]] =
                fmax(search->best_with[r][search->chosen[r]], earned);
    if (score <= search->best.score)
        return;
    memcpy(search->best.candidate, search->chosen, sizeof search->chosen);
    search->best.count = count;
    search->best.score = score;
    search->best_earned = earned;
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

static bool already_chosen(const struct search *search, int candidate)
{
    const struct omo_candidate *all = search->tracker->candidates.item;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        int other = search->chosen[r];
        /* Two looks may have found one thing twice. */
        if (other >= 0 && omo_length(all[other].x_px - all[candidate].x_px,
                                     all[other].y_px - all[candidate].y_px) <
                              0.5 * all[other].diameter_px)
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
    double cost = 0, stature = search->tracker->view.height;
    int count = chosen_count(search);
    if (count >= 2)
        cost = omo_figure_cost(&search->tracker->figure_frame, &search->figure, &stature);
    double most = ROLE_REWARD * (count + OMO_ROLE_COUNT - role) - cost -
                  search->spot_cost + NEARER_REWARD * 0.7;
    if (cost > FIGURE_COST_MAX || most <= search->best.score - 2 * search->margin ||
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

/* More than the trunk's two in one colour. */
static bool shared_colours(const struct omo_tracker *tracker)
{
    for (int r = 0; r < OMO_CHEST; r++)
        for (int q = 0; q < r; q++)
            if (omo_class_of_role(tracker, r) >= 0 &&
                omo_class_of_role(tracker, r) == omo_class_of_role(tracker, q))
                return true;
    return false;
}

/* A marker that could nearly as well be another one stays without a name. */
static void drop_doubtful(struct search *search)
{
    struct omo_proposal *best = &search->best;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        int candidate = best->candidate[r];
        for (int q = 0; q < OMO_ROLE_COUNT && candidate >= 0; q++) {
            if (q == r ||
                search->best_with[q][candidate] < search->best_earned - NAME_MARGIN)
                continue;
            best->candidate[r] = -1;
            best->count--;
            break;
        }
    }
}

bool omo_acquire(struct omo_tracker *tracker, struct omo_proposal *proposal)
{
    struct search search = {.tracker = tracker, .needed = needed_roles(tracker)};
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        search.chosen[r] = -1;
    search.best.score = -INFINITY;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        for (int i = 0; i < OMO_CANDIDATES_MAX; i++)
            search.best_with[r][i] = -INFINITY;
    search.margin = shared_colours(tracker) ? NAME_MARGIN : 0;
    list_choices(&search);
    descend(&search, 0);
    if (!isfinite(search.best.score))
        return false;
    if (search.margin > 0)
        drop_doubtful(&search);
    if (search.best.count < 2)
        return false;
    *proposal = search.best;
    return true;
}
