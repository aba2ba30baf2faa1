#include "omogon/programme.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/record.h"
#include "omogon/text.h"
#include "programme/fields.h"
#include "programme/parse.h"

#define FILE_BYTES_MAX (1u << 18)
#define PATH_BYTES     4096
#define FIRST_GROUP    "programme"
#define STARTERS       "programmes"
/* Our cautious choice: no source gives a limit at which to stop. As in care.ini. */
#define PAIN_LIMIT 4.0

/** Names are in file names and cells. */
static bool name_is_plain(const char *name)
{
    size_t length = strlen(name);
    return length > 0 && length < sizeof((struct omo_step *)0)->name &&
           strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789-") == length;
}

/** The block that has this name before `index`, or NULL. */
static const struct omo_block *earlier(const struct omo_lines *lines, guint index,
                                       const char *name)
{
    for (guint i = 0; i < index; i++) {
        const struct omo_block *block = g_ptr_array_index(lines->blocks, i);
        if (strcmp(block->name, name) == 0)
            return block;
    }
    return NULL;
}

static bool name_is_good(struct omo_lines *lines, guint index,
                         const struct omo_block *block)
{
    const struct omo_block *twice = earlier(lines, index, block->name);
    char quote[48];
    omo_text_copy(quote, sizeof quote, block->name);
    if (twice != NULL) {
        omo_lines_mistake(lines, block->number,
                          "[%s] is there twice (line %d too); give one of them another "
                          "name",
                          quote, twice->number);
        return false;
    }
    if (strcmp(block->name, FIRST_GROUP) != 0 && !name_is_plain(block->name)) {
        omo_lines_mistake(lines, block->number,
                          "[%s] is no name for a step; take small letters, digits and "
                          "hyphens, at most %zu",
                          quote, sizeof((struct omo_step *)0)->name - 1);
        return false;
    }
    return true;
}

static void read_step(struct omo_lines *lines, struct omo_block *block,
                      const struct omo_movement_table *movements,
                      struct omo_programme *programme)
{
    if (programme->step_count == OMO_STEPS_MOST) {
        omo_lines_mistake(lines, block->number,
                          "this is step %d of at most %d; delete some or begin a second "
                          "programme",
                          OMO_STEPS_MOST + 1, OMO_STEPS_MOST);
        programme->step_count++; /* said once */
    }
    if (programme->step_count > OMO_STEPS_MOST)
        return;
    struct omo_step *step = &programme->step[programme->step_count++];
    omo_step_clear(step);
    omo_text_copy(step->name, sizeof step->name, block->name);
    step->line = block->number;
    if (!omo_fields_step(lines, block, step))
        return;
    omo_step_defaults(step);
    omo_check_step(lines, block, movements, programme, step);
}

static void read_programme(struct omo_lines *lines,
                           const struct omo_movement_table *movements,
                           struct omo_programme *programme)
{
    struct omo_block *first = NULL;
    for (guint i = 0; i < lines->blocks->len && first == NULL; i++) {
        struct omo_block *block = g_ptr_array_index(lines->blocks, i);
        if (strcmp(block->name, FIRST_GROUP) == 0)
            first = block;
    }
    if (first != NULL)
        omo_fields_programme(lines, first, programme);
    else
        omo_lines_mistake(lines, 1,
                          "there is no [programme]; begin the file with it and a "
                          "title=...");
    for (guint i = 0; i < lines->blocks->len; i++) {
        struct omo_block *block = g_ptr_array_index(lines->blocks, i);
        if (name_is_good(lines, i, block) && block != first)
            read_step(lines, block, movements, programme);
    }
    if (lines->blocks->len == (first != NULL ? 1u : 0u))
        omo_lines_mistake(lines, first != NULL ? first->number : 1,
                          "there is no step; add a [name] with group=... and kind=...");
}

/** The file's name without its folder and .ini. */
static void name_after(const char *called, char *out, size_t size)
{
    char *base = g_path_get_basename(called);
    if (g_str_has_suffix(base, ".ini") && strlen(base) > 4)
        base[strlen(base) - 4] = '\0';
    omo_text_copy(out, size, base);
    g_free(base);
}

