#include "app/set_up.h"

#include <math.h>
#include <string.h>

#include "app/lens_plan.h"
#include "omogon/filter.h"
#include "omogon/text.h"

/* A person does not stand on the same spot twice: finer steps would make a new set-up of
   every movement. Our choice. */
#define DISTANCE_STEP_M 0.5

static double to_step(double value, double step)
{
    return round(value / step) * step;
}

/** Of a pinhole: size over distance is picture size over focal length. */
static double distance_m(const struct omo_set_up_seen *seen, const struct omo_lens *lens,
                         double size_mm)
{
    g_autofree double *diameter_px = g_new(double, seen->count + 1);
    size_t count = 0;
    for (size_t i = 0; i < seen->count; i++) {
        const struct omo_marker *m = &seen->rows[i].markers.role[OMO_SHOULDER];
        if (m->seen == OMO_SEEN && m->diameter_px > 0)
            diameter_px[count++] = m->diameter_px;
    }
    if (!lens || !(size_mm > 0) || count == 0)
        return NAN;
    return to_step(size_mm / 1000 * lens->value[OMO_LENS_FX] /
                       omo_median(diameter_px, count),
                   DISTANCE_STEP_M);
}

static void mark_lens(const struct omo_lens *lens, char mark[33])
{
    struct omo_id *id = omo_id_create();
    omo_id_add(id, lens->value, sizeof lens->value);
    const double level[] = {lens->roll_deg, lens->pitch_deg};
    for (size_t i = 0; i < G_N_ELEMENTS(level); i++)
        if (!isnan(level[i])) /* a NAN has many forms */
            omo_id_add(id, &level[i], sizeof level[i]);
    omo_id_finish(id, mark);
}

static void list_markers(const struct omo_marker_set *set, char *text, size_t size)
{
    text[0] = '\0';
    for (int i = 0; i < set->count; i++) {
        const struct omo_set_entry *e = &set->entry[i];
        char mm[32] = "";
        if (!isnan(e->size_mm))
            omo_number_text(e->size_mm, 0, mm, sizeof mm);
        omo_text_add(text, size, "%s%s %s%s%s %d/%d", i ? "; " : "", e->name,
                     e->shape == OMO_BAND ? "band" : "disc", mm[0] ? " " : "", mm,
                     (int)lround(e->cb), (int)lround(e->cr));
    }
}

static void fill_from_lens(const struct omo_plan *plan,
                           const struct omo_set_up_seen *seen, struct omo_set_up_row *row)
{
    struct omo_lens room;
    const struct omo_lens *lens = NULL;
    if (!omo_plan_fit_lens(plan, seen->width, seen->height, &room, &lens) || !lens)
        return;
    omo_text_copy(row->lens, sizeof row->lens, plan->lens_name);
    mark_lens(&plan->lens, row->lens_mark);
    row->roll_deg = lens->roll_deg;
    row->pitch_deg = lens->pitch_deg;
    row->distance_m = distance_m(seen, lens, plan->measure.marker_size_mm);
}

void omo_set_up_fill(const struct omo_plan *plan, const struct omo_set_up_seen *seen,
                     struct omo_set_up_row *set_up)
{
    static const char *const places[] = {[OMO_PLACE_NOT_TOLD] = "",
                                         [OMO_PLACE_OVER_HEAD] = " over-head",
                                         [OMO_PLACE_ON_EDGE] = " on-edge"};
    omo_table_row_init(OMO_TABLE_SET_UPS, set_up);
    omo_text_copy(set_up->camera, sizeof set_up->camera, seen->camera);
    omo_text_copy(set_up->exposure, sizeof set_up->exposure, seen->exposure);
    set_up->picture_width_px = seen->width;
    set_up->picture_height_px = seen->height;
    set_up->frames_per_second = round(seen->frames_per_second);
    fill_from_lens(plan, seen, set_up);
    set_up->marker_size_mm = plan->measure.marker_size_mm;
    omo_text_copy(set_up->colours, sizeof set_up->colours, plan->tracker.set.name);
    list_markers(&plan->tracker.set, set_up->markers, sizeof set_up->markers);
    set_up->cutoff_hz = plan->measure.cutoff_hz;
    omo_text_copy(set_up->models_mark, sizeof set_up->models_mark, plan->models);
    omo_text_add(set_up->protocol, sizeof set_up->protocol, "%s%s", plan->row.placement,
                 places[plan->measure.shoulder_place]);
}

void omo_set_up_save(struct omo_record *record, struct omo_set_up_row *set_up,
                     struct omo_session_row *row)
{
    row->set_up[0] = '\0';
    if (omo_record_set_up(record, set_up) == OMO_OK)
        omo_text_copy(row->set_up, sizeof row->set_up, set_up->id);
}
