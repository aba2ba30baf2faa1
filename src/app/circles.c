#include "app/circles.h"

#include <math.h>

#include "omogon/text.h"

static double wrist_mm(const struct omo_measure_settings *measure,
                       const struct omo_marker_set *set)
{
    for (int i = 0; i < set->count; i++)
        if (omo_role_from_name(set->entry[i].name) == OMO_WRIST &&
            !isnan(set->entry[i].size_mm))
            return set->entry[i].size_mm;
    return measure->marker_size_mm;
}

bool omo_circles_count(const struct omo_measure_settings *measure,
                       const struct omo_marker_set *set,
                       const struct omo_track_frame *frames, size_t count,
                       struct omo_pendulum_view *circles)
{
    struct omo_pendulum_settings settings;
    struct omo_pendulum *pendulum = NULL;
    omo_pendulum_settings_default(&settings);
    settings.wrist_mm = wrist_mm(measure, set);
    settings.band = measure->band[OMO_WRIST];
    settings.mirrored = measure->mirrored;
    settings.picture_width = measure->picture_width;
    settings.picture_height = measure->picture_height;
    settings.lens = measure->lens;
    if (omo_pendulum_create(&settings, &pendulum) != OMO_OK)
        return false;
    for (size_t k = 0; k < count; k++)
        omo_pendulum_step(pendulum, &frames[k], circles);
    omo_pendulum_finish(pendulum, circles);
    omo_pendulum_destroy(pendulum);
    return true;
}

void omo_circles_text(const struct omo_pendulum_view *c, char *text, size_t size)
{
    text[0] = '\0';
    omo_text_add(text, size, "Circles: %d clockwise, %d counter-clockwise", c->clockwise,
                 c->counter_clockwise);
    if (c->unknown > 0)
        omo_text_add(text, size, ", %d of unknown direction", c->unknown);
    if (!isnan(c->mean_diameter_cm))
        omo_text_add(text, size, "; %.0f cm across", c->mean_diameter_cm);
    if (!isnan(c->growth_cm))
        omo_text_add(text, size, ", the last third %.0f cm %s than the first",
                     fabs(c->growth_cm), c->growth_cm < 0 ? "narrower" : "wider");
    if (!isnan(c->loose_ratio))
        omo_text_add(text, size, "; the arm %s",
                     c->loose ? "hangs loose" : "is held or moves by itself");
    omo_text_add(text, size, ".");
}
