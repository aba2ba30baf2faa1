/*
 * Simulation study: many bodies before a camera, measured by the library from the
 * markers' noisy places on, against what the bodies really did. Prints Markdown tables.
 */
#include <glib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study_table.h"

/* Seeds below this are for tuning, those from here on for the tables that are quoted. */
#define FIRST_QUOTED_SEED 1000000

struct options {
    gint64 seed;
    int sessions, jobs;
    char *movement, *set, *placement, *trunk, *csv;
    gboolean check, plain, told, levelled;
    char **fixes;
};

/** Index of a name, -1 for "all" (NULL), -2 with a sentence when there is none. */
static int index_of(const char *option, const char *name, const char *(*names)(int))
{
    if (name == NULL)
        return -1;
    for (int i = 0; names(i) != NULL; i++) {
        if (strcmp(name, names(i)) == 0)
            return i;
    }
    fprintf(stderr, "study: --%s takes", option);
    for (int i = 0; names(i) != NULL; i++)
        fprintf(stderr, "%s %s", i > 0 ? "," : "", names(i));
    fprintf(stderr, "; not \"%s\".\n", name);
    return -2;
}

/** Which cells are asked for; -1 all. */
struct wanted {
    int movement, set, placement, trunk;
};

static bool find_wanted(const struct options *o, struct wanted *wanted)
{
    wanted->movement = index_of("movement", o->movement, study_movement_name);
    wanted->set = index_of("set", o->set, study_set_name);
    wanted->placement = index_of("placement", o->placement, study_placement_name);
    wanted->trunk = index_of("trunk", o->trunk, study_trunk_name);
    return wanted->movement > -2 && wanted->set > -2 && wanted->placement > -2 &&
           wanted->trunk > -2;
}

/** The cell itself, and what is compared with it. */
static void add_cells(struct study_plan *plan, const struct options *o,
                      struct study_case of)
{
    size_t count = (size_t)o->sessions;
    study_plan_add(plan, &of, count);
    if (o->plain)
        return;
    of.visit = 1;
    study_plan_add(plan, &of, count);
    of.visit = 0;
    of.girdle = STUDY_FROZEN;
    if (of.set == STUDY_BANDS && !study_is_rotation(of.movement))
        study_plan_add(plan, &of, count);
}

static void fill_plan(struct study_plan *plan, const struct options *o,
                      const struct wanted *w)
{
    for (int m = 0; m < STUDY_MOVEMENTS; m++) {
        for (int s = 0; s < STUDY_SETS; s++) {
            for (int p = 0; p < STUDY_PLACEMENTS; p++) {
                struct study_case of = {
                    .seed = (uint64_t)o->seed,
                    .movement = (enum study_movement)m,
                    .set = (enum study_set)s,
                    .placement = (enum study_placement)p,
                    .told = o->told,
                    .levelled = o->levelled,
                    .trunk = w->trunk < 0 ? STUDY_CHEST_HIP : (enum study_trunk)w->trunk,
                };
                /* There the shoulder has no marker. */
                if (study_is_rotation(of.movement) && p != STUDY_HEAD)
                    continue;
                if ((w->movement < 0 || w->movement == m) &&
                    (w->set < 0 || w->set == s) &&
                    (w->placement < 0 || w->placement == p))
                    add_cells(plan, o, of);
            }
        }
    }
}

