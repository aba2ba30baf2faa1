/* What all formats of an export share: which rows, times, ages, files. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "app/export.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define AGE_MOST 89 /* older people are too few not to be known by it (Motion-BIDS) */

/* ---- a folder in one step ------------------------------------------------------------
 */

static bool is_empty(const char *path)
{
    g_autoptr(GDir) folder = g_dir_open(path, 0, NULL);
    return folder && !g_dir_read_name(folder);
}

enum omo_status omo_export_folder_begin(const char *path, struct omo_export_folder *out)
{
    g_autofree char *whole = g_canonicalize_filename(path, NULL);
    if (g_file_test(whole, G_FILE_TEST_EXISTS) && !is_empty(whole)) {
        omo_error("%s is there and not an empty folder; name another with --to", path);
        return OMO_ERR_OPEN;
    }
    g_autofree char *above = g_path_get_dirname(whole);
    g_autofree char *name = g_path_get_basename(whole);
    g_autofree char *template = g_strdup_printf("%s/.%s.XXXXXX", above, name);
    if (!g_file_test(above, G_FILE_TEST_IS_DIR)) {
        omo_error("there is no folder %s to put %s in", above, name);
        return OMO_ERR_OPEN;
    }
    if (!g_mkdtemp_full(template, 0700)) {
        omo_error("nothing can be written in %s: %s%s", above, g_strerror(errno),
                  omo_errno_remedy(errno));
        return OMO_ERR_IO;
    }
    out->path = g_steal_pointer(&whole);
    out->hidden = g_steal_pointer(&template);
    return OMO_OK;
}

enum omo_status omo_export_add(const struct omo_export_folder *folder, const char *name,
                               const char *bytes, size_t size)
{
    g_autofree char *path = g_build_filename(folder->hidden, name, NULL);
    g_autofree char *above = g_path_get_dirname(path);
    enum omo_status status = omo_folder_make(above);
    return status == OMO_OK ? omo_file_write_atomic(path, bytes, size, 0600) : status;
}

static void take_away(const char *path)
{
    g_autoptr(GDir) folder = g_dir_open(path, 0, NULL);
    for (const char *name; folder && (name = g_dir_read_name(folder));) {
        g_autofree char *inside = g_build_filename(path, name, NULL);
        if (g_file_test(inside, G_FILE_TEST_IS_DIR))
            take_away(inside);
        else
            unlink(inside);
    }
    rmdir(path);
}

enum omo_status omo_export_folder_end(struct omo_export_folder *folder,
                                      enum omo_status status)
{
    g_autofree char *above = g_path_get_dirname(folder->path);
    /* An empty folder gives way; a full one does not. */
    if (status == OMO_OK && rename(folder->hidden, folder->path) != 0) {
        omo_error("%s cannot be put in its place: %s", folder->path, g_strerror(errno));
        status = OMO_ERR_IO;
    }
    if (status != OMO_OK)
        take_away(folder->hidden);
    else if (omo_folder_sync(above) != 0)
        omo_warning("%s is written, but the disk has not confirmed it", folder->path);
    g_free(folder->path);
    g_free(folder->hidden);
    return status;
}

/* ---- of a row ------------------------------------------------------------------------
 */

const char *omo_export_quantity(const struct omo_session_row *row)
{
    static const struct {
        const char *movement, *quantity;
    } known[] = {
        {"flexion", "projected thoracohumeral elevation, sagittal plane"},
        {"extension", "projected thoracohumeral elevation backward, sagittal plane"},
        {"abduction", "projected thoracohumeral elevation, frontal plane"},
        {"adduction",
         "projected thoracohumeral elevation across the body, frontal plane"},
        {"scaption", "projected thoracohumeral elevation, plane of the shoulder blade"},
        {"external-rotation",
         "projected outward turn of the forearm about the upper arm"},
        {"internal-rotation", "projected inward turn of the forearm about the upper arm"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(known); i++)
        if (!strcmp(row->movement, known[i].movement))
            return known[i].quantity;
    return "projected angle of the upper arm";
}

static GDateTime *start_of(const struct omo_session_row *row)
{
    return g_date_time_new_from_iso8601(row->started, NULL);
}

/** The person's first session; rows are in order. */
static const struct omo_session_row *first_of(const struct omo_export *export,
                                              const char *person)
{
    for (guint i = 0; i < export->rows->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(export->rows, i);
        if (!strcmp(row->person, person))
            return row;
    }
    return NULL;
}

int omo_export_age(const struct omo_export *export, const struct omo_session_row *row)
{
    const struct omo_person_row *who = omo_person_who(export->tables, row->person);
    g_autoptr(GDateTime) start = start_of(row);
    if (!who || who->birth_year <= 0 || !start)
        return -1;
    int age = g_date_time_get_year(start) - who->birth_year;
    return age < 0 ? -1 : MIN(age, AGE_MOST);
}

void omo_export_time(const struct omo_export *export, const struct omo_session_row *row,
                     bool shifted, int decimals, char *out, size_t size)
{
    g_autoptr(GDateTime) start = start_of(row);
    g_autoptr(GDateTime) utc = g_date_time_to_utc(start);
    g_autoptr(GDateTime) moved = NULL;
    if (shifted) {
        g_autoptr(GDateTime) first = start_of(first_of(export, row->person));
        g_autoptr(GDateTime) begin = g_date_time_new_utc(1925, 1, 5, 10, 0, 0);
        moved = g_date_time_add(begin, g_date_time_difference(utc, first));
    }
    g_autofree char *text = g_date_time_format(moved ? moved : utc, "%Y-%m-%dT%H:%M:%S");
    snprintf(out, size, "%s%s%.*s%s", text, decimals ? "." : "", decimals, "000000",
             shifted ? "" : "Z");
}

void omo_export_instant(const struct omo_export *export,
                        const struct omo_session_row *row, char out[40])
{
    omo_export_time(export, row, export->share, 0, out, 40);
    /* A shifted one is as far from the person's first in UTC as it was: UTC as well. */
    if (export->share)
        g_strlcat(out, "Z", 40);
}

enum omo_status omo_export_trace(const struct omo_export *export,
                                 const struct omo_session_row *row, struct omo_trace *out)
{
    if (!row->trace[0] || strstr(row->trace, ".."))
        return OMO_ERR_EMPTY;
    g_autofree char *path = g_build_filename(export->directory, row->trace, NULL);
    if (!g_file_test(path, G_FILE_TEST_EXISTS))
        return OMO_ERR_EMPTY;
    enum omo_status status = omo_trace_read(path, out);
    if (status == OMO_OK && out->count == 0) {
        omo_trace_free(out);
        return OMO_ERR_EMPTY;
    }
    return status;
}

const struct omo_set_up_row *omo_export_set_up(const struct omo_export *export,
                                               const struct omo_session_row *row)
{
    const struct omo_table *table = export->tables->table[OMO_TABLE_SET_UPS];
    for (size_t i = omo_table_count(table); row->set_up[0] && i-- > 0;) {
        const struct omo_set_up_row *set_up = omo_table_row(table, i);
        if (!strcmp(set_up->id, row->set_up))
            return set_up;
    }
    return NULL;
}
