#include "stored_frames.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void give_up(const char *what)
{
    fprintf(stderr, "%s\n", what);
    exit(EXIT_FAILURE);
}

static struct omo_source *open_scene(const char *scene_name, const char *const *settings)
{
    struct omo_scene *scene = omo_scene_create();
    struct omo_source *source = NULL;
    if (!scene || (scene_name && omo_scene_load(scene, scene_name) != OMO_OK))
        give_up("the scene cannot be read");
    for (; settings[0]; settings += 2)
        if (omo_scene_set(scene, settings[0], settings[1]) != OMO_OK)
            give_up("the scene has no such setting");
    if (omo_simulated_open(scene, &source) != OMO_OK)
        give_up("the scene cannot be rendered");
    omo_scene_destroy(scene);
    return source;
}

void stored_frames_render(struct stored_frames *stored, const char *scene_name,
                          const char *const *settings, size_t count)
{
    struct omo_source *source = open_scene(scene_name, settings);
    double size_sum_bytes = 0.0;
    stored->frame = calloc(count, sizeof *stored->frame);
    stored->count = 0;
    while (stored->frame && stored->count < count) {
        struct stored_frame *frame = &stored->frame[stored->count];
        const uint8_t *bytes;
        double time_s;
        if (omo_simulated_next_jpeg(source, &bytes, &frame->size, &time_s) != OMO_OK)
            break;
        frame->bytes = malloc(frame->size);
        if (!frame->bytes)
            break;
        memcpy(frame->bytes, bytes, frame->size);
        omo_simulated_truth(source, &frame->truth);
        size_sum_bytes += (double)frame->size;
        stored->count++;
    }
    omo_source_destroy(source);
    if (stored->count < count)
        give_up("the scene has too few frames");
    stored->mean_size_bytes = size_sum_bytes / (double)count;
}

void stored_frames_free(struct stored_frames *stored)
{
    for (size_t i = 0; i < stored->count; i++)
        free(stored->frame[i].bytes);
    free(stored->frame);
    memset(stored, 0, sizeof *stored);
}

const struct stored_frame *stored_frames_at(const struct stored_frames *stored,
                                            int64_t step)
{
    const int64_t count = (int64_t)stored->count;
    const int64_t place = step % (2 * count);
    return &stored->frame[place < count ? place : 2 * count - 1 - place];
}
