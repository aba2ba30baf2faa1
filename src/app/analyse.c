#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>
#include <glib.h>

#include "app/commands.h"
#include "app/options.h"
#include "app/output_file.h"
#include "app/pipeline.h"
#include "omogon/analysis.h"
#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/record.h"
#include "omogon/text.h"
#include "omogon/words.h"

struct analyse_words {
    char *out;
    gboolean json, force, residual;
};

/** One repetition of one trace, ready to be written. */
struct line {
    char *trace;
    int number;
    struct omo_repetition_figures figures;
    double residual_cutoff_hz; /* NAN: not asked for, or none */
};

static void line_clear(gpointer data)
{
    g_free(((struct line *)data)->trace);
}

/** A column: its name, decimals, and where its number comes from. */
struct cell {
    const char *name;
    int decimals;
    double value;
};
#define CELLS 25

static void phase_cells(const char *const names[7], const struct omo_phase_figures *f,
                        struct cell *cell)
{
    const struct cell cells[7] = {
        {names[0], 6, f->duration_s},
        {names[1], 3, f->mean_deg_per_s},
        {names[2], 3, f->peak_deg_per_s},
        {names[3], 6, f->to_peak_speed_s},
        {names[4], 6, f->spectral_arc_length},
        {names[5], 6, f->log_dimensionless_jerk},
        {names[6], 0, f->speed_peaks >= 0 ? f->speed_peaks : (double)NAN},
    };
    memcpy(cell, cells, sizeof cells);
}

/** All numbers of a line, in the order of the columns; returns how many. */
static int cells_of(const struct line *line, bool residual, struct cell cell[CELLS])
{
    static const char *const raising[7] = {
        "raising_s",          "raising_mean_deg_per_s", "raising_peak_deg_per_s",
        "raising_to_peak_s",  "raising_sparc",          "raising_ldlj",
        "raising_speed_peaks"};
    static const char *const lowering[7] = {
        "lowering_s",          "lowering_mean_deg_per_s", "lowering_peak_deg_per_s",
        "lowering_to_peak_s",  "lowering_sparc",          "lowering_ldlj",
        "lowering_speed_peaks"};
    const struct omo_repetition_figures *f = &line->figures;
    const struct cell first[] = {
        {"repetition", 0, line->number},
        {"start_s", 6, f->start_s},
        {"peak_s", 6, f->peak_s},
        {"end_s", 6, f->end_s},
        {"duration_s", 6, f->end_s - f->start_s},
        {"max_deg", 3, f->max_deg},
        {"range_deg", 3, f->range_deg},
    };
    const struct cell last[] = {
        {"hike_at_peak_ratio", 3, f->hike_at_peak_ratio},
        {"lean_at_peak_deg", 3, f->lean_at_peak_deg},
        {"hike_onset_deg", 3, f->hike_onset_deg},
        {"residual_cutoff_hz", 3, line->residual_cutoff_hz},
    };
    int n = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(first); i++)
        cell[n++] = first[i];
    phase_cells(raising, &f->raising, cell + n);
    phase_cells(lowering, &f->lowering, cell + n + 7);
    n += 14;
    for (size_t i = 0; i < G_N_ELEMENTS(last) - !residual; i++)
        cell[n++] = last[i];
    return n;
}

/* ---- writing ------------------------------------------------------------------------
 */

static void add_row(struct omo_csv_text *csv, const struct line *line, bool residual,
                    bool header)
{
    struct cell cell[CELLS];
    int count = cells_of(line, residual, cell);
    omo_csv_add_text(csv, header ? "trace" : line->trace);
    for (int i = 0; i < count; i++)
        if (header)
            omo_csv_add_text(csv, cell[i].name);
        else
            omo_csv_add_number(csv, cell[i].value, cell[i].decimals);
    omo_csv_end_row(csv);
}

static enum omo_status write_csv(const GArray *lines, const struct analyse_words *w)
{
    struct omo_csv_text csv = {0};
    const struct line none = {.number = 0};
    add_row(&csv, &none, w->residual, true);
    for (guint i = 0; i < lines->len; i++)
        add_row(&csv, &g_array_index(lines, struct line, i), w->residual, false);
    enum omo_status status = csv.failed ? OMO_ERR_MEMORY : OMO_OK;
    if (status == OMO_OK && !w->out)
        fputs(csv.bytes, stdout);
    else if (status == OMO_OK)
        status = omo_file_write_atomic(w->out, csv.bytes, csv.size, 0600);
    if (status == OMO_OK && w->out)
        printf(omo_word("saved: %s (%u repetitions)\n"), w->out, lines->len);
    omo_csv_text_free(&csv);
    return status;
}

