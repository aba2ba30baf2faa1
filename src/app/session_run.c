#include "app/session_run.h"

#include <math.h>
#include <string.h>

#include "app/commands.h"
#include "app/result_page.h"
#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

void omo_session_words_finish(struct omo_session_words *w)
{
    char **all[] = {&w->programme, &w->check,     &w->pain_now,   &w->pain_worst,
                    &w->woken,     &w->rest_pain, &w->before_end, &w->affected};
    omo_measure_words_finish(&w->measure);
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_clear_pointer(all[i], g_free);
}

/* ---- time ------------------------------------------------------------------------- */

static double now_s(const struct omo_session_run *run)
{
    return (double)(omo_clock_ns() - run->start_ns) * 1e-9;
}

static void utc_text(const struct omo_session_run *run, double at_s, char *out,
                     size_t size)
{
    gint64 us = run->start_wall_us + (gint64)(at_s * 1e6);
    g_autoptr(GDateTime) time = g_date_time_new_from_unix_utc(us / 1000000);
    g_autofree char *text = g_date_time_format(time, "%Y-%m-%dT%H:%M:%SZ");
    omo_text_copy(out, size, text);
}

/** The local day of a moment as rows have it; "" when it is none. */
static void day_of(const char *started, char out[16])
{
    g_autoptr(GDateTime) time = g_date_time_new_from_iso8601(started, NULL);
    g_autoptr(GDateTime) local = time ? g_date_time_to_local(time) : NULL;
    g_autofree char *text = local ? g_date_time_format(local, "%Y-%m-%d") : NULL;
    omo_text_copy(out, 16, text ? text : "");
}

static void today(char out[16])
{
    g_autoptr(GDateTime) now = g_date_time_new_now_local();
    g_autofree char *text = g_date_time_format(now, "%Y-%m-%d");
    omo_text_copy(out, 16, text);
}

/* ---- what was there before --------------------------------------------------------- */

static const struct omo_step_row *step_row(const struct omo_session_run *run, size_t i)
{
    return omo_table_row(run->steps, i);
}

/** The session that was begun last: its id when it was broken off today with this very
 *  programme, "" otherwise. */
static void find_begun(const struct omo_session_run *run, char id[33])
{
    char mark[33], day[16], present[16];
    bool closed = false;
    id[0] = '\0';
    omo_programme_mark(&run->programme, mark);
    today(present);
    for (size_t i = 0; i < omo_table_count(run->steps); i++) {
        const struct omo_step_row *row = step_row(run, i);
        if (row->step[0] || strcmp(row->person, run->pseudonym) != 0)
            continue;
        day_of(row->started, day);
        if (!strcmp(row->result, "begun")) {
            closed = strcmp(row->programme_mark, mark) != 0 || strcmp(day, present) != 0;
            omo_text_copy(id, 33, row->session);
        } else if (!strcmp(row->session, id)) {
            closed = true;
        }
    }
    if (closed)
        id[0] = '\0';
}

static void find_last_date(struct omo_session_run *run)
{
    for (size_t i = 0; i < omo_table_count(run->steps); i++) {
        const struct omo_step_row *row = step_row(run, i);
        bool session = !row->step[0] && strcmp(row->result, "begun") != 0;
        if (session && !strcmp(row->person, run->pseudonym))
            day_of(row->started, run->last_date);
    }
}

/** What was told before the break need not be told again. */
static void recall(const struct omo_session_run *run, struct omo_soreness *told,
                   bool *nothing_new)
{
    for (size_t i = 0; i < omo_table_count(run->notes); i++) {
        const struct omo_note_row *note = omo_table_row(run->notes, i);
        if (strcmp(note->session, run->id) != 0)
            continue;
        if (!strcmp(note->item, "pain-now") && !note->detail[0])
            told->now = note->value;
        else if (!strcmp(note->item, "pain-worst-24h"))
            told->worst_24h = note->value;
        else if (!strcmp(note->item, "woken"))
            told->woken = note->value > 0;
        else if (!strcmp(note->item, "constant"))
            told->constant = note->value > 0;
        else if (!strcmp(note->item, "before-end"))
            told->before_end = note->value > 0;
        else if (!strcmp(note->item, "red-flags-asked"))
            *nothing_new = note->value == 0;
    }
}

static void make_id(char out[33])
{
    struct omo_id *id = omo_id_create();
    g_autofree char *uuid = g_uuid_string_random();
    omo_id_add_text(id, "session", uuid);
    omo_id_finish(id, out);
}

/* ---- answers given beforehand -------------------------------------------------------
 */

static bool scale_of(const char *option, const char *text, double *out)
{
    if (!text)
        return true;
    if (omo_number_parse(text, out) && *out >= 0 && *out <= 10 && *out == floor(*out))
        return true;
    omo_error("--%s \"%s\" is no rating; give a whole number of 0 (no pain) to 10",
              option, text);
    return false;
}

