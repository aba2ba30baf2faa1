#include "motion/movements.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "motion/keys.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"

#define MOVEMENTS_MAX   64
#define FILE_BYTES_MAX  (1u << 20)
#define PATH_BYTES      4096
#define MOVEMENTS_FILE  "movements.ini"
#define ALLOWANCES_FILE "allowances.ini"
#define PIVOT_FILE      "pivot.ini"

struct omo_movement_table {
    int count;
    struct omo_movement movement[MOVEMENTS_MAX];
};

/* The order of these words is the order of their enums; role and position names come
 * from the layout folder. */
static const char *const geometry_words[] = {"elevation", "rotation",
                                             "foreshortened-rotation", "pendulum", NULL};
static const char *const view_words[] = {"front", "side", "along-arm", NULL};
static const char *const turn_words[] = {"counter-clockwise", "clockwise", NULL};
static const char *const key_words[] = {"plane",     "geometry",     "view",
                                        "positions", "position",     "needed",
                                        "positive",  "wrap_low_deg", "rest_below_deg",
                                        "axis",      "zero",         "caution",
                                        NULL};

static void role_words(const char **words)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        words[i] = omo_role_name((enum omo_role)i);
    words[OMO_ROLE_COUNT] = NULL;
}

static void position_words(const char **words)
{
    for (int i = 0; i < OMO_POSITION_COUNT; i++)
        words[i] = omo_position_name((enum omo_position)i);
    words[OMO_POSITION_COUNT] = NULL;
}

/** Names appear in file names and on command lines. */
static bool name_is_plain(const char *name, size_t length)
{
    return length > 0 && length < sizeof((struct omo_movement *)0)->name &&
           strspn(name, "abcdefghijklmnopqrstuvwxyz-") == length && name[0] != '-';
}

/** NAME, or NAME/VIEW with the very view of the group. */
static void read_name(struct omo_keys *keys, const char *group, struct omo_movement *m)
{
    const char *slash = strchr(group, '/');
    size_t length = slash != NULL ? (size_t)(slash - group) : strlen(group);
    bool viewed = slash == NULL || strcmp(slash + 1, omo_view_name(m->view)) == 0;
    if (keys->failed)
        return;
    if (strspn(group, "abcdefghijklmnopqrstuvwxyz-") != length ||
        !name_is_plain(group, length)) {
        omo_keys_mistake(keys, group, NULL,
                         "a movement's name has small letters and hyphens, at most %zu.",
                         sizeof m->name - 1);
        return;
    }
    if (!viewed) {
        omo_keys_mistake(keys, group, "view",
                         "is not what the group's name says, \"%s\".", slash + 1);
        return;
    }
    g_strlcpy(m->key, group, sizeof m->key);
    memcpy(m->name, group, length);
    m->name[length] = '\0';
}

static void read_positions(struct omo_keys *keys, const char *group,
                           struct omo_movement *m)
{
    const char *words[OMO_POSITION_COUNT + 1];
    position_words(words);
    unsigned allowed = 0;
    int chosen = 0;
    omo_keys_choices(keys, group, "positions", words, &allowed);
    omo_keys_choice(keys, group, "position", words, &chosen);
    for (int i = 0; i < OMO_POSITION_COUNT; i++)
        m->position_allowed[i] = (allowed >> i & 1u) != 0;
    m->position_default = (enum omo_position)chosen;
    if (!keys->failed && !m->position_allowed[chosen])
        omo_keys_mistake(keys, group, "position", "\"%s\" is not among positions.",
                         words[chosen]);
}

/** A geometry without its own markers could never give an angle. */
static void check_needed(struct omo_keys *keys, const char *group,
                         const struct omo_movement *m)
{
    const unsigned shoulder = 1u << OMO_SHOULDER, elbow = 1u << OMO_ELBOW,
                   wrist = 1u << OMO_WRIST;
    unsigned wanted = shoulder | elbow;
    const char *names = "shoulder and elbow";
    if (m->geometry == OMO_GEOMETRY_ROTATION) {
        wanted = elbow | wrist;
        names = "elbow and wrist";
    } else if (m->geometry == OMO_GEOMETRY_FORESHORTENED) {
        wanted = shoulder | elbow | wrist;
        names = "shoulder, elbow and wrist";
    }
    if (!keys->failed && (m->needed & wanted) != wanted)
        omo_keys_mistake(keys, group, "needed", "must name %s for this geometry.", names);
}

/** What the picture shows of a geometry depends on where it is seen from. */
static void check_view(struct omo_keys *keys, const char *group,
                       const struct omo_movement *m)
{
    bool front = m->view == OMO_VIEW_FRONT;
    if (!keys->failed && m->geometry == OMO_GEOMETRY_FORESHORTENED && !front)
        omo_keys_mistake(keys, group, "view", "must be front for this geometry.");
}

