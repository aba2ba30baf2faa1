#include "app/corrections.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define LIMIT_BYTES ((size_t)16 << 20)
/* Standard uncertainty of a place that a hand chose on a screen; common practice, no
 * source. */
#define HAND_SIGMA_PX 1.0

static bool number_of(const char *text, double *out)
{
    *out = NAN;
    return !text[0] || omo_number_parse(text, out);
}

/** False after a sentence. */
static bool fill(const char *path, const struct omo_csv_table *table, size_t row,
                 const int at[4], struct omo_correction *c)
{
    long long frame = 0;
    const char *marker = omo_csv_cell(table, row, (size_t)at[1]);
    *c = (struct omo_correction){.measured_x_px = NAN, .measured_y_px = NAN};
    c->role = omo_role_from_name(marker);
    if (!omo_integer_parse(omo_csv_cell(table, row, (size_t)at[0]), &frame) || frame < 0)
        omo_error("%s:%zu: \"%s\" is no number of a frame", path, row + 1,
                  omo_csv_cell(table, row, (size_t)at[0]));
    else if (c->role == OMO_ROLE_COUNT)
        omo_error("%s:%zu: there is no marker \"%s\"; say shoulder, elbow, wrist, hip, "
                  "chest or acromion",
                  path, row + 1, marker);
    else if (!number_of(omo_csv_cell(table, row, (size_t)at[2]), &c->x_px) ||
             !number_of(omo_csv_cell(table, row, (size_t)at[3]), &c->y_px) ||
             isnan(c->x_px) != isnan(c->y_px))
        omo_error("%s:%zu: x_px and y_px are numbers with a dot, or both are empty where "
                  "the marker is not there",
                  path, row + 1);
    else {
        c->frame = frame;
        return true;
    }
    return false;
}

enum omo_status omo_corrections_read(const char *path, GArray **out)
{
    static const char *const columns[] = {"frame", "marker", "x_px", "y_px"};
    char *bytes = NULL;
    size_t size = 0, line = 0;
    struct omo_csv_table *table = NULL;
    int at[4];
    enum omo_status status = omo_file_read(path, LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("--corrections %s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_csv_parse(bytes, size, &table, &line);
    free(bytes);
    if (status != OMO_OK) {
        omo_error("%s:%zu is no line of a CSV table", path, line);
        return status;
    }
    g_autoptr(GArray) found = g_array_new(FALSE, FALSE, sizeof(struct omo_correction));
    for (int i = 0; status == OMO_OK && i < 4; i++)
        if ((at[i] = omo_csv_find(table, columns[i])) < 0) {
            omo_error("%s has no column \"%s\"; it takes frame, marker, x_px, y_px", path,
                      columns[i]);
            status = OMO_ERR_FORMAT;
        }
    for (size_t row = 1; status == OMO_OK && row < omo_csv_rows(table); row++) {
        struct omo_correction one;
        if (omo_csv_columns(table, row) == 1 && !omo_csv_cell(table, row, 0)[0])
            continue;
        if (fill(path, table, row, at, &one))
            g_array_append_val(found, one);
        else
            status = OMO_ERR_FORMAT;
    }
    omo_csv_destroy(table);
    if (status == OMO_OK)
        *out = g_array_ref(found);
    return status;
}

size_t omo_corrections_apply(GArray *corrections, struct omo_track_frame *frames,
                             size_t count)
{
    size_t applied = 0;
    for (guint k = 0; k < corrections->len; k++) {
        struct omo_correction *c = &g_array_index(corrections, struct omo_correction, k);
        for (size_t i = 0; i < count; i++) {
            struct omo_marker *marker = &frames[i].markers.role[c->role];
            if (frames[i].index != c->frame)
                continue;
            c->measured_x_px = marker->seen ? marker->x_px : (double)NAN;
            c->measured_y_px = marker->seen ? marker->y_px : (double)NAN;
            marker->seen = isnan(c->x_px) ? OMO_NOT_SEEN : OMO_PLACED_BY_HAND;
            marker->x_px = c->x_px;
            marker->y_px = c->y_px;
            if (isnan(c->x_px))
                marker->diameter_px = NAN;
            marker->sigma_px = isnan(c->x_px) ? (double)NAN : HAND_SIGMA_PX;
            applied++;
        }
    }
    return applied;
}

void omo_corrections_identify(const GArray *corrections, struct omo_id *id)
{
    for (guint k = 0; k < corrections->len; k++) {
        const struct omo_correction *c =
            &g_array_index(corrections, struct omo_correction, k);
        char text[120] = "", x[32], y[32];
        omo_number_text(c->x_px, 6, x, sizeof x);
        omo_number_text(c->y_px, 6, y, sizeof y);
        omo_text_add(text, sizeof text, "%lld %s %s %s", (long long)c->frame,
                     omo_role_name(c->role), x, y);
        omo_id_add_text(id, "corrected", text);
    }
}
