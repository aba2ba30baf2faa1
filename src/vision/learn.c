#include "learn.h"
#include "length.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

/* What belongs to the patch at a point: near its colour in direction and strength. */
#define PATCH_DEG     14.0
#define PATCH_LEAST   0.6
#define PATCH_MOST    1.7
#define LEAST_CHROMA  10.0
#define SMALLEST_AREA 3
#define NEAR_SAMPLES  4 /* a point this close to a patch means it */
/* A direction is never known better than this. */
#define SPREAD_LEAST_DEG 2.5
/* Colours nearer than this are one on purpose and not compared. */
#define SAME_DEG 7.0
/* Share of the room's samples that makes a colour of the room count. */
#define ROOM_SHARE 0.0015
/* By itself nothing is learnt that the room shows as often as this. */
#define CLEAR_LEAST 1.0

struct omo_learner {
    struct omo_learn_point points[OMO_SET_MAX];
    int point_count;
    struct omo_learnt learnt[OMO_SET_MAX];
    struct omo_blobs blobs;
    struct omo_watch watch;
    int64_t frames;
    struct omo_colour_map map;
    struct omo_cell_table cells;
    bool map_ready;
    /* chroma of all samples of the frames that were looked at, by cell of the table */
    uint32_t room[OMO_LUT_CELLS], own[OMO_LUT_CELLS];
    uint64_t room_samples;
};

enum omo_status omo_learner_create(const struct omo_learn_point *points, int point_count,
                                   struct omo_learner **out)
{
    if (!out || point_count < 0 || point_count > OMO_SET_MAX ||
        (point_count > 0 && !points))
        return OMO_ERR_ARG;
    struct omo_learner *learner = calloc(1, sizeof *learner);
    if (!learner)
        return OMO_ERR_MEMORY;
    if (point_count > 0)
        memcpy(learner->points, points, (size_t)point_count * sizeof *points);
    learner->point_count = point_count;
    *out = learner;
    return OMO_OK;
}

void omo_learner_destroy(struct omo_learner *learner)
{
    if (!learner)
        return;
    omo_blobs_finish(&learner->blobs);
    omo_watch_finish(&learner->watch);
    free(learner);
}

static int cell_of(const struct omo_planes *planes, int i, int j)
{
    size_t at = (size_t)j * (size_t)planes->chroma_stride + (size_t)i;
    return (planes->cb[at] >> OMO_LUT_SHIFT) * OMO_LUT_SIDE +
           (planes->cr[at] >> OMO_LUT_SHIFT);
}

static void add_room(struct omo_learner *learner, const struct omo_planes *planes)
{
    for (int j = 0; j < planes->chroma_height; j++)
        for (int i = 0; i < planes->chroma_width; i++)
            learner->room[cell_of(planes, i, j)]++;
    learner->room_samples +=
        (uint64_t)planes->chroma_width * (uint64_t)planes->chroma_height;
}

/* ---- points ---- */

static void mean_around(const struct omo_planes *planes, int i, int j, double out[2])
{
    double b = 0, r = 0;
    int count = 0;
    for (int y = j - 1; y <= j + 1; y++) {
        for (int x = i - 1; x <= i + 1; x++) {
            if (x < 0 || y < 0 || x >= planes->chroma_width || y >= planes->chroma_height)
                continue;
            size_t at = (size_t)y * (size_t)planes->chroma_stride + (size_t)x;
            b += planes->cb[at];
            r += planes->cr[at];
            count++;
        }
    }
    out[0] = b / count;
    out[1] = r / count;
}

/* First run of the patch that lies at the sample or nearest to it; -1 for none. */
static int patch_at(const struct omo_blobs *blobs, int i, int j)
{
    int best = -1, best_d = NEAR_SAMPLES * NEAR_SAMPLES + 1;
    for (int k = 0; k < blobs->run_count; k++) {
        const struct omo_run *run = &blobs->runs[k];
        int dx = i < run->begin ? run->begin - i : i > run->end ? i - run->end : 0;
        int dy = run->row - j;
        int d = dx * dx + dy * dy;
        if (d < best_d) {
            best_d = d;
            best = blobs->root_of_run[k];
        }
    }
    return best;
}