static void read_movement(struct omo_keys *keys, const char *group,
                          struct omo_movement *m)
{
    const char *roles[OMO_ROLE_COUNT + 1];
    int geometry = 0, view = 0, turn = 0;
    role_words(roles);
    omo_keys_only(keys, group, key_words);
    omo_keys_text(keys, group, "plane", m->plane, sizeof m->plane);
    omo_keys_choice(keys, group, "geometry", geometry_words, &geometry);
    omo_keys_choice(keys, group, "view", view_words, &view);
    read_positions(keys, group, m);
    omo_keys_choices(keys, group, "needed", roles, &m->needed);
    omo_keys_choice(keys, group, "positive", turn_words, &turn);
    omo_keys_number(keys, group, "wrap_low_deg", -360.0, 0.0, &m->wrap_low_deg);
    omo_keys_number(keys, group, "rest_below_deg", 1.0, 90.0, &m->rest_below_deg);
    omo_keys_text(keys, group, "axis", m->axis, sizeof m->axis);
    omo_keys_text(keys, group, "zero", m->zero, sizeof m->zero);
    omo_keys_text(keys, group, "caution", m->caution, sizeof m->caution);
    m->geometry = (enum omo_geometry)geometry;
    m->view = (enum omo_view)view;
    m->sign = turn == 1 ? 1.0 : -1.0;
    read_name(keys, group, m);
    check_needed(keys, group, m);
    check_view(keys, group, m);
}

enum omo_status omo_movement_table_parse(const char *bytes, size_t size, const char *name,
                                         const struct omo_allowances *allowances,
                                         struct omo_movement_table **out)
{
    struct omo_keys keys;
    enum omo_status status = omo_keys_open(bytes, size, name, &keys);
    if (status != OMO_OK)
        return status;
    gsize count = 0;
    char **groups = g_key_file_get_groups(keys.file, &count);
    struct omo_movement_table *table = calloc(1, sizeof *table);
    if (table == NULL) {
        status = OMO_ERR_MEMORY;
    } else if (count == 0 || count > MOVEMENTS_MAX) {
        omo_error("%s has %zu movements; a table has 1 to %d.", name, (size_t)count,
                  MOVEMENTS_MAX);
        status = OMO_ERR_SETTINGS;
    }
    for (gsize i = 0; status == OMO_OK && i < count; i++) {
        struct omo_movement *m = &table->movement[table->count++];
        m->allowances = *allowances;
        read_movement(&keys, groups[i], m);
        if (keys.failed)
            status = OMO_ERR_SETTINGS;
    }
    g_strfreev(groups);
    omo_keys_close(&keys);
    if (status == OMO_OK)
        *out = table;
    else
        free(table);
    return status;
}

/** Reads a file of models/ (path NULL) or the one at `path`. */
static enum omo_status read_model(const char *relative, const char *path, char *name,
                                  char **bytes, size_t *size)
{
    if (path != NULL)
        g_strlcpy(name, path, PATH_BYTES);
    else if (omo_models_path(relative, name, PATH_BYTES) != OMO_OK) {
        omo_error("The file %s of the program's models is missing; install the program "
                  "again or set OMOGON_MODELS to the folder that has it.",
                  relative);
        return OMO_ERR_OPEN;
    }
    enum omo_status status = omo_file_read(name, FILE_BYTES_MAX, bytes, size);
    if (status == OMO_ERR_OPEN)
        omo_error("%s cannot be opened: %s.", name, g_strerror(errno));
    return status;
}

static enum omo_status load_allowances(struct omo_allowances *out)
{
    char name[PATH_BYTES];
    char *bytes = NULL;
    size_t size = 0;
    enum omo_status status = read_model(ALLOWANCES_FILE, NULL, name, &bytes, &size);
    if (status == OMO_OK)
        status = omo_allowances_parse(bytes, size, name, out);
    free(bytes);
    return status;
}

static enum omo_status load_pivot(struct omo_pivot_priors *out)
{
    char name[PATH_BYTES];
    char *bytes = NULL;
    size_t size = 0;
    enum omo_status status = read_model(PIVOT_FILE, NULL, name, &bytes, &size);
    if (status == OMO_OK)
        status = omo_pivot_priors_parse(bytes, size, name, out);
    free(bytes);
    return status;
}

enum omo_status omo_movement_table_load(const char *path, struct omo_movement_table **out)
{
    struct omo_allowances allowances;
    struct omo_pivot_priors pivot;
    struct omo_movement_table *table = NULL;
    char name[PATH_BYTES];
    char *bytes = NULL;
    size_t size = 0;
    enum omo_status status = load_allowances(&allowances);
    if (status == OMO_OK)
        status = load_pivot(&pivot);
    if (status == OMO_OK)
        status = read_model(MOVEMENTS_FILE, path, name, &bytes, &size);
    if (status == OMO_OK)
        status = omo_movement_table_parse(bytes, size, name, &allowances, &table);
    free(bytes);
    if (status != OMO_OK)
        return status;
    for (int i = 0; i < table->count; i++)
        table->movement[i].pivot = pivot;
    *out = table;
    return OMO_OK;
}

void omo_movement_table_destroy(struct omo_movement_table *table)
{
    free(table);
}

const struct omo_movement *omo_movement_find(const struct omo_movement_table *table,
                                             const char *key)
{
    for (int i = 0; i < table->count; i++) {
        if (strcmp(table->movement[i].key, key) == 0)
            return &table->movement[i];
    }
    return NULL;
}

const struct omo_movement *omo_movement_seen_from(const struct omo_movement_table *table,
                                                  const struct omo_movement *movement,
                                                  enum omo_view view)
{
    for (int i = 0; i < table->count; i++) {
        const struct omo_movement *m = &table->movement[i];
        if (m->view == view && strcmp(m->name, movement->name) == 0)
            return m;
    }
    return NULL;
}

int omo_movement_count(const struct omo_movement_table *table)
{
    return table->count;
}

const struct omo_movement *omo_movement_at(const struct omo_movement_table *table,
                                           int index)
{
    if (index < 0 || index >= table->count)
        return NULL;
    return &table->movement[index];
}
