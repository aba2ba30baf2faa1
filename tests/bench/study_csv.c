#include <errno.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "omogon/text.h"

#include "study_runs.h"

#define NUMBER(name)                                                                     \
    {                                                                                    \
#name, offsetof(struct study_row, name)                                          \
    }

static const struct column {
    const char *name;
    size_t at;
} columns[] = {
    NUMBER(arc_deg),
    NUMBER(truth_deg),
    NUMBER(thorax_deg),
    NUMBER(turned_deg),
    NUMBER(measured_deg),
    NUMBER(u95_deg),
    NUMBER(thorax_u95_deg),
    NUMBER(uncorrected_deg),
    NUMBER(uncorrected_u95_deg),
    NUMBER(before_hike_deg),
    NUMBER(rest_deg),
    NUMBER(true_rest_deg),
    NUMBER(lean_at_max_deg),
    NUMBER(true_lean_deg),
    NUMBER(onset_deg),
    NUMBER(true_onset_deg),
    NUMBER(hike_mm),
    NUMBER(hike_30_mm),
    NUMBER(rise_max_mm),
    NUMBER(pivot_offset_ratio),
    NUMBER(plane_turn_deg),
    NUMBER(true_plane_turn_deg),
    NUMBER(trunk_rest_offset_deg),
    NUMBER(seen_ratio),
};

enum { COLUMNS = sizeof columns / sizeof columns[0] };

static void write_row(FILE *file, const struct study_row *row)
{
    const struct study_case *of = &row->of;
    fprintf(file, "%llu,%d,%s,%s,%s,%s,%s,%d,%s", (unsigned long long)of->seed, of->visit,
            study_movement_name((int)of->movement), study_set_name((int)of->set),
            study_placement_name((int)of->placement), study_trunk_name((int)of->trunk),
            study_girdle_name((int)of->girdle), row->stiff,
            omo_reference_name(row->reference));
    for (size_t i = 0; i < COLUMNS; i++) {
        double value = *(const double *)(const void *)((const char *)row + columns[i].at);
        char text[32];
        omo_number_text(value, 4, text, sizeof text);
        fprintf(file, ",%s", text);
    }
    fputc('\n', file);
}

bool study_plan_write(const struct study_plan *plan, const char *path)
{
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        fprintf(stderr, "study: %s cannot be written: %s. Name another file.\n", path,
                strerror(errno));
        return false;
    }
    fputs("seed,visit,movement,set,placement,trunk,girdle,stiff,reference", file);
    for (size_t i = 0; i < COLUMNS; i++)
        fprintf(file, ",%s", columns[i].name);
    fputc('\n', file);
    for (size_t i = 0; i < plan->row_count; i++)
        write_row(file, &plan->rows[i]);
    bool fine = !ferror(file);
    fine &= fclose(file) == 0;
    if (!fine)
        fprintf(stderr, "study: %s could not be written whole. Is the disk full?\n",
                path);
    return fine;
}