/* Mean colour and its spread over a patch; its samples are also counted as the marker's
 * own, with a border, so that they do not pass for the room. */
static void colour_of_patch(struct omo_learner *learner, const struct omo_planes *planes,
                            int first, bool count_own, struct omo_learnt *learnt)
{
    double b = 0, r = 0, luma = 0;
    int n = 0;
    for (int k = 0; k < learner->blobs.run_count; k++) {
        const struct omo_run *run = &learner->blobs.runs[k];
        if (learner->blobs.root_of_run[k] != first)
            continue;
        for (int x = run->begin; x <= run->end; x++) {
            size_t at = (size_t)run->row * (size_t)planes->chroma_stride + (size_t)x;
            b += planes->cb[at];
            r += planes->cr[at];
            if (count_own)
                learner->own[cell_of(planes, x, run->row)]++;
            if (planes->y) {
                int px = (int)(x * planes->scale_x + planes->offset_x);
                int py = (int)(run->row * planes->scale_y + planes->offset_y);
                luma += planes->y[(size_t)py * (size_t)planes->y_stride + (size_t)px];
            }
            n++;
        }
    }
    omo_colour_map_apply(&learner->map, b / n, r / n, learnt->chroma);
    learnt->luma = planes->y ? luma / n : (double)NAN;
    double mean_deg = omo_colour_angle_deg(learnt->chroma), sum = 0;
    for (int k = 0; k < learner->blobs.run_count; k++) {
        const struct omo_run *run = &learner->blobs.runs[k];
        if (learner->blobs.root_of_run[k] != first)
            continue;
        for (int x = run->begin; x <= run->end; x++) {
            double turn = omo_colour_turn_deg(
                mean_deg, (double)learner->cells.angle_deg[cell_of(planes, x, run->row)]);
            sum += turn * turn;
        }
    }
    learnt->spread_deg = sqrt(sum / n);
    learnt->found = true;
}

static enum omo_status learn_point(struct omo_learner *learner, int index,
                                   const struct omo_view_of_frame *view)
{
    static const uint8_t none[OMO_LUT_CELLS];
    const struct omo_planes *planes = view->planes;
    double x = learner->points[index].x_px, y = learner->points[index].y_px;
    omo_turn_point(&view->back, &x, &y);
    int i = (int)floor((x - planes->offset_x) / planes->scale_x + 0.5);
    int j = (int)floor((y - planes->offset_y) / planes->scale_y + 0.5);
    i = i < 0 ? 0 : i >= planes->chroma_width ? planes->chroma_width - 1 : i;
    j = j < 0 ? 0 : j >= planes->chroma_height ? planes->chroma_height - 1 : j;
    enum omo_status status =
        omo_blobs_reserve(&learner->blobs, planes->chroma_width, planes->chroma_height);
    if (status != OMO_OK)
        return status;
    double raw[2];
    struct omo_learnt learnt = {.found = false};
    mean_around(planes, i, j, raw);
    omo_colour_map_apply(&learner->map, raw[0], raw[1], learnt.chroma);
    for (int look = 0; look < 2; look++) {
        double magnitude = omo_colour_magnitude(learnt.chroma);
        if (magnitude < LEAST_CHROMA) {
            omo_error("The point of %s lies on something nearly grey; a marker needs a "
                      "strong colour.",
                      learner->points[index].name);
            return OMO_ERR_EMPTY;
        }
        struct omo_lut lut;
        struct omo_sector sector = {.centre_deg = omo_colour_angle_deg(learnt.chroma),
                                    .below_deg = PATCH_DEG,
                                    .above_deg = PATCH_DEG,
                                    .min_magnitude = PATCH_LEAST * magnitude,
                                    .max_magnitude = PATCH_MOST * magnitude};
        omo_lut_build(&learner->cells, &sector, 1, none, &lut);
        omo_blobs_find(&learner->blobs, planes, &lut, SMALLEST_AREA);
        int first = patch_at(&learner->blobs, i, j);
        if (first < 0)
            return OMO_OK; /* said at the end */
        colour_of_patch(learner, planes, first, look == 1, &learnt);
    }
    learner->learnt[index] = learnt;
    return OMO_OK;
}