static bool yes_no_of(const char *option, const char *text, int *out)
{
    if (!text)
        return true;
    if (!strcmp(text, "yes") || !strcmp(text, "no")) {
        *out = text[0] == 'y';
        return true;
    }
    omo_error("--%s \"%s\": say yes or no", option, text);
    return false;
}

static bool told_of(const struct omo_session_words *w, struct omo_soreness *told)
{
    *told = (struct omo_soreness){NAN, NAN, -1, -1, -1};
    return scale_of("pain-now", w->pain_now, &told->now) &&
           scale_of("pain-worst", w->pain_worst, &told->worst_24h) &&
           yes_no_of("woken", w->woken, &told->woken) &&
           yes_no_of("rest-pain", w->rest_pain, &told->constant) &&
           yes_no_of("before-end", w->before_end, &told->before_end);
}

/* ---- beginning --------------------------------------------------------------------- */

static bool who(struct omo_session_run *run, const struct omo_preferences *preferences)
{
    const char *person = run->words->measure.common.person;
    if (!person)
        person = preferences->person[0] ? preferences->person : "me";
    if (!omo_pseudonym_valid(person)) {
        omo_error("--person \"%s\" is no pseudonym; give up to 16 letters and digits, no "
                  "name",
                  person);
        return false;
    }
    omo_text_copy(run->pseudonym, sizeof run->pseudonym, person);
    return true;
}

static int open_record(struct omo_session_run *run)
{
    if (omo_open_record(&run->words->measure.common, &run->record, run->directory,
                        sizeof run->directory) != OMO_OK ||
        omo_table_open(run->directory, OMO_TABLE_STEPS, &run->steps) != OMO_OK ||
        omo_table_open(run->directory, OMO_TABLE_NOTES, &run->notes) != OMO_OK)
        return OMO_EXIT_FAILED;
    return OMO_EXIT_DONE;
}

/** The programme of the person's sheet, the newest row; "" when it names none. */
static enum omo_status sheet_programme(const struct omo_session_run *run, char *out,
                                       size_t size)
{
    struct omo_table *sheet = NULL;
    enum omo_status status = omo_table_open(run->directory, OMO_TABLE_SHEET, &sheet);
    out[0] = '\0';
    for (size_t i = 0; status == OMO_OK && i < omo_table_count(sheet); i++) {
        const struct omo_sheet_row *row = omo_table_row(sheet, i);
        if (!strcmp(row->person, run->pseudonym) && !strcmp(row->item, "programme"))
            omo_text_copy(out, size, row->value);
    }
    if (sheet)
        omo_table_close(sheet);
    return status;
}

/** The programme that was asked for, else the one of the person's sheet. */
static int load_programme(struct omo_session_run *run)
{
    char path[4096] = "";
    if (run->words->programme)
        omo_text_copy(path, sizeof path, run->words->programme);
    else if (sheet_programme(run, path, sizeof path) != OMO_OK)
        return OMO_EXIT_FAILED;
    if (!path[0]) {
        omo_error("which programme? Give --programme FILE, or a starter: --list names "
                  "them");
        return OMO_EXIT_USAGE;
    }
    /* What is wrong with it was said. */
    return omo_programme_load(path, &run->programme) == OMO_OK ? OMO_EXIT_DONE
                                                               : OMO_EXIT_FAILED;
}

/** A side that is told counts for this session; the sheet's is not changed by it. */
static bool take_affected(struct omo_session_run *run)
{
    const char *told = run->words->affected;
    if (!told)
        return true;
    if (strcmp(told, "left") != 0 && strcmp(told, "right") != 0) {
        omo_error("--affected \"%s\": say left or right, the person's own", told);
        return false;
    }
    run->person.affected = told[0] == 'l' ? OMO_LEFT : OMO_RIGHT;
    run->person.affected_known = true;
    return true;
}

static int make_session(struct omo_session_run *run)
{
    struct omo_session_settings settings = {
        .care = &run->care,
        .programme = &run->programme,
        .person = &run->person,
        .movements = run->movements,
        .pseudonym = run->pseudonym,
        .last_date = run->last_date,
        .camera = !run->words->no_camera,
        .hands_free = run->words->hands_free,
        .id = run->id,
        .nothing_new = run->words->nothing_new,
        .u95_deg = NAN,
    };
    if (!take_affected(run) || !told_of(run->words, &settings.told))
        return OMO_EXIT_USAGE;
    if (run->begun->len > 0)
        recall(run, &settings.told, &settings.nothing_new);
    settings.begun = (const struct omo_step_row *)(void *)run->begun->data;
    settings.begun_count = run->begun->len;
    return omo_session_create(&settings, &run->session) == OMO_OK ? OMO_EXIT_DONE
                                                                  : OMO_EXIT_FAILED;
}

