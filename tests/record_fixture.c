#include "record_fixture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>

#include "omogon/log.h"
#include "omogon/text.h"

#define NOBODY 65534

char fixture_folder[64];
int fixture_messages, fixture_warnings;
char fixture_message[1100];

static void remember(enum omo_log_level level, const char *text, void *user)
{
    (void)user;
    fixture_messages++;
    fixture_warnings += level == OMO_LOG_WARNING;
    snprintf(fixture_message, sizeof fixture_message, "%s", text);
}

void fixture_make(void)
{
    snprintf(fixture_folder, sizeof fixture_folder, "%s/omogon-test-XXXXXX",
             g_get_tmp_dir());
    ck_assert_ptr_nonnull(mkdtemp(fixture_folder));
    fixture_messages = fixture_warnings = 0;
    fixture_message[0] = '\0';
    omo_log_set_handler(remember, NULL);
}

void fixture_remove(void)
{
    char *command =
        g_strdup_printf("chmod -R u+rwx %s; rm -rf %s", fixture_folder, fixture_folder);

    omo_log_set_handler(NULL, NULL);
    if (getuid() == 0)
        ck_assert_int_eq(seteuid(0), 0);
    ck_assert_int_eq(system(command), 0);
    g_free(command);
}

const char *fixture_path(const char *name)
{
    static char path[8][512];
    static int next;

    next = (next + 1) % 8;
    snprintf(path[next], sizeof path[next], "%s/%s", fixture_folder, name);
    return path[next];
}

const char *fixture_text(const char *name)
{
    static char *text;

    g_free(text);
    text = NULL;
    ck_assert_msg(g_file_get_contents(fixture_path(name), &text, NULL, NULL), "no %s",
                  name);
    return text;
}

void fixture_write(const char *name, const char *text)
{
    ck_assert(g_file_set_contents(fixture_path(name), text, -1, NULL));
}

bool fixture_there(const char *name)
{
    return access(fixture_path(name), F_OK) == 0;
}

int fixture_entries(void)
{
    GDir *dir = g_dir_open(fixture_folder, 0, NULL);
    const char *name;
    int count = 0;

    while ((name = g_dir_read_name(dir)) != NULL)
        count += name[0] != '.';
    g_dir_close(dir);
    return count;
}

void fixture_drop_root(void)
{
    if (geteuid() != 0)
        return;
    ck_assert_int_eq(chown(fixture_folder, NOBODY, (gid_t)-1), 0);
    ck_assert_int_eq(seteuid(NOBODY), 0);
}

struct omo_session_row fixture_row(int number)
{
    struct omo_session_row row;

    omo_session_row_init(&row);
    snprintf(row.id, sizeof row.id, "%032x", 0x1000 + number);
    omo_text_copy(row.person, sizeof row.person, "P001");
    omo_text_copy(row.movement, sizeof row.movement, "flexion");
    omo_text_copy(row.side, sizeof row.side, "right");
    snprintf(row.source, sizeof row.source, "clip%d.avi", number);
    row.max_deg = 100 + number + 0.8;
    row.max_u95_deg = 3.25;
    row.repetitions = number;
    return row;
}

struct omo_trace_row fixture_frame(int number)
{
    struct omo_trace_row row = {.frame = number,
                                .time_s = number / 30.0,
                                .angle_deg = NAN,
                                .angle_raw_deg = 10.5 + number,
                                .angle_image_deg = 10.5 + number,
                                .angle_vertical_deg = NAN,
                                .elbow_flexion_deg = NAN,
                                .trunk_lean_deg = -0.0001,
                                .hike_ratio = 0.0125,
                                .hike_mm = NAN,
                                .reference = OMO_REFERENCE_HIP,
                                .quality = OMO_QUALITY_NO_WRIST};

    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        row.markers.role[role] = (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
    row.markers.role[OMO_SHOULDER] =
        (struct omo_marker){OMO_SEEN, 640.1234, 200.5, 18.25, 0.05};
    row.markers.role[OMO_ELBOW] =
        (struct omo_marker){OMO_PLACED_BY_HAND, 641, 400, 17, 0.05};
    return row;
}

struct omo_record *fixture_open(bool flat)
{
    struct omo_record *record = NULL;

    ck_assert_int_eq(omo_record_open(fixture_folder, flat, &record), OMO_OK);
    return record;
}

void fixture_append(struct omo_record *record, int number)
{
    struct omo_session_row row = fixture_row(number);
    bool added = false;

    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    ck_assert(added);
}