enum omo_status omo_learner_add(struct omo_learner *learner,
                                const struct omo_frame *frame)
{
    if (!learner || !frame || !frame->planes.cb || !frame->planes.cr)
        return OMO_ERR_ARG;
    const struct omo_planes *planes = &frame->planes;
    bool wanted = learner->point_count == 0;
    for (int i = 0; i < learner->point_count; i++)
        wanted |= learner->points[i].frame == frame->index;
    learner->frames++;
    if (!wanted)
        return OMO_OK;
    if (!learner->map_ready || learner->map.space != planes->colour ||
        learner->map.full_range != planes->full_range) {
        omo_colour_map_init(&learner->map, planes->colour, planes->full_range);
        omo_cell_table_fill(&learner->map, &learner->cells);
        learner->map_ready = true;
    }
    struct omo_view_of_frame view;
    omo_view_of_frame_init(&view, frame, &learner->map);
    add_room(learner, planes);
    if (learner->point_count == 0)
        return omo_watch_add(&learner->watch, &view, &learner->cells);
    enum omo_status status = OMO_OK;
    for (int i = 0; i < learner->point_count && status == OMO_OK; i++)
        if (learner->points[i].frame == frame->index)
            status = learn_point(learner, i, &view);
    return status;
}

/* ---- the set and how separable it is ---- */

static double spread_of(const struct omo_learnt *learnt)
{
    return fmax(learnt->spread_deg, SPREAD_LEAST_DEG);
}

/* Least distance at which the room has enough of a colour to be taken for the marker. */
static double distance_to_room(const struct omo_learner *learner,
                               const struct omo_learnt *learnt)
{
    enum { STEPS = 80 }; /* of half a standard deviation */
    uint64_t at[STEPS] = {0};
    double angle = omo_colour_angle_deg(learnt->chroma);
    double magnitude = omo_colour_magnitude(learnt->chroma);
    for (int cell = 0; cell < OMO_LUT_CELLS; cell++) {
        double m = (double)learner->cells.magnitude[cell];
        if (learner->room[cell] <= learner->own[cell] || m < 0.55 * magnitude ||
            m > 1.6 * magnitude)
            continue;
        double turn =
            fabs(omo_colour_turn_deg(angle, (double)learner->cells.angle_deg[cell]));
        int step = (int)(2 * turn / spread_of(learnt));
        if (step < STEPS)
            at[step] += learner->room[cell] - learner->own[cell];
    }
    uint64_t sum = 0, enough = (uint64_t)(ROOM_SHARE * (double)learner->room_samples);
    for (int step = 0; step < STEPS; step++) {
        sum += at[step];
        if (sum > enough)
            return 0.5 * step;
    }
    return 0.5 * STEPS;
}