enum omo_status omo_programme_parse_with(const struct omo_movement_table *movements,
                                         const char *bytes, size_t size,
                                         const char *called, struct omo_programme *out)
{
    struct omo_lines lines;
    struct omo_programme *programme = calloc(1, sizeof *programme);
    if (programme == NULL)
        return OMO_ERR_MEMORY;
    programme->pain_limit = PAIN_LIMIT;
    name_after(called, programme->name, sizeof programme->name);
    omo_lines_open(bytes, size, called, &lines);
    read_programme(&lines, movements, programme);
    bool wrong = omo_lines_say(&lines);
    omo_lines_close(&lines);
    if (!wrong)
        *out = *programme;
    free(programme);
    return wrong ? OMO_ERR_SETTINGS : OMO_OK;
}

enum omo_status omo_programme_parse(const char *bytes, size_t size, const char *called,
                                    struct omo_programme *out)
{
    struct omo_movement_table *movements = NULL;
    enum omo_status status = omo_movement_table_load(NULL, &movements);
    if (status != OMO_OK)
        return status;
    status = omo_programme_parse_with(movements, bytes, size, called, out);
    omo_movement_table_destroy(movements);
    return status;
}

/** A file that is there comes before a starter of the same name. */
static void find_file(const char *path, char *out, size_t size)
{
    char relative[128];
    omo_text_copy(out, size, path);
    if (strpbrk(path, "/.") != NULL || g_file_test(path, G_FILE_TEST_IS_REGULAR) ||
        strlen(path) > 64)
        return;
    g_snprintf(relative, sizeof relative, STARTERS "/%s.ini", path);
    if (omo_models_path(relative, out, size) != OMO_OK)
        omo_text_copy(out, size, path);
}

enum omo_status omo_programme_load(const char *path, struct omo_programme *out)
{
    char file[PATH_BYTES];
    char *bytes = NULL;
    size_t size = 0;
    find_file(path, file, sizeof file);
    enum omo_status status = OMO_ERR_OPEN;
    if (g_file_test(file, G_FILE_TEST_IS_DIR))
        errno = EISDIR;
    else
        status = omo_file_read(file, FILE_BYTES_MAX, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("The programme %.200s cannot be opened: %s; name a file, or one of the "
                  "starters sore-weeks, regaining-range and desk-days.",
                  file, g_strerror(errno));
    /* Too long for a programme is a mistake in it; what is wrong has been said. */
    if (status != OMO_OK)
        return status == OMO_ERR_FORMAT ? OMO_ERR_SETTINGS : status;
    status = omo_programme_parse(bytes, size, file, out);
    free(bytes);
    return status;
}

/* ---- the mark ---- */

static void add_number(struct omo_id *id, const char *key, double value)
{
    char text[32];
    omo_number_text(value, 6, text, sizeof text);
    omo_id_add_text(id, key, text);
}

static void add_step(struct omo_id *id, const struct omo_step *step)
{
    omo_id_add_text(id, "step", step->name);
    omo_id_add_text(id, "group", omo_group_name(step->group));
    omo_id_add_text(id, "kind", omo_step_kind_name(step->kind));
    omo_id_add_text(id, "when", omo_pain_when_name(step->when));
    omo_id_add_text(id, "movement", step->movement);
    omo_id_add_text(id, "view", step->view);
    omo_id_add_text(id, "area", step->area);
    omo_id_add_text(id, "finding", step->finding);
    omo_id_add_text(id, "for", step->words_for);
    omo_id_add_text(id, "guidance", step->guidance);
    omo_id_add_text(id, "caution", step->caution);
    add_number(id, "side", step->side);
    add_number(id, "mode", step->mode);
    add_number(id, "position", step->position);
    add_number(id, "hold_s", step->hold_s);
    add_number(id, "breaths", step->breaths);
    add_number(id, "pace", step->pace);
    add_number(id, "breaths_per_min", step->breaths_per_min);
    add_number(id, "circles", step->circles);
    add_number(id, "load_kg", step->load_kg);
    add_number(id, "repetitions", step->repetitions);
    add_number(id, "ease_ups", step->ease_ups);
    add_number(id, "ceiling_deg", step->ceiling_deg);
    add_number(id, "pain_limit", step->pain_limit);
    add_number(id, "every_min", step->every_min);
}

void omo_programme_mark(const struct omo_programme *programme, char out[33])
{
    struct omo_id *id = omo_id_create();
    omo_id_add_text(id, "title", programme->title);
    omo_id_add_text(id, "issue", programme->issue);
    omo_id_add_text(id, "made_by", programme->made_by);
    add_number(id, "pain_limit", programme->pain_limit);
    add_number(id, "arms_both", programme->arms_both);
    for (int i = 0; i < programme->step_count; i++)
        add_step(id, &programme->step[i]);
    omo_id_finish(id, out);
}
