#include "room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"

/* Room at the borders for a rolled or knocked camera. */
#define ENLARGE 1.06

struct omo_photo {
    char path[1024];  /* file or folder, footage: resolved */
    GPtrArray *names; /* of a folder's pictures, sorted; NULL: one file */
    double seconds;   /* for each of them */
    guint shown;
    struct omo_source *source; /* open while it has further frames */
    double fps, next_s;
    bool still;
    int width, height;
    uint32_t *rgb;
    omo_float4 *linear;
    float table[256];
};

static gint by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static enum omo_status list_folder(struct omo_photo *photo)
{
    GDir *dir = g_dir_open(photo->path, 0, NULL);
    const char *name;
    if (!dir) {
        omo_error("The folder of rooms %s cannot be read.", photo->path);
        return OMO_ERR_OPEN;
    }
    photo->names = g_ptr_array_new_with_free_func(g_free);
    while ((name = g_dir_read_name(dir)) != NULL)
        if (g_str_has_suffix(name, ".jpg") || g_str_has_suffix(name, ".jpeg") ||
            g_str_has_suffix(name, ".png"))
            g_ptr_array_add(photo->names, g_build_filename(photo->path, name, NULL));
    g_dir_close(dir);
    g_ptr_array_sort(photo->names, by_name);
    if (photo->names->len > 0)
        return OMO_OK;
    omo_error("The folder of rooms %s has no picture in it.", photo->path);
    return OMO_ERR_EMPTY;
}

static enum omo_status resolve(const char *room, char *path, size_t size)
{
    const char *folder = g_getenv("OMOGON_FOOTAGE");
    path[0] = '\0';
    if (!g_str_has_prefix(room, "footage:")) {
        omo_text_copy(path, size, room);
        return OMO_OK;
    }
    if (!folder || !folder[0]) {
        omo_error("The scene's room %s needs OMOGON_FOOTAGE to name the folder of real "
                  "pictures.",
                  room);
        return OMO_ERR_OPEN;
    }
    omo_text_add(path, size, "%s/%s", folder, room + strlen("footage:"));
    return OMO_OK;
}

/** Room for pictures of this size. */
static enum omo_status resize(struct omo_photo *photo, int width, int height)
{
    size_t pixels = (size_t)width * (size_t)height;
    if (photo->rgb && photo->width == width && photo->height == height)
        return OMO_OK;
    uint32_t *rgb = malloc(pixels * sizeof *rgb);
    omo_float4 *linear = aligned_alloc(16, pixels * sizeof *linear);
    if (!rgb || !linear) {
        free(rgb);
        free(linear);
        return OMO_ERR_MEMORY;
    }
    free(photo->rgb);
    free(photo->linear);
    photo->rgb = rgb;
    photo->linear = linear;
    photo->width = width;
    photo->height = height;
    return OMO_OK;
}

static enum omo_status take_frame(struct omo_photo *photo)
{
    struct omo_frame frame;
    enum omo_status status = omo_source_next(photo->source, true, &frame);
    if (status != OMO_OK)
        return status;
    int turns = frame.turned.quarter_turns;
    bool across = turns % 2 != 0;
    status = resize(photo, across ? frame.planes.height : frame.planes.width,
                    across ? frame.planes.width : frame.planes.height);
    if (status == OMO_OK)
        status = omo_planes_to_rgb32(&frame.planes, turns, photo->rgb);
    if (status != OMO_OK)
        return status;
    size_t pixels = (size_t)photo->width * (size_t)photo->height;
    for (size_t i = 0; i < pixels; i++) {
        uint32_t p = photo->rgb[i];
        photo->linear[i] =
            (omo_float4){photo->table[p >> 16 & 255], photo->table[p >> 8 & 255],
                         photo->table[p & 255], 0};
    }
    return OMO_OK;
}

static enum omo_status open_file(struct omo_photo *photo, const char *path)
{
    omo_source_destroy(photo->source);
    photo->source = NULL;
    enum omo_status status = omo_clip_open(path, &photo->source);
    if (status != OMO_OK)
        return status;
    const struct omo_source_info *info = omo_source_info(photo->source);
    photo->fps = info->frames_per_second > 0 ? info->frames_per_second : 25;
    photo->still = info->frame_count == 1;
    status = take_frame(photo);
    if (status != OMO_OK)
        omo_error("The scene's room %s shows no picture.", path);
    return status;
}

