#include "app/stickers_only.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/inputs.h"
#include "app/progress_line.h"
#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"

static void add_header(struct omo_csv_text *csv, const struct omo_marker_set *set)
{
    static const char *const fixed[] = {"frame", "time_s", "picture_width_px",
                                        "picture_height_px"};
    static const char *const each[] = {"x_px", "y_px", "diameter_px", "sigma_px", "seen"};
    for (size_t i = 0; i < G_N_ELEMENTS(fixed); i++)
        omo_csv_add_text(csv, fixed[i]);
    for (int i = 0; i < set->count; i++) {
        for (size_t k = 0; k < G_N_ELEMENTS(each); k++) {
            char name[64] = "";
            omo_text_add(name, sizeof name, "%s_%s", set->entry[i].name, each[k]);
            omo_csv_add_text(csv, name);
        }
    }
    omo_csv_end_row(csv);
}

static void add_frame(struct omo_csv_text *csv, const struct omo_frame *frame,
                      const struct omo_source_info *info, const struct omo_marker *found,
                      int count)
{
    omo_csv_add_integer(csv, frame->index);
    omo_csv_add_number(csv, frame->time_s, 6);
    omo_csv_add_integer(csv, info->width);
    omo_csv_add_integer(csv, info->height);
    for (int i = 0; i < count; i++) {
        const struct omo_marker *m = &found[i];
        omo_csv_add_number(csv, m->x_px, 3);
        omo_csv_add_number(csv, m->y_px, 3);
        omo_csv_add_number(csv, m->diameter_px, 3);
        omo_csv_add_number(csv, m->sigma_px, 3);
        omo_csv_add_integer(csv, m->seen);
    }
    omo_csv_end_row(csv);
}

/** Reads a clip into csv; *any tells whether a sticker was seen at all. */
static enum omo_status read_clip(const char *path, const struct omo_plan *plan,
                                 struct omo_csv_text *csv, bool *any)
{
    struct omo_source *source = NULL;
    struct omo_tracker *tracker = NULL;
    struct omo_tracker_settings settings = plan->tracker;
    settings.body = false;
    enum omo_status status = omo_clip_open(path, &source);
    if (status == OMO_OK)
        status = omo_tracker_create(&settings, &tracker);
    if (status == OMO_OK)
        add_header(csv, &settings.set);
    while (status == OMO_OK) {
        struct omo_frame frame;
        struct omo_marker found[OMO_SET_MAX];
        status = omo_source_next(source, false, &frame);
        if (status != OMO_OK)
            break;
        status = omo_tracker_step_free(tracker, &frame, found);
        if (status != OMO_OK)
            break;
        const struct omo_source_info *info = omo_source_info(source);
        for (int i = 0; i < settings.set.count; i++)
            *any |= found[i].seen != OMO_NOT_SEEN;
        add_frame(csv, &frame, info, found, settings.set.count);
        if (info->frame_count > 0)
            omo_progress_show((double)frame.index / (double)info->frame_count, path);
        if (csv->failed)
            status = OMO_ERR_MEMORY;
    }
    omo_tracker_destroy(tracker);
    omo_source_destroy(source);
    return status == OMO_END ? OMO_OK : status;
}

/** Writes under the first free name; a file with the same content is left as it is. */
static enum omo_status write_table(const char *folder, const char *stem,
                                   const struct omo_csv_text *csv)
{
    for (int number = 1; number < 10000; number++) {
        char path[4600] = "", suffix[16] = "";
        if (number > 1)
            omo_text_add(suffix, sizeof suffix, "-%d", number);
        omo_text_add(path, sizeof path, "%s/%s%s.stickers.csv", folder, stem, suffix);
        g_autofree char *bytes = NULL;
        gsize size = 0;
        if (g_file_get_contents(path, &bytes, &size, NULL)) {
            if (size == csv->size && !memcmp(bytes, csv->bytes, size)) {
                printf("measured before, nothing changed: %s\n", path);
                return OMO_OK;
            }
            continue;
        }
        enum omo_status status = omo_file_write_atomic(path, csv->bytes, csv->size, 0600);
        if (status == OMO_OK)
            printf("saved: %s\n", path);
        return status;
    }
    omo_error("%s holds too many files of the name %s; use another --out", folder, stem);
    return OMO_ERR_IO;
}

int omo_trace_stickers(const struct omo_option_words *words, const struct omo_plan *plan,
                       GPtrArray *paths)
{
    int code = OMO_EXIT_DONE;
    struct omo_record *record;
    char directory[4096];
    /* Opening the record makes the folder and says what is wrong with it. */
    if (omo_open_record(words, &record, directory, sizeof directory) != OMO_OK)
        return OMO_EXIT_FAILED;
    omo_record_close(record);
    if (!words->out) {
        omo_text_add(directory, sizeof directory, "/traces");
        if (omo_folder_make(directory) != OMO_OK)
            return OMO_EXIT_FAILED;
    }
    omo_progress_begin();
    for (guint i = 0; i < paths->len; i++) {
        const char *path = paths->pdata[i];
        struct omo_csv_text csv = {0};
        char stem[200];
        bool any = false;
        omo_input_stem(path, stem, sizeof stem);
        enum omo_status status = read_clip(path, plan, &csv, &any);
        omo_progress_erase();
        if (status != OMO_OK)
            code = OMO_EXIT_FAILED;
        if ((status == OMO_OK || status == OMO_ERR_DAMAGED) && csv.size > 0 &&
            write_table(directory, stem, &csv) != OMO_OK)
            code = OMO_EXIT_FAILED;
        if (status == OMO_OK && !any) {
            omo_error("no sticker of the set was found in %s; learn its colours with "
                      "\"omogon colours\"; the table was kept",
                      path);
            code = OMO_EXIT_FAILED;
        }
        omo_csv_text_free(&csv);
    }
    omo_progress_end();
    return code;
}