int omo_session_run_begin(struct omo_session_run *run,
                          const struct omo_session_words *words)
{
    struct omo_preferences preferences;
    char day[16];
    *run = (struct omo_session_run){.words = words};
    g_mutex_init(&run->lock);
    run->begun = g_array_new(FALSE, FALSE, sizeof(struct omo_step_row));
    run->start_ns = omo_clock_ns();
    run->start_wall_us = g_get_real_time();
    today(day);
    omo_preferences_load(&preferences);
    if (!who(run, &preferences))
        return OMO_EXIT_USAGE;
    int code = open_record(run);
    if (code != OMO_EXIT_DONE)
        return code;
    if (omo_care_load(NULL, &run->care) != OMO_OK ||
        omo_movement_table_load(NULL, &run->movements) != OMO_OK ||
        omo_person_state_load(run->directory, run->pseudonym, day, &run->person) !=
            OMO_OK)
        return OMO_EXIT_FAILED;
    code = load_programme(run);
    if (code != OMO_EXIT_DONE)
        return code;
    if (!words->anew)
        find_begun(run, run->id);
    if (run->id[0]) {
        for (size_t i = 0; i < omo_table_count(run->steps); i++)
            if (!strcmp(step_row(run, i)->session, run->id))
                g_array_append_vals(run->begun, step_row(run, i), 1);
    } else {
        make_id(run->id);
    }
    find_last_date(run);
    return make_session(run);
}

void omo_session_run_finish(struct omo_session_run *run)
{
    omo_session_destroy(run->session);
    omo_person_state_free(&run->person);
    omo_movement_table_destroy(run->movements);
    if (run->steps)
        omo_table_close(run->steps);
    if (run->notes)
        omo_table_close(run->notes);
    if (run->record)
        omo_record_close(run->record);
    if (run->begun)
        g_array_unref(run->begun);
    g_mutex_clear(&run->lock);
}

/* ---- going on ---------------------------------------------------------------------- */

/** What was told once is not asked again. */
static enum omo_status remember_side(const struct omo_session_run *run,
                                     const struct omo_note_row *note)
{
    struct omo_table *people = NULL;
    struct omo_person_row row;
    enum omo_status status = omo_table_open(run->directory, OMO_TABLE_PEOPLE, &people);
    omo_table_row_init(OMO_TABLE_PEOPLE, &row);
    for (size_t i = 0; status == OMO_OK && i < omo_table_count(people); i++) {
        const struct omo_person_row *old = omo_table_row(people, i);
        if (!strcmp(old->person, run->pseudonym))
            row = *old;
    }
    omo_text_copy(row.person, sizeof row.person, run->pseudonym);
    omo_text_copy(row.set_on, sizeof row.set_on, note->written);
    omo_text_copy(row.set_by, sizeof row.set_by, run->pseudonym);
    omo_text_copy(row.affected_side, sizeof row.affected_side, note->text);
    if (status == OMO_OK)
        status = omo_table_append(people, &row);
    if (people)
        omo_table_close(people);
    return status;
}

static void write_rows(struct omo_session_run *run)
{
    struct omo_note_row note;
    struct omo_step_row step;
    double began_s, present_s = now_s(run);
    while (run->status == OMO_OK && omo_session_take_note(run->session, &note)) {
        utc_text(run, present_s, note.written, sizeof note.written);
        run->status = omo_table_append(run->notes, &note);
        if (run->status == OMO_OK && !strcmp(note.item, "affected-side"))
            run->status = remember_side(run, &note);
    }
    while (run->status == OMO_OK &&
           omo_session_take_step(run->session, &step, &began_s)) {
        utc_text(run, began_s, step.started, sizeof step.started);
        utc_text(run, present_s, step.ended, sizeof step.ended);
        run->status = omo_table_append(run->steps, &step);
    }
}

bool omo_session_run_keep(struct omo_session_run *run)
{
    g_mutex_lock(&run->lock);
    omo_session_time(run->session, now_s(run));
    write_rows(run);
    g_mutex_unlock(&run->lock);
    return run->status == OMO_OK;
}

void omo_session_run_page(struct omo_session_run *run, struct omo_session_page *page)
{
    g_mutex_lock(&run->lock);
    *page = *omo_session_page(run->session);
    g_mutex_unlock(&run->lock);
}

bool omo_session_run_answer(struct omo_session_run *run, double value)
{
    g_mutex_lock(&run->lock);
    bool taken = omo_session_answer(run->session, value);
    write_rows(run);
    g_mutex_unlock(&run->lock);
    return taken;
}

bool omo_session_run_text(struct omo_session_run *run, const char *text)
{
    g_mutex_lock(&run->lock);
    bool taken = omo_session_text(run->session, text);
    write_rows(run);
    g_mutex_unlock(&run->lock);
    return taken;
}

void omo_session_run_press(struct omo_session_run *run, enum omo_session_press press)
{
    g_mutex_lock(&run->lock);
    omo_session_press(run->session, press);
    write_rows(run);
    g_mutex_unlock(&run->lock);
}
