#include <math.h>

#include "app/measuring_stage.h"
#include "omogon/clock.h"

static void draw(struct omo_stage *stage)
{
    struct omo_measuring *m = stage->m;
    const struct omo_live_now *now = stage->now;
    bool held = stage->fault != OMO_CAMERA_FINE || !now;
    struct omo_measure_page page = {
        .view = now ? &now->view[0] : omo_says_nothing(),
        .settings = &stage->plan[0].measure,
        .title = stage->says.title,
        .status = stage->says.status,
        .last_time_deg = stage->last_time_deg,
        .mirror = m->mirror,
        .camera_on = true,
        .sound_on = m->sound_on,
        .flash = omo_clock_ns() < stage->flash_ns,
        .raises_most = m->raises_most > 0 ? m->raises_most : 5,
        .picture_held = held,
    };
    if (stage->arms > 1)
        page.other = now ? &now->view[1] : omo_says_nothing();
    page.instruction =
        omo_says_line(&stage->says, stage->fault, &page.instruction_is_fault);
    omo_screen_picture(m->screen, now ? &now->planes : NULL);
    omo_screen_measure(m->screen, &page);
}

void omo_stage_show(struct omo_stage *stage)
{
    int64_t now_ns = omo_clock_ns();
    if (!stage->m->screen || (!stage->stale && now_ns - stage->drawn_ns <
                                                   (int64_t)OMO_STAGE_TICK_MS * 1000000))
        return;
    draw(stage);
    stage->stale = false;
    stage->drawn_ns = now_ns;
    const struct omo_live_now *now = stage->now;
    if (!now || now->frame == stage->frame_shown)
        return;
    stage->frame_shown = now->frame;
    omo_pace_add(&stage->m->pace, omo_clock_ns() - now->delivered_ns);
    omo_pace_first(&stage->m->pace, OMO_PACE_PICTURE);
    for (int i = 0; i < stage->arms; i++) {
        const struct omo_live_view *view = &now->view[i];
        for (int r = 0; r < OMO_ROLE_COUNT; r++)
            if (view->markers.role[r].seen != OMO_NOT_SEEN)
                omo_pace_first(&stage->m->pace, OMO_PACE_MARKER);
        if (isfinite(view->angle_image_deg))
            omo_pace_first(&stage->m->pace, OMO_PACE_ANGLE);
    }
}
