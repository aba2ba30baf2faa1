#include "app/measuring_still.h"

#include <math.h>
#include <string.h>

#include "omogon/draw.h"
#include "omogon/text.h"

/* A light grey: lines with a dark edge and a light core both show on it. */
#define PAPER_LUMA 214

/** Planes of plain paper, as large as the picture. `bytes` is the caller's to free. */
static struct omo_planes paper(int width, int height, uint8_t **bytes)
{
    size_t luma = (size_t)width * (size_t)height;
    int half_width = (width + 1) / 2, half_height = (height + 1) / 2;
    size_t chroma = (size_t)half_width * (size_t)half_height;
    *bytes = g_malloc(luma + chroma);
    memset(*bytes, PAPER_LUMA, luma);
    memset(*bytes + luma, 128, chroma);
    return (struct omo_planes){.width = width,
                               .height = height,
                               .chroma_width = half_width,
                               .chroma_height = half_height,
                               .y = *bytes,
                               .cb = *bytes + luma,
                               .cr = *bytes + luma,
                               .y_stride = width,
                               .chroma_stride = half_width,
                               .scale_x = 2,
                               .scale_y = 2,
                               .offset_x = 0.5,
                               .offset_y = 0.5,
                               .full_range = true};
}

/** The frame as a row, with what the screen shows of it. */
static struct omo_trace_row row_of(const struct omo_live_now *now)
{
    const struct omo_live_view *view = now->view;
    struct omo_track_frame frame = {.index = now->frame,
                                    .time_s = view->time_s,
                                    .markers = view->markers};
    struct omo_trace_row row;
    omo_trace_row_init(&row, &frame);
    row.angle_deg = row.angle_raw_deg = row.angle_image_deg = view->angle_image_deg;
    row.elbow_flexion_deg = view->elbow_flexion_deg;
    row.trunk_lean_deg = view->trunk_lean_deg;
    row.hike_ratio = view->hike_ratio;
    row.reference = view->reference;
    row.quality = view->quality;
    return row;
}

enum omo_status omo_measuring_still(const struct omo_measuring *m,
                                    const struct omo_live_now *now, int number,
                                    char *path, size_t size)
{
    const struct omo_session_row *words = &m->plan->row;
    struct omo_measure_settings settings = m->plan->measure;
    struct omo_trace_row row = row_of(now);
    /* The angle of one frame: what a maximum is good to is what it is good to. */
    struct omo_result result = {.max_deg = NAN,
                                .max_u95_deg = now->view->angle_u95_deg,
                                .rest_deg = NAN,
                                .frame_at_max = now->frame};
    char caption[96] = "", stamp[32] = "scene";
    settings.picture_width = now->picture_width;
    settings.picture_height = now->picture_height;
    omo_text_add(caption, sizeof caption, "%s, %s, %s, %s", words->movement, words->side,
                 words->position, words->mode);
    if (m->real_time) {
        g_autoptr(GDateTime) time = g_date_time_new_now_utc();
        g_autofree char *text = g_date_time_format(time, "%Y%m%dT%H%M%S");
        omo_text_copy(stamp, sizeof stamp, text);
    }
    path[0] = '\0';
    omo_text_add(path, size, "%s/%s%s%s-%s-%s.still-%d.jpg", m->directory, words->person,
                 words->person[0] ? "-" : "", stamp, words->movement, words->side,
                 number);
    uint8_t *bytes = NULL;
    struct omo_planes planes = now->planes;
    if (!m->photo_stills)
        planes = paper(now->picture_width, now->picture_height, &bytes);
    enum omo_status status = omo_still_write(
        &(struct omo_still){.planes = &planes,
                            .row = &row,
                            .result = &result,
                            .settings = &settings,
                            .caption = caption,
                            .show_head = !m->photo_stills}, /* there is none to cover */
        path);
    g_free(bytes);
    return status;
}
