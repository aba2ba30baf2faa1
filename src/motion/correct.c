#include <math.h>

#include "motion/take.h"

/* A camera nobody has calibrated: fields of view of 60 to 78 degrees across are common in
 * laptops (from memory), 69 is taken. It only says how much nearer an arm that is turned
 * to the camera appears. */
#define FIELD_OF_VIEW_DEG 69.0

bool omo_correctable(const struct omo_take *take)
{
    return take->settings->movement->geometry == OMO_GEOMETRY_ELEVATION &&
           !take->settings->no_correction;
}

/** Where the camera looks at, and its focal length. */
struct eye {
    struct omo_point centre;
    double focal_px;
};

static struct eye eye_of(const struct omo_measure_settings *s)
{
    if (s->lens != NULL)
        return (struct eye){{s->lens->value[OMO_LENS_CX], s->lens->value[OMO_LENS_CY]},
                            s->lens->value[OMO_LENS_FX]};
    /* Without a size nobody knows how near anything is: no perspective. */
    if (s->picture_width <= 0 || s->picture_height <= 0)
        return (struct eye){{0, 0}, INFINITY};
    return (struct eye){{0.5 * (s->picture_width - 1), 0.5 * (s->picture_height - 1)},
                        0.5 * s->picture_width /
                            tan(0.5 * FIELD_OF_VIEW_DEG * M_PI / 180.0)};
}

/** A place of the picture in the trunk's frame, from the picture's centre. */
static struct omo_spot spot_of(const struct omo_take *take, struct omo_point down,
                               struct omo_point place)
{
    struct omo_point from_centre = omo_point_sub(place, eye_of(take->settings).centre);
    return (struct omo_spot){
        take->axes.sign * (from_centre.y * down.x - from_centre.x * down.y),
        from_centre.x * down.x + from_centre.y * down.y,
    };
}

/** Frame k's markers in its trunk's frame; false when shoulder or elbow is hidden. */
static bool view_of(const struct omo_take *take, size_t k, struct omo_pivot_view *view)
{
    const struct omo_markers *m = &take->frames[k].markers;
    struct omo_point down = omo_trunk_at(take, k).axis;
    if (!omo_has_length(down) || !isfinite(take->rows[k].angle_image_deg))
        return false;
    *view = (struct omo_pivot_view){
        .shoulder = spot_of(take, down, omo_place(m, OMO_SHOULDER)),
        .elbow = spot_of(take, down, omo_place(m, OMO_ELBOW)),
        .wrist_seen = omo_seen(m, OMO_WRIST),
        .lean_deg = isfinite(take->lean_deg[k]) ? take->lean_deg[k] : 0.0,
    };
    if (view->wrist_seen)
        view->wrist = spot_of(take, down, omo_place(m, OMO_WRIST));
    return true;
}

void omo_find_pivot(struct omo_take *take, int steps)
{
    struct omo_pivot_view view;
    omo_pivot_clear(&take->pivot);
    for (size_t k = 0; k < take->count; k++) {
        if (!take->ignored[k] && view_of(take, k, &view))
            omo_pivot_take(&take->pivot, &view, take->rows[k].angle_image_deg);
    }
    omo_pivot_fit(&take->pivot, take->settings, eye_of(take->settings).focal_px, steps,
                  take->pivot_room);
}

double omo_corrected_deg(const struct omo_take *take, size_t k)
{
    struct omo_pivot_view view;
    double image_deg = take->rows[k].angle_image_deg;
    if (!take->pivot.known || !view_of(take, k, &view))
        return image_deg;
    return omo_pivot_angle_deg(&take->pivot, &view, image_deg);
}
