/* Markers of unknown colours: patches that look like stickers and sit where a body's do.
 */
#include "learn.h"
#include "length.h"

#include <math.h>
#include <string.h>

/* Twelve sectors all round, in two looks half a sector apart, so that no colour lies on
 * a border in both. */
#define SECTORS        12
#define SECTOR_HALF    15.0
#define LEAST_CHROMA   22.0
#define MOST_SPOT_COST 5.0
#define SAME_CHROMA    16.0
#define SMALLEST_AREA  4

/* A thing has to be there in this share of the frames. */
#define LEAST_PRESENCE 0.4
#define ROLE_REWARD    20.0
#define COST_MAX       22.0
/* A built-in colour at its place: worth up to this, gone at twice the tolerance. */
#define COLOUR_REWARD        6.0
#define COLOUR_TOLERANCE_DEG 14.0

static const struct omo_sieve sieve = {.smallest_px = 6,
                                       .largest_px = 110,
                                       .largest_aspect = 1.8,
                                       .least_fill = 0.5};

static void any_colour(const struct omo_cell_table *cells, double offset_deg,
                       struct omo_lut *lut)
{
    static const uint8_t none[OMO_LUT_CELLS];
    struct omo_sector sectors[SECTORS];
    for (int k = 0; k < SECTORS; k++)
        sectors[k] = (struct omo_sector){.centre_deg = offset_deg + k * 2 * SECTOR_HALF,
                                         .below_deg = SECTOR_HALF,
                                         .above_deg = SECTOR_HALF,
                                         .min_magnitude = LEAST_CHROMA,
                                         .max_magnitude = 200};
    omo_lut_build(cells, sectors, SECTORS, none, lut);
}

static struct omo_thing *known_thing(struct omo_watch *watch,
                                     const struct omo_candidate *c)
{
    struct omo_thing *best = NULL;
    double best_d = 1;
    for (int i = 0; i < watch->count; i++) {
        struct omo_thing *t = &watch->thing[i];
        double chroma =
            omo_length(t->chroma[0] - c->spot.core[0], t->chroma[1] - c->spot.core[1]) /
            SAME_CHROMA;
        double d = omo_length(t->x_px - c->x_px, t->y_px - c->y_px) /
                   (t->diameter_px * (1 + watch->frames - t->last_frame));
        if (chroma < 1 && d < best_d) {
            best_d = d;
            best = t;
        }
    }
    return best;
}

static void meet(struct omo_watch *watch, const struct omo_candidate *c)
{
    struct omo_thing *t = known_thing(watch, c);
    double angle = omo_colour_angle_deg(c->spot.core);
    if (!t) {
        if (watch->count == OMO_THINGS_MAX)
            return;
        t = &watch->thing[watch->count++];
        *t = (struct omo_thing){.chroma = {c->spot.core[0], c->spot.core[1]},
                                .last_frame = -1};
    }
    if (t->last_frame == watch->frames)
        return; /* found in both looks */
    double turn = omo_colour_turn_deg(omo_colour_angle_deg(t->chroma), angle);
    double rate = 1.0 / (t->frames + 1);
    t->spread2 += rate * (turn * turn - t->spread2);
    for (int i = 0; i < 2; i++)
        t->chroma[i] += rate * (c->spot.core[i] - t->chroma[i]);
    t->x_px = c->x_px;
    t->y_px = c->y_px;
    t->diameter_px = c->diameter_px;
    t->frames++;
    t->last_frame = watch->frames;
}

static void take_snapshot(struct omo_watch *watch)
{
    int count = 0;
    for (int i = 0; i < watch->count; i++)
        count += watch->thing[i].last_frame == watch->frames;
    if (count < watch->snapshot_count)
        return;
    watch->snapshot_count = 0;
    for (int i = 0; i < watch->count; i++) {
        if (watch->thing[i].last_frame != watch->frames)
            continue;
        watch->snapshot_of[watch->snapshot_count] = i;
        watch->snapshot[watch->snapshot_count++] = watch->thing[i];
    }
}

enum omo_status omo_watch_add(struct omo_watch *watch,
                              const struct omo_view_of_frame *view,
                              const struct omo_cell_table *cells)
{
    enum omo_status status = omo_blobs_reserve(&watch->blobs, view->planes->chroma_width,
                                               view->planes->chroma_height);
    if (status != OMO_OK)
        return status;
    for (int look = 0; look < 2; look++) {
        struct omo_lut lut;
        any_colour(cells, look * SECTOR_HALF, &lut);
        omo_blobs_find(&watch->blobs, view->planes, &lut, SMALLEST_AREA);
        watch->candidates.count = 0;
        omo_candidates_sift(&watch->candidates, &watch->blobs, view, &sieve);
        for (int i = 0; i < watch->candidates.count; i++) {
            struct omo_candidate *c = &watch->candidates.item[i];
            if (omo_candidate_measure(c, view, OMO_DISC) && c->cost <= MOST_SPOT_COST &&
                omo_spot_whole(&c->spot, OMO_DISC))
                meet(watch, c);
        }
    }
    take_snapshot(watch);
    watch->frames++;
    return OMO_OK;
}

void omo_watch_finish(struct omo_watch *watch)
{
    omo_blobs_finish(&watch->blobs);
}

/* ---- names ---- */