static void weigh(const struct omo_learner *learner, const struct omo_marker_set *set,
                  const struct omo_learnt *learnt, struct omo_learn_report *report)
{
    report->separability = INFINITY;
    report->weakest[0] = '\0';
    for (int i = 0; i < set->count; i++) {
        double room = distance_to_room(learner, &learnt[i]);
        if (room < report->separability) {
            report->separability = room;
            report->weakest[0] = '\0';
            omo_text_add(report->weakest, sizeof report->weakest, "%s and the room",
                         set->entry[i].name);
        }
        for (int k = 0; k < i; k++) {
            double turn =
                fabs(omo_colour_turn_deg(omo_colour_angle_deg(learnt[i].chroma),
                                         omo_colour_angle_deg(learnt[k].chroma)));
            double d = turn / omo_length(spread_of(&learnt[i]), spread_of(&learnt[k]));
            if (turn < SAME_DEG || d >= report->separability)
                continue;
            report->separability = d;
            report->weakest[0] = '\0';
            omo_text_add(report->weakest, sizeof report->weakest, "%s and %s",
                         set->entry[k].name, set->entry[i].name);
        }
    }
}

static void add_entry(struct omo_marker_set *set, const char *name,
                      const struct omo_learnt *learnt)
{
    struct omo_set_entry *entry = &set->entry[set->count++];
    *entry = (struct omo_set_entry){.cb = 128 + learnt->chroma[0],
                                    .cr = 128 + learnt->chroma[1],
                                    .luma = learnt->luma,
                                    .spread_deg = NAN,
                                    .shape = OMO_DISC,
                                    .size_mm = NAN};
    omo_text_copy(entry->name, sizeof entry->name, name);
}

static enum omo_status finish_points(struct omo_learner *learner,
                                     struct omo_marker_set *set,
                                     struct omo_learnt *learnt)
{
    for (int i = 0; i < learner->point_count; i++) {
        const struct omo_learn_point *point = &learner->points[i];
        if (!learner->learnt[i].found) {
            omo_error("No coloured patch was found for %s at %.0f,%.0f in frame %lld.",
                      point->name, point->x_px, point->y_px, (long long)point->frame);
            return OMO_ERR_EMPTY;
        }
        learnt[set->count] = learner->learnt[i];
        add_entry(set, point->name, &learner->learnt[i]);
    }
    return OMO_OK;
}

static enum omo_status finish_watch(struct omo_learner *learner,
                                    struct omo_marker_set *set, struct omo_learnt *learnt)
{
    int thing_of_role[OMO_ROLE_COUNT];
    if (learner->watch.frames == 0 || !omo_watch_name(&learner->watch, thing_of_role)) {
        omo_error("No stickers were found that could sit on a body; show the colours by "
                  "points (--point NAME=X,Y).");
        return OMO_ERR_EMPTY;
    }
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (thing_of_role[r] < 0)
            continue;
        const struct omo_thing *t = &learner->watch.thing[thing_of_role[r]];
        learnt[set->count] = (struct omo_learnt){.found = true,
                                                 .chroma = {t->chroma[0], t->chroma[1]},
                                                 .luma = NAN,
                                                 .spread_deg = sqrt(t->spread2)};
        add_entry(set, omo_role_name((enum omo_role)r), &learnt[set->count]);
    }
    return OMO_OK;
}

enum omo_status omo_learner_finish(struct omo_learner *learner,
                                   struct omo_marker_set *set,
                                   struct omo_learn_report *report)
{
    if (!learner || !set || !report)
        return OMO_ERR_ARG;
    struct omo_learnt learnt[OMO_SET_MAX];
    struct omo_marker_set made = {.count = 0};
    struct omo_learn_report weighed;
    omo_text_copy(made.name, sizeof made.name, "learnt");
    enum omo_status status = learner->point_count > 0
                                 ? finish_points(learner, &made, learnt)
                                 : finish_watch(learner, &made, learnt);
    if (status != OMO_OK)
        return status;
    weigh(learner, &made, learnt, &weighed);
    if (learner->point_count == 0 && weighed.separability < CLEAR_LEAST) {
        omo_error("What looks like stickers has the colours of the room (%s); show the "
                  "stickers by points (--point NAME=X,Y).",
                  weighed.weakest);
        return OMO_ERR_EMPTY;
    }
    *set = made;
    *report = weighed;
    return OMO_OK;
}