static void write_json(const GArray *lines, const struct analyse_words *w)
{
    cJSON *array = cJSON_CreateArray();
    for (guint i = 0; i < lines->len; i++) {
        const struct line *line = &g_array_index(lines, struct line, i);
        struct cell cell[CELLS];
        int count = cells_of(line, w->residual, cell);
        cJSON *object = cJSON_CreateObject();
        cJSON_AddStringToObject(object, "trace", line->trace);
        for (int k = 0; k < count; k++) {
            char text[32];
            omo_number_text(cell[k].value, cell[k].decimals, text, sizeof text);
            cJSON_AddItemToObject(object, cell[k].name,
                                  cJSON_CreateRaw(text[0] ? text : "null"));
        }
        cJSON_AddItemToArray(array, object);
    }
    omo_json_print(array);
}

/* ---- the command --------------------------------------------------------------------
 */

static enum omo_status analyse(const char *path, bool residual, GArray *lines)
{
    struct omo_repetition_figures figures[OMO_REPETITION_MAX];
    struct omo_trace trace;
    size_t count = 0;
    enum omo_status status = omo_trace_read(path, &trace);
    if (status != OMO_OK)
        return status;
    status = omo_analyse_repetitions(trace.rows, trace.count, figures, &count);
    if (status == OMO_ERR_EMPTY)
        omo_error("%s has no angle in any frame", path);
    double cutoff_hz =
        residual ? omo_residual_cutoff_hz(trace.rows, trace.count) : (double)NAN;
    for (size_t i = 0; status == OMO_OK && i < count; i++) {
        struct line line = {.trace = g_path_get_basename(path),
                            .number = (int)i + 1,
                            .figures = figures[i],
                            .residual_cutoff_hz = cutoff_hz};
        g_array_append_val(lines, line);
    }
    if (status == OMO_OK && count == 0)
        omo_warning("%s has no whole repetition", path);
    omo_trace_free(&trace);
    return status;
}

/** Every trace that can be read is in the table, whatever the others are. */
static int run(const struct analyse_words *w, char **paths, int count)
{
    g_autoptr(GArray) lines = g_array_new(FALSE, FALSE, sizeof(struct line));
    int code = OMO_EXIT_DONE;
    g_array_set_clear_func(lines, line_clear);
    if (w->out && !omo_output_free(w->out, "out", w->force))
        return OMO_EXIT_FAILED;
    for (int i = 0; i < count; i++)
        if (analyse(paths[i], w->residual, lines) != OMO_OK)
            code = OMO_EXIT_FAILED;
    if (w->json)
        write_json(lines, w);
    else if (lines->len > 0 && write_csv(lines, w) != OMO_OK)
        code = OMO_EXIT_FAILED;
    return code;
}

int omo_command_analyse(int argc, char **argv)
{
    struct analyse_words w = {0};
    GOptionContext *context = g_option_context_new("TRACE.csv...");
    const GOptionEntry entries[] = {
        {"out", 'o', 0, G_OPTION_ARG_FILENAME, &w.out,
         OMO_WORD("the table as a file (default: on standard output)"), "FILE"},
        {"force", 0, 0, G_OPTION_ARG_NONE, &w.force,
         OMO_WORD("write over an existing file"), NULL},
        {"residual", 0, 0, G_OPTION_ARG_NONE, &w.residual,
         OMO_WORD("also the filter's cut-off by residual analysis of the raw angles"),
         NULL},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w.json, OMO_WORD("print JSON"), NULL},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "What each repetition of a movement was like, from its trace: start, peak "
            "and end, speed,\nsmoothness (spectral arc length, log dimensionless jerk, "
            "peaks of the speed), raising and\nlowering apart, the shoulder's rise. "
            "Traces stay as they are. Below 25 pictures a second no\nspeed is given."),
        OMO_WORD(
            "Examples:\n"
            "  omogon analyse traces/*.trace.csv --out repetitions.csv\n"
            "  omogon analyse raise.trace.csv --residual --json\n\n"
            "Sources: Balasubramanian et al. 2012 and 2015; Winter, Biomechanics and "
            "Motor Control of Human\nMovement.\n"),
        false);
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc < 2)
            omo_error("give one trace or several; \"omogon analyse --help\" shows how");
        else if (w.json && w.out)
            omo_error("--json goes to standard output; leave out --out");
        else
            code = run(&w, argv + 1, argc - 1);
    }
    g_option_context_free(context);
    g_free(w.out);
    return code;
}
