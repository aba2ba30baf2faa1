/* Renders a scene for the tests: to a folder of JPEGs or, when the name ends in .mjpeg,
   one file of them, with the truth beside it as truth.csv or NAME.truth.csv. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <glib.h>
#include <glib/gstdio.h>

#include "omogon/simulated.h"
#include "omogon/text.h"

static void write_header(FILE *csv)
{
    fputs("frame,time_s,angle_deg,angle_image_deg,trunk_lean_deg,hike_ratio,hike_mm,"
          "elbow_flexion_deg",
          csv);
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const char *name = omo_role_name((enum omo_role)i);
        fprintf(csv, ",%s_x_px,%s_y_px,%s_diameter_px,%s_visible_ratio", name, name, name,
                name);
    }
    fputs(",other_angle_deg,other_angle_image_deg,other_hike_ratio", csv);
    fputs("\n", csv);
}

static void write_number(FILE *csv, double value, int decimals)
{
    char text[64];
    omo_number_text(value, decimals, text, sizeof text);
    fprintf(csv, ",%s", text);
}

static void write_truth(FILE *csv, const struct omo_truth *t)
{
    fprintf(csv, "%lld", (long long)t->frame);
    write_number(csv, t->time_s, 6);
    write_number(csv, t->angle_deg, 4);
    write_number(csv, t->angle_image_deg, 4);
    write_number(csv, t->trunk_lean_deg, 4);
    write_number(csv, t->hike_ratio, 5);
    write_number(csv, t->hike_mm, 3);
    write_number(csv, t->elbow_flexion_deg, 4);
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const struct omo_truth_marker *m = &t->marker[i];
        write_number(csv, m->x_px, 4);
        write_number(csv, m->y_px, 4);
        write_number(csv, m->diameter_px, 3);
        write_number(csv, m->placed ? m->visible_ratio : (double)NAN, 4);
    }
    write_number(csv, t->other_angle_deg, 4);
    write_number(csv, t->other_angle_image_deg, 4);
    write_number(csv, t->other_hike_ratio, 5);
    fputs("\n", csv);
}

static int render(struct omo_source *source, const char *out, const char *csv_path,
                  long every)
{
    const uint8_t *bytes;
    size_t size, total = 0;
    double time_s;
    long frames = 0, kept = 0;
    FILE *csv = fopen(csv_path, "w"), *stream = NULL;
    if (!csv)
        return perror(csv_path), 1;
    if (g_str_has_suffix(out, ".mjpeg"))
        stream = fopen(out, "wb");
    write_header(csv);
    clock_t start = clock();
    while (omo_simulated_next_jpeg(source, &bytes, &size, &time_s) == OMO_OK) {
        struct omo_truth truth;
        omo_simulated_truth(source, &truth);
        if (frames++ % every != 0)
            continue;
        write_truth(csv, &truth);
        total += size;
        kept++;
        if (stream) {
            fwrite(bytes, 1, size, stream);
        } else {
            char path[4096];
            snprintf(path, sizeof path, "%s/%06ld.jpg", out, frames - 1);
            g_file_set_contents(path, (const char *)bytes, (gssize)size, NULL);
        }
    }
    double ms = 1000.0 * (double)(clock() - start) / CLOCKS_PER_SEC;
    printf("%ld frames, %.1f kB a frame, %.2f ms a frame with JPEG\n", frames,
           kept > 0 ? (double)total / 1000.0 / (double)kept : 0, ms / (double)frames);
    if (stream)
        fclose(stream);
    return fclose(csv) == 0 ? 0 : 1;
}

int main(int argc, char **argv)
{
    if (argc < 3) {
        fprintf(stderr,
                "tool_scene SCENE OUT [--every N] [SETTING=VALUE]...\n"
                "SCENE is a built-in scene, a file, or - for the default.\n\n%s",
                omo_scene_help());
        return 2;
    }
    struct omo_scene *scene = omo_scene_create();
    struct omo_source *source = NULL;
    long every = 1;
    if (!scene || (strcmp(argv[1], "-") != 0 && omo_scene_load(scene, argv[1]) != OMO_OK))
        return 1;
    for (int i = 3; i < argc; i++) {
        char *equals = strchr(argv[i], '=');
        if (strcmp(argv[i], "--every") == 0 && i + 1 < argc) {
            every = strtol(argv[++i], NULL, 10);
            continue;
        }
        if (!equals)
            return 2;
        *equals = '\0';
        if (omo_scene_set(scene, argv[i], equals + 1) != OMO_OK)
            return 2;
    }
    if (omo_simulated_open(scene, &source) != OMO_OK)
        return 1;
    char *csv = g_str_has_suffix(argv[2], ".mjpeg")
                    ? g_strconcat(argv[2], ".truth.csv", NULL)
                    : g_build_filename(argv[2], "truth.csv", NULL);
    if (!g_str_has_suffix(argv[2], ".mjpeg"))
        g_mkdir_with_parents(argv[2], 0755);
    int result = render(source, argv[2], csv, every > 0 ? every : 1);
    g_free(csv);
    omo_source_destroy(source);
    omo_scene_destroy(scene);
    return result;
}