enum omo_status omo_photo_open(const struct omo_scene *scene, struct omo_photo **out)
{
    struct omo_photo *photo = calloc(1, sizeof *photo);
    if (!photo)
        return OMO_ERR_MEMORY;
    for (int i = 0; i < 256; i++)
        photo->table[i] = (float)omo_sim_linear(i / 255.0);
    photo->seconds = scene->room_s;
    enum omo_status status = resolve(scene->room, photo->path, sizeof photo->path);
    const char *first = photo->path;
    if (status == OMO_OK && g_file_test(photo->path, G_FILE_TEST_IS_DIR)) {
        status = list_folder(photo);
        if (status == OMO_OK)
            first = g_ptr_array_index(photo->names, 0);
    }
    if (status == OMO_OK)
        status = open_file(photo, first);
    if (status != OMO_OK) {
        omo_photo_close(photo);
        return status;
    }
    photo->next_s = 1 / photo->fps;
    *out = photo;
    return OMO_OK;
}

void omo_photo_close(struct omo_photo *photo)
{
    if (!photo)
        return;
    if (photo->names)
        g_ptr_array_free(photo->names, TRUE);
    omo_source_destroy(photo->source);
    free(photo->rgb);
    free(photo->linear);
    free(photo);
}

enum omo_status omo_photo_advance(struct omo_photo *photo, double time_s, bool *changed)
{
    enum omo_status status = OMO_OK;
    *changed = false;
    if (photo->names) {
        guint which = (guint)(time_s / photo->seconds) % photo->names->len;
        if (which == photo->shown)
            return OMO_OK;
        photo->shown = which;
        *changed = true;
        return open_file(photo, g_ptr_array_index(photo->names, which));
    }
    while (!photo->still && time_s >= photo->next_s && status == OMO_OK) {
        *changed = true;
        photo->next_s += 1 / photo->fps;
        status = take_frame(photo);
        if (status != OMO_OK) /* a clip starts again at its end, or where it breaks */
            status = open_file(photo, photo->path);
    }
    return status;
}

static inline float clamp_to(float x, float high)
{
    return x < 0 ? 0 : x > high ? high : x;
}

static inline omo_float4 pixel_at(const struct omo_photo *photo, float x, float y)
{
    x = clamp_to(x, (float)photo->width - 1.01f);
    y = clamp_to(y, (float)photo->height - 1.01f);
    int i = (int)x, j = (int)y;
    float fx = x - (float)i, fy = y - (float)j;
    const omo_float4 *p = photo->linear + (size_t)j * (size_t)photo->width + (size_t)i;
    omo_float4 top = p[0] + (p[1] - p[0]) * fx;
    omo_float4 low = p[photo->width] + (p[photo->width + 1] - p[photo->width]) * fx;
    return top + (low - top) * fy;
}

void omo_photo_paint(const struct omo_photo *photo, struct omo_canvas *canvas,
                     const struct omo_camera *camera)
{
    if (photo->width < 2 || photo->height < 2)
        return;
    double scale = ENLARGE * fmax((double)canvas->width / photo->width,
                                  (double)canvas->height / photo->height);
    double c = camera->roll_cos / scale, s = camera->roll_sin / scale;
    for (int y = 0; y < canvas->height; y++) {
        omo_float4 *row = canvas->pixel + (size_t)y * (size_t)canvas->width;
        double dx = -camera->centre_x - camera->shift_x;
        double dy = y - camera->centre_y - camera->shift_y;
        float u = (float)((dx * c + dy * s) * camera->flip + (photo->width - 1) * 0.5);
        float v = (float)(dy * c - dx * s + (photo->height - 1) * 0.5);
        const float du = (float)(c * camera->flip), dv = (float)-s;
        for (int x = 0; x < canvas->width; x++)
            row[x] = pixel_at(photo, u + du * (float)x, v + dv * (float)x);
    }
}
