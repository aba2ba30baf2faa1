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

static const struct omo_correction *at_index(const GArray *list, guint i)
{
    return &g_array_index(list, struct omo_correction, i);
}

/** Place of a frame's marker in a list; its length when it is not in there. */
static guint find(const GArray *list, const struct omo_correction *of)
{
    guint i = 0;
    while (i < list->len &&
           (at_index(list, i)->frame != of->frame || at_index(list, i)->role != of->role))
        i++;
    return i;
}

static int by_place(const void *a, const void *b)
{
    const struct omo_correction *one = a, *other = b;
    if (one->frame != other->frame)
        return one->frame < other->frame ? -1 : 1;
    return (int)one->role - (int)other->role;
}

GArray *omo_corrections_settle(const GArray *steps)
{
    GArray *settled = g_array_new(FALSE, FALSE, sizeof(struct omo_correction));
    for (guint i = 0; i < steps->len; i++) {
        const struct omo_correction_step *step =
            &g_array_index(steps, struct omo_correction_step, i);
        guint there = find(settled, &step->what);
        if (there < settled->len)
            g_array_remove_index(settled, there);
        if (!step->as_measured)
            g_array_append_val(settled, step->what);
    }
    g_array_sort(settled, by_place);
    return settled;
}

static bool same_px(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

bool omo_corrections_same(const GArray *a, const GArray *b)
{
    guint count = a ? a->len : 0;
    if (count != (b ? b->len : 0))
        return false;
    for (guint i = 0; i < count; i++) {
        const struct omo_correction *one = at_index(a, i);
        guint there = find(b, one);
        if (there == count || !same_px(one->x_px, at_index(b, there)->x_px) ||
            !same_px(one->y_px, at_index(b, there)->y_px))
            return false;
    }
    return true;
}

/** Adds a line's correction; false after a sentence. */
static bool add(const char *path, size_t line, const struct omo_correction *one,
                GArray *found)
{
    if (find(found, one) < found->len) {
        omo_error("%s:%zu: the %s of frame %lld stands there twice; say one place", path,
                  line, omo_role_name(one->role), (long long)one->frame);
        return false;
    }
    g_array_append_val(found, *one);
    return true;
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
        if (!fill(path, table, row, at, &one) || !add(path, row + 1, &one, found))
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
            frames[i].edited = true;
            applied++;
        }
    }
    return applied;
}

void omo_corrections_identify(const GArray *corrections, struct omo_id *id)
{
    for (guint k = 0; k < corrections->len; k++) {
        const struct omo_correction *c = at_index(corrections, k);
        char text[120] = "", x[32], y[32];
        omo_number_text(c->x_px, 6, x, sizeof x);
        omo_number_text(c->y_px, 6, y, sizeof y);
        omo_text_add(text, sizeof text, "%lld %s %s %s", (long long)c->frame,
                     omo_role_name(c->role), x, y);
        omo_id_add_text(id, "corrected", text);
    }
}
