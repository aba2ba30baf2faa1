/*
 * Records invented movements as a measuring program does, and says "saved ID TRACE" only
 * when a row may be announced. Under test for what it leaves when it is interrupted.
 *
 * record_writer FOLDER flat|kept FIRST COUNT [FRAMES]
 * record_writer FOLDER tables FIRST COUNT   rows of the tables beside sessions.csv, in
 * turn
 */
#include <locale.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/clock.h"
#include "omogon/record.h"
#include "omogon/text.h"
#include "table_rows.h"

#define FRAMES_MAX 64

static struct omo_trace_row frame_of(int movement, int number)
{
    struct omo_trace_row row = {.frame = number,
                                .time_s = number / 30.0,
                                .angle_deg = NAN,
                                .angle_raw_deg = movement + number / 8.0,
                                .angle_image_deg = movement + number / 8.0,
                                .angle_vertical_deg = movement + number / 8.0 - 1.5,
                                .elbow_flexion_deg = number > 1 ? 12.5 : (double)NAN,
                                .trunk_lean_deg = -1.5,
                                .hike_ratio = 0.0125,
                                .hike_mm = NAN,
                                .reference = OMO_REFERENCE_HIP};

    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        row.markers.role[role] =
            role >= OMO_CHEST
                ? (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN}
                : (struct omo_marker){OMO_SEEN, 640.25 + role, 200.5, 18, 0.05};
    return row;
}

/* clang-format off */
#define TEXT(field, text) {offsetof(struct omo_session_row, field), \
                           sizeof((struct omo_session_row *)0)->field, text}
#define NUMBER(field, value) {offsetof(struct omo_session_row, field), value}
/* clang-format on */

static const struct {
    size_t offset, size;
    const char *text;
} texts[] = {
    TEXT(person, "P001"),      TEXT(visit, "V2"),
    TEXT(movement, "flexion"), TEXT(started, "2026-11-24T09:00:00Z"),
    TEXT(side, "right"),       TEXT(source, "clip.avi"),
    TEXT(view, "side"),        TEXT(position, "standing"),
    TEXT(mode, "active"),      TEXT(arms, "one"),
    TEXT(placement, "skin"),   TEXT(reference, "hip"),
    TEXT(stopped_by, "stiff"), TEXT(end_feel, "firm"),
    TEXT(rater, "R1"),         TEXT(set_up, "setup1"),
};

static const struct {
    size_t offset;
    double value;
} numbers[] = {
    NUMBER(max_u95_deg, 3.25),
    NUMBER(held_max_deg, 99.5),
    NUMBER(mean_of_maxima_deg, 98.25),
    NUMBER(max_before_hike_deg, 80),
    NUMBER(rest_deg, -4),
    NUMBER(hike_at_max_ratio, 0.083),
    NUMBER(lean_at_max_deg, -2.125),
    NUMBER(trunk_rest_offset_deg, 1.5),
    NUMBER(pivot_offset_ratio, 0.125),
    NUMBER(plane_turn_deg, 12),
    NUMBER(rotation_at_abduction_deg, 88),
    NUMBER(pain_before, 1),
    NUMBER(pain_at_max, 3),
    NUMBER(pain_after, 2),
    NUMBER(pain_onset_deg, 70),
    NUMBER(pain_end_deg, 110),
    NUMBER(seen_ratio, 0.75),
    NUMBER(frames_per_second, 29.97),
};

static struct omo_session_row row_of(int movement)
{
    struct omo_session_row row;
    struct omo_id *id = omo_id_create();
    char number[32];

    omo_session_row_init(&row);
    omo_number_text(movement, 0, number, sizeof number);
    omo_id_add_text(id, "movement", number);
    omo_id_finish(id, row.id);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        omo_text_copy((char *)&row + texts[i].offset, texts[i].size, texts[i].text);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        *(double *)((char *)&row + numbers[i].offset) = numbers[i].value;
    row.max_deg = 100 + movement + 0.8125;
    row.repetitions = movement % 10;
    /* Ends in the last column, where a cut leaves all columns in place. */
    omo_text_add(row.note, sizeof row.note, "an invented note, number %d", movement);
    return row;
}

