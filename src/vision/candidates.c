#include "candidates.h"
#include "length.h"

#include <math.h>

void omo_view_of_frame_init(struct omo_view_of_frame *view, const struct omo_frame *frame,
                            const struct omo_colour_map *map)
{
    const struct omo_planes *planes = &frame->planes;
    *view = (struct omo_view_of_frame){.planes = planes, .map = map};
    view->turned = frame->turned;
    view->turned.coded_width = planes->width;
    view->turned.coded_height = planes->height;
    bool odd = (frame->turned.quarter_turns & 1) != 0;
    int width = odd ? planes->height : planes->width;
    int height = odd ? planes->width : planes->height;
    view->back =
        (struct omo_turned){.quarter_turns = (4 - frame->turned.quarter_turns) & 3,
                            .coded_width = width,
                            .coded_height = height};
    view->width = width;
    view->height = height;
}

/* The patch's box and area say enough to pass over most of a room. */
static bool passes(const struct omo_blob *blob, const struct omo_planes *planes,
                   const struct omo_sieve *sieve, double *diameter_px, double *reach_px)
{
    double across = (blob->right - blob->left + 1) * planes->scale_x;
    double down = (blob->bottom - blob->top + 1) * planes->scale_y;
    double area = blob->area * planes->scale_x * planes->scale_y;
    *diameter_px = sqrt(4 * area / M_PI);
    *reach_px = 0.5 * fmax(across, down);
    double aspect = across > down ? across / down : down / across;
    return *diameter_px >= sieve->smallest_px && *diameter_px <= sieve->largest_px &&
           aspect <= sieve->largest_aspect && area >= sieve->least_fill * across * down;
}

/* The same patch from an earlier table. */
static bool is_there(const struct omo_candidates *candidates, int count,
                     const struct omo_blob *blob, const struct omo_planes *planes,
                     double diameter)
{
    double x = blob->x * planes->scale_x + planes->offset_x;
    double y = blob->y * planes->scale_y + planes->offset_y;
    for (int i = 0; i < count; i++) {
        const struct omo_candidate *c = &candidates->item[i];
        if (c->class_index == blob->class_index &&
            omo_length(c->coded_x - x, c->coded_y - y) < 0.3 * diameter &&
            fabs(log(c->diameter_px / diameter)) < 0.25)
            return true;
    }
    return false;
}

static int smallest(const struct omo_candidates *candidates)
{
    int least = 0;
    for (int i = 1; i < candidates->count; i++)
        if (candidates->item[i].diameter_px < candidates->item[least].diameter_px)
            least = i;
    return least;
}

void omo_candidates_sift(struct omo_candidates *candidates, const struct omo_blobs *blobs,
                         const struct omo_view_of_frame *view,
                         const struct omo_sieve *sieve)
{
    const struct omo_planes *planes = view->planes;
    int before = candidates->count;
    for (int i = 0; i < blobs->count; i++) {
        const struct omo_blob *blob = &blobs->blobs[i];
        double diameter, reach;
        if (!passes(blob, planes, sieve, &diameter, &reach) ||
            is_there(candidates, before, blob, planes, diameter))
            continue;
        int place = candidates->count;
        if (place == OMO_CANDIDATES_MAX) {
            place = smallest(candidates);
            if (candidates->item[place].diameter_px >= diameter)
                continue;
        } else {
            candidates->count++;
        }
        struct omo_candidate *c = &candidates->item[place];
        *c = (struct omo_candidate){
            .class_index = blob->class_index,
            .coded_x = blob->x * planes->scale_x + planes->offset_x,
            .coded_y = blob->y * planes->scale_y + planes->offset_y,
            .guess = {.radius_px = 0.5 * diameter, .a = 1, .c = 1},
            .reach_px = reach,
            .diameter_px = diameter,
            .owner = -1,
            .bystander = -1,
        };
        c->x_px = c->coded_x;
        c->y_px = c->coded_y;
        omo_turn_point(&view->turned, &c->x_px, &c->y_px);
    }
}

bool omo_candidate_measure(struct omo_candidate *candidate,
                           const struct omo_view_of_frame *view, enum omo_shape shape)
{
    if (candidate->tried)
        return candidate->good;
    candidate->tried = true;
    struct omo_spot_start start = {.shape = shape,
                                   .x_px = candidate->coded_x,
                                   .y_px = candidate->coded_y,
                                   .outline = candidate->guess,
                                   .reach_px = candidate->reach_px,
                                   .radius_sigma = NAN};
    candidate->good = omo_spot_measure(view->planes, view->map, &start, &candidate->spot);
    if (!candidate->good)
        return false;
    candidate->x_px = candidate->spot.x_px;
    candidate->y_px = candidate->spot.y_px;
    omo_turn_point(&view->turned, &candidate->x_px, &candidate->y_px);
    candidate->diameter_px = candidate->spot.width_px;
    candidate->cost = omo_spot_cost(&candidate->spot, shape, 0);
    return true;
}

/* Squared excess of a value over what is usual, in units of its tolerance. */
static double excess2(double value, double usual, double tolerance)
{
    double e = (value - usual) / tolerance;
    return e > 0 ? e * e : 0;
}

double omo_spot_cost(const struct omo_spot *spot, enum omo_shape shape, double smear)
{
    double ratio = omo_outline_axis_ratio(&spot->outline);
    double cost =
        excess2(0.45, spot->contrast, 0.12) + excess2(spot->outside, 0.05, 0.12);
    if (shape == OMO_BAND)
        return cost + excess2(0.35, ratio, 0.1) + excess2(0.8, spot->cover, 0.12);
    cost += excess2(spot->roughness, 0.09 + 0.13 * fmin(smear, 1), 0.05);
    cost += excess2(spot->gross, 0.06 + 0.08 * fmin(smear, 1), 0.08);
    cost += excess2(0.85 / (1 + 1.7 * smear), ratio, 0.15);
    cost += excess2(0.92, spot->rim, 0.12);
    cost += excess2(0.92, spot->cover, 0.15); /* a highlight may whiten its middle */
    return cost;
}

bool omo_spot_whole(const struct omo_spot *spot, enum omo_shape shape)
{
    if (shape == OMO_BAND)
        return spot->cover > 0.8;
    /* What is left of a disc behind an edge is never round; a few samples seldom are. */
    double least = 0.76 - 0.4 / fmax(spot->seen.radius_px, 1);
    return omo_outline_axis_ratio(&spot->seen) >= least && spot->rim >= 0.9 &&
           spot->cover >= 0.85;
}