static bool read_options(int argc, char **argv, struct options *o)
{
    GOptionEntry entries[] = {
        {"seed", 0, 0, G_OPTION_ARG_INT64, &o->seed,
         "first seed (1000000; smaller ones are for tuning)", "N"},
        {"sessions", 0, 0, G_OPTION_ARG_INT, &o->sessions,
         "a movement, marker set and placement (2000)", "N"},
        {"movement", 0, 0, G_OPTION_ARG_STRING, &o->movement,
         "flexion, abduction, scaption, extension, external-rotation, internal-rotation "
         "(all)",
         "NAME"},
        {"set", 0, 0, G_OPTION_ARG_STRING, &o->set, "bands, stickers5, stickers8 (all)",
         "NAME"},
        {"placement", 0, 0, G_OPTION_ARG_STRING, &o->placement,
         "of the shoulder marker: head, edge (both)", "NAME"},
        {"trunk", 0, 0, G_OPTION_ARG_STRING, &o->trunk,
         "chest-hip, hip, none (chest-hip)", "NAME"},
        {"fix", 0, 0, G_OPTION_ARG_STRING_ARRAY, &o->fixes,
         "no lot for a value of study_spreads.h; may be repeated", "NAME=VALUE"},
        {"levelled", 0, 0, G_OPTION_ARG_NONE, &o->levelled,
         "the camera's level was read off a board (else: set by eye)", NULL},
        {"told", 0, 0, G_OPTION_ARG_NONE, &o->told,
         "the place of the shoulder marker is told to the program", NULL},
        {"plain", 0, 0, G_OPTION_ARG_NONE, &o->plain, "no second visit, no frozen girdle",
         NULL},
        {"jobs", 0, 0, G_OPTION_ARG_INT, &o->jobs, "processes (2)", "N"},
        {"csv", 0, 0, G_OPTION_ARG_FILENAME, &o->csv, "one line a session", "FILE"},
        {"check", 0, 0, G_OPTION_ARG_NONE, &o->check,
         "name what is missed, and end with 1 then", NULL},
        {NULL, 0, 0, 0, NULL, NULL, NULL},
    };
    GOptionContext *context = g_option_context_new("- simulation study");
    g_option_context_add_main_entries(context, entries, NULL);
    GError *error = NULL;
    bool fine = g_option_context_parse(context, &argc, &argv, &error);
    g_option_context_free(context);
    if (!fine) {
        fprintf(stderr, "study: %s. Try --help.\n", error->message);
        g_error_free(error);
    } else if (argc > 1) {
        fprintf(stderr, "study: \"%s\" is not an option. Try --help.\n", argv[1]);
        fine = false;
    } else if (o->sessions < 1 || o->jobs < 1 || o->seed < 0) {
        fprintf(stderr,
                "study: --sessions and --jobs take 1 or more, --seed 0 or more.\n");
        fine = false;
    }
    return fine;
}

static bool fix_all(char **fixes)
{
    for (; fixes != NULL && *fixes != NULL; fixes++) {
        if (!study_fix(*fixes)) {
            fprintf(
                stderr,
                "study: --fix takes a name of tests/bench/study_spreads.h and a number, "
                "as BEND_DEG=0; not \"%s\".\n",
                *fixes);
            return false;
        }
    }
    return true;
}

static int run(const struct options *o, const struct wanted *wanted)
{
    struct study_plan *plan = calloc(1, sizeof *plan);
    if (plan == NULL)
        return 1;
    fill_plan(plan, o, wanted);
    int code = study_plan_run(plan, o->jobs) ? 0 : 1;
    if (code == 0 && o->csv != NULL)
        code = study_plan_write(plan, o->csv) ? 0 : 1;
    if (code == 0) {
        int missed = study_table_print(plan, o->check);
        code = o->check && missed > 0 ? 1 : 0;
    }
    study_plan_finish(plan);
    free(plan);
    return code;
}

int main(int argc, char **argv)
{
    struct options o = {.seed = FIRST_QUOTED_SEED, .sessions = 2000, .jobs = 2};
    struct wanted wanted;
    int code = 2;
    if (read_options(argc, argv, &o) && find_wanted(&o, &wanted) && fix_all(o.fixes))
        code = run(&o, &wanted);
    g_free(o.movement);
    g_free(o.set);
    g_free(o.placement);
    g_free(o.trunk);
    g_free(o.csv);
    g_strfreev(o.fixes);
    return code;
}