/* By a call of its own, so that the order of saying and syncing can be seen. */
static void say(const char *word, const char *id, const char *file)
{
    char line[400] = "";

    omo_text_add(line, sizeof line, "%s %s %s\n", word, id, file);
    if (write(STDOUT_FILENO, line, strlen(line)) < 0)
        exit(3);
}

static bool record_movement(struct omo_record *record, int movement, int frames)
{
    struct omo_session_row row = row_of(movement);
    struct omo_trace_row rows[FRAMES_MAX];
    struct omo_trace_file *trace = NULL;
    enum omo_status status;
    bool added = false;

    if (omo_record_has(record, row.id)) {
        say("known", row.id, row.trace);
        return true;
    }
    status = omo_trace_begin(record, "clip", 1280, 720, &trace, row.trace);
    for (int i = 0; i < frames && status == OMO_OK; i++) {
        rows[i] = frame_of(movement, i);
        status = omo_trace_add(trace, &rows[i]);
        rows[i].angle_deg = rows[i].angle_raw_deg;
    }
    if (status == OMO_OK)
        status = omo_trace_finish(trace, rows, (size_t)frames);
    if (status == OMO_OK)
        status = omo_record_append(record, &row, &added);
    if (status == OMO_OK && added)
        say("saved", row.id, row.trace);
    omo_trace_close(trace, true);
    return status == OMO_OK;
}

static bool is_there(const struct omo_table *table, const char *id)
{
    for (size_t i = 0; i < omo_table_count(table); i++)
        if (strcmp(omo_table_row(table, i), id) == 0) /* the id comes first in a row */
            return true;
    return false;
}

static bool record_row(struct omo_table *table, enum omo_table_kind kind, int number)
{
    union table_row row;
    char *id = (char *)&row;

    invented_row(kind, &row);
    if (kind == OMO_TABLE_PEOPLE)
        snprintf(row.person.person, sizeof row.person.person, "P%d", number);
    else
        snprintf(row.note.id, sizeof row.note.id, "%032x", 0xabc000 + number);
    if (is_there(table, id)) {
        say("known", id, omo_table_file(kind));
        return true;
    }
    if (omo_table_append(table, &row) != OMO_OK)
        return false;
    say("saved", id, omo_table_file(kind));
    return true;
}

static int write_tables(const char *folder, int first, int count)
{
    struct omo_table *tables[OMO_TABLE_COUNT] = {NULL};
    bool whole = true;

    for (int kind = 0; kind < OMO_TABLE_COUNT; kind++)
        whole &=
            omo_table_open(folder, (enum omo_table_kind)kind, &tables[kind]) == OMO_OK;
    for (int i = first; i < first + count && whole; i++) {
        enum omo_table_kind kind = (enum omo_table_kind)(i % OMO_TABLE_COUNT);

        whole = record_row(tables[kind], kind, i);
    }
    for (int kind = 0; kind < OMO_TABLE_COUNT; kind++)
        omo_table_close(tables[kind]);
    return whole ? 0 : 1;
}

/* Time passes quickly, so that a short trace is synced in between too. */
static int64_t quick_clock(void *user)
{
    int64_t *now_ns = user;

    return *now_ns += 200000000;
}

int main(int argc, char **argv)
{
    struct omo_record *record;
    int64_t now_ns = 0;
    int first, count, frames;
    bool whole = true;

    setlocale(LC_ALL, ""); /* as the program does; the files must not care */
    if (argc < 5)
        return 2;
    first = atoi(argv[3]);
    count = atoi(argv[4]);
    frames = argc > 5 ? atoi(argv[5]) : 4;
    if (frames < 0 || frames > FRAMES_MAX)
        return 2;
    if (frames > 0)
        omo_clock_set_source(quick_clock, &now_ns);
    if (strcmp(argv[2], "tables") == 0)
        return write_tables(argv[1], first, count);
    if (omo_record_open(argv[1], strcmp(argv[2], "flat") == 0, &record) != OMO_OK)
        return 1;
    for (int i = first; i < first + count; i++)
        whole &= record_movement(record, i, frames);
    omo_record_close(record);
    return whole ? 0 : 1;
}