struct naming {
    const struct omo_watch *watch;
    const struct omo_figure_frame *frame;
    const struct omo_marker_set *built_in;
    int count, of[OMO_THINGS_NAMED]; /* indices into the snapshot */
    struct omo_figure figure;
    int chosen[OMO_ROLE_COUNT];
    double colours;
    double best;
    int best_chosen[OMO_ROLE_COUNT];
};

/* What a colour earns at a place where a built-in set has the same. */
static double colour_worth(const struct naming *naming, int role,
                           const struct omo_thing *thing)
{
    for (int i = 0; i < naming->built_in->count; i++) {
        const struct omo_set_entry *e = &naming->built_in->entry[i];
        enum omo_role named = omo_role_from_name(e->name);
        if (named != (enum omo_role)role && !(role == OMO_CHEST && named == OMO_HIP))
            continue;
        double chroma[2] = {e->cb - 128, e->cr - 128};
        double turn = fabs(omo_colour_turn_deg(omo_colour_angle_deg(chroma),
                                               omo_colour_angle_deg(thing->chroma)));
        return COLOUR_REWARD * fmax(0, 1 - turn / (2 * COLOUR_TOLERANCE_DEG));
    }
    return 0;
}

static void propose(struct naming *naming)
{
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        count += naming->chosen[r] >= 0;
    if (naming->chosen[OMO_SHOULDER] < 0 || naming->chosen[OMO_ELBOW] < 0 || count < 3)
        return;
    double cost = omo_figure_cost(naming->frame, &naming->figure, NULL);
    double score = ROLE_REWARD * count + naming->colours - cost;
    if (cost <= COST_MAX && score > naming->best) {
        naming->best = score;
        memcpy(naming->best_chosen, naming->chosen, sizeof naming->chosen);
    }
}

static void descend(struct naming *naming, int role)
{
    if (role == OMO_ACROMION) { /* its colour says no more than the shoulder's */
        propose(naming);
        return;
    }
    for (int i = 0; i < naming->count; i++) {
        bool used = false;
        for (int r = 0; r < role; r++)
            used |= naming->chosen[r] == naming->of[i];
        if (used)
            continue;
        const struct omo_thing *t = &naming->watch->snapshot[naming->of[i]];
        double worth = colour_worth(naming, role, t);
        naming->chosen[role] = naming->of[i];
        naming->figure.there[role] = true;
        naming->figure.x_px[role] = t->x_px;
        naming->figure.y_px[role] = t->y_px;
        naming->figure.diameter_px[role] = t->diameter_px;
        naming->colours += worth;
        double cost = role > 0 && naming->chosen[OMO_SHOULDER] >= 0
                          ? omo_figure_cost(naming->frame, &naming->figure, NULL)
                          : 0;
        if (cost <= COST_MAX)
            descend(naming, role + 1);
        naming->colours -= worth;
        naming->chosen[role] = -1;
        naming->figure.there[role] = false;
    }
    if (role > OMO_ELBOW)
        descend(naming, role + 1);
}

/* The things that were there longest. */
static void list_things(struct naming *naming)
{
    const struct omo_watch *watch = naming->watch;
    for (int i = 0; i < watch->snapshot_count; i++) {
        const struct omo_thing *t = &watch->thing[watch->snapshot_of[i]];
        if (t->frames < LEAST_PRESENCE * watch->frames)
            continue;
        int place = naming->count;
        if (place == OMO_THINGS_NAMED) {
            const struct omo_thing *last =
                &watch->thing[watch->snapshot_of[naming->of[place - 1]]];
            if (last->frames >= t->frames)
                continue;
            place--;
        } else {
            naming->count++;
        }
        while (place > 0 &&
               watch->thing[watch->snapshot_of[naming->of[place - 1]]].frames <
                   t->frames) {
            naming->of[place] = naming->of[place - 1];
            place--;
        }
        naming->of[place] = i;
    }
}

bool omo_watch_name(const struct omo_watch *watch, int thing_of_role[OMO_ROLE_COUNT])
{
    static const char *const sets[] = {"default", "swapped"};
    static const struct {
        enum omo_view view;
        enum omo_side side;
        bool facing_left;
    } stands[] = {{OMO_VIEW_SIDE, OMO_RIGHT, false},
                  {OMO_VIEW_SIDE, OMO_LEFT, true},
                  {OMO_VIEW_FRONT, OMO_RIGHT, false},
                  {OMO_VIEW_FRONT, OMO_LEFT, false}};
    struct omo_layout layout;
    if (omo_layout_load(NULL, &layout) != OMO_OK)
        return false;
    struct naming naming = {.watch = watch, .best = -INFINITY};
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        naming.chosen[r] = naming.best_chosen[r] = -1;
    list_things(&naming);
    for (size_t k = 0; k < sizeof sets / sizeof *sets; k++) {
        struct omo_tracker_settings settings = {.body = true, .position = OMO_STANDING};
        if (omo_set_load(sets[k], &settings.set) != OMO_OK)
            return false;
        naming.built_in = &settings.set;
        for (size_t i = 0; i < sizeof stands / sizeof *stands; i++) {
            struct omo_figure_frame frame;
            settings.view = stands[i].view;
            settings.side = stands[i].side;
            settings.facing_left = stands[i].facing_left;
            omo_figure_frame_init(&frame, &settings, &layout);
            naming.frame = &frame;
            descend(&naming, 0);
        }
    }
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        thing_of_role[r] =
            naming.best_chosen[r] < 0 ? -1 : watch->snapshot_of[naming.best_chosen[r]];
    return isfinite(naming.best);
}
