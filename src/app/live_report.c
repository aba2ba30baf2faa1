#include "app/live_report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/budget_words.h"
#include "app/commands.h"
#include "app/pipeline.h"
#include "app/sides_text.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

static void report_pictures(const struct omo_measuring *m, FILE *to)
{
    const struct omo_camera_got *got = &m->camera.got;
    char rate[32], dropped[32], cpu[32];
    double spent_s = omo_pace_spent_s(&m->pace);
    double lost = m->camera.delivered > 0
                      ? 100.0 * (double)m->camera.dropped / (double)m->camera.delivered
                      : 0;
    omo_number_text(spent_s > 0 ? (double)m->count.measured / spent_s : 0, 1, rate,
                    sizeof rate);
    omo_number_text(lost, 2, dropped, sizeof dropped);
    omo_number_text(100 * omo_pace_cpu_ratio(&m->pace), 0, cpu, sizeof cpu);
    fprintf(to, omo_word("Camera: %s %s, %d x %d, %s.\n"),
            got->path[0] ? got->path : got->name, got->format, got->width, got->height,
            got->exposure_locked && got->white_balance_locked
                ? omo_word("exposure and white balance held still")
                : omo_word("exposure and white balance could not be held still"));
    fprintf(to,
            omo_word("Pictures: %lld measured, %s a second; %lld dropped (%s %%), %lld "
                     "damaged, %lld left out while nobody was in view.\n"),
            (long long)m->count.measured, rate, (long long)m->camera.dropped, dropped,
            (long long)(m->camera.damaged + m->count.broken),
            (long long)m->count.skipped);
    if (m->pace.shown > 0) {
        char median[32], late[32];
        omo_number_text(omo_pace_age_ms(&m->pace, 0.5), 0, median, sizeof median);
        omo_number_text(omo_pace_age_ms(&m->pace, 0.99), 0, late, sizeof late);
        fprintf(to,
                omo_word(
                    "On screen: %lld pictures, half of them at most %s ms after they "
                    "arrived, 99 %% at most %s ms.\n"),
                (long long)m->pace.shown, median, late);
    }
    if (m->pace.first_s[OMO_PACE_ANGLE] > 0) {
        char marker[32], angle[32];
        omo_number_text(m->pace.first_s[OMO_PACE_MARKER], 2, marker, sizeof marker);
        omo_number_text(m->pace.first_s[OMO_PACE_ANGLE], 2, angle, sizeof angle);
        fprintf(to,
                omo_word(
                    "First ringed marker on screen %s s after the program was called, "
                    "first angle %s s.\n"),
                marker, angle);
    }
    fprintf(to, omo_word("Processor: %s %% of one core.\n"), cpu);
}

static void report_rows_json(const struct omo_measuring *m, bool budget)
{
    cJSON *array = cJSON_CreateArray();
    for (guint i = 0; i < m->saved->len; i++) {
        const struct omo_saved *saved = &g_array_index(m->saved, struct omo_saved, i);
        cJSON *object = omo_row_json(&saved->row);
        if (budget)
            cJSON_AddItemToObject(object, "budget",
                                  omo_budget_json(saved->result.budget));
        if (m->plan->both_sides)
            omo_sides_add_json(object, saved->compared ? &saved->difference : NULL,
                               strcmp(saved->row.side, omo_side_name(OMO_LEFT))
                                   ? OMO_RIGHT
                                   : OMO_LEFT);
        cJSON_AddItemToArray(array, object);
    }
    omo_json_print(array);
}

void omo_live_report(const struct omo_measuring *m, bool json, bool budget)
{
    if (m->camera.damaged + m->count.broken > 0)
        omo_warning(omo_word("%lld pictures arrived damaged and were left out of the "
                             "figures; if it goes on, try another cable or socket"),
                    (long long)(m->camera.damaged + m->count.broken));
    if (json) {
        report_rows_json(m, budget);
        report_pictures(m, stderr);
        return;
    }
    for (guint i = 0; i < m->saved->len; i++) {
        const struct omo_saved *saved = &g_array_index(m->saved, struct omo_saved, i);
        const struct omo_session_row *row = &saved->row;
        char text[640];
        omo_row_text(row, text, sizeof text);
        printf("%s\n", text);
        if (row->note[0])
            printf(omo_word("  note: %s\n"), row->note);
        printf(omo_word("  saved: row %.8s, trace %s\n"), row->id, row->trace);
        if (budget)
            omo_budget_print(saved->result.budget, row);
        if (saved->compared && saved->last) {
            char apart[480];
            omo_sides_text(&saved->difference, apart, sizeof apart);
            printf("  %s\n", apart);
        }
    }
    if (m->saved->len == 0)
        puts(omo_word("Nothing was saved: no raise of the arm was measured."));
    else
        printf(omo_word("The record is %s/sessions.csv\n"), m->directory);
    report_pictures(m, stdout);
    printf("\n%s", omo_word(OMO_CAUTION));
}
