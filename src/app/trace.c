#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/clip_run.h"
#include "app/clip_view.h"
#include "app/commands.h"
#include "app/corrections.h"
#include "app/inputs.h"
#include "app/manifest.h"
#include "app/options.h"
#include "app/output_file.h"
#include "app/overlay.h"
#include "app/provenance.h"
#include "app/rise_from.h"
#include "app/stickers_only.h"
#include "omogon/clip_writer.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** The words of a call. */
struct trace_words {
    struct omo_option_words common;
    char **starts, **ends, **files;
    char *jobs, *list, *rise_from, *manifest, *shard, *protocol, *again, *corrections,
        *overlay, *sheet;
    gboolean json, picture, show_head, stickers_only, budget, provenance, view;
};

static GOptionContext *make_context(struct trace_words *w)
{
    const GOptionEntry entries[] = {
        {"start", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->starts,
         OMO_WORD(
             "where a movement begins, by the clip's own time stamps; once a movement"),
         "S"},
        {"end", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->ends, OMO_WORD("where it ends"),
         "S"},
        {"jobs", 'j', 0, G_OPTION_ARG_STRING, &w->jobs,
         OMO_WORD("clips measured at once (default: one a processor)"), "N"},
        {"list", 0, 0, G_OPTION_ARG_FILENAME, &w->list,
         OMO_WORD("a text file with one clip a line (- for standard input)"), "FILE"},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w->json,
         OMO_WORD("figures as one JSON array on standard output"), NULL},
        {"budget", 0, 0, G_OPTION_ARG_NONE, &w->budget,
         OMO_WORD("what the figures are good to, source by source"), NULL},
        {"picture", 0, 0, G_OPTION_ARG_NONE, &w->picture,
         OMO_WORD("one annotated JPEG of each highest frame, the head covered"), NULL},
        {"show-head", 0, 0, G_OPTION_ARG_NONE, &w->show_head,
         OMO_WORD(
             "leave the head visible in pictures and videos (with the person's consent)"),
         NULL},
        {"overlay", 0, 0, G_OPTION_ARG_FILENAME, &w->overlay,
         OMO_WORD(
             "a video (.mkv or .avi) with what was measured drawn over every frame, the "
             "head covered"),
         "FILE"},
        {"contact-sheet", 0, 0, G_OPTION_ARG_FILENAME, &w->sheet,
         OMO_WORD(
             "the first frame and the highest of each repetition side by side, as one "
             "JPEG, the head covered"),
         "FILE"},
        {"rise-from", 0, 0, G_OPTION_ARG_FILENAME, &w->rise_from,
         OMO_WORD("a trace of the same person (the other side, an earlier session): what "
                  "the shoulder's rise is judged against"),
         "TRACE"},
        {"manifest", 0, 0, G_OPTION_ARG_FILENAME, &w->manifest,
         OMO_WORD(
             "a whole study: a CSV table with a movement a row (clip, person, visit, "
             "movement, side, rater, start, end ...)"),
         "FILE"},
        {"shard", 0, 0, G_OPTION_ARG_STRING, &w->shard,
         OMO_WORD(
             "of the manifest's rows only every Nth, the Ith first, into a folder of "
             "its own; the same call without it gathers all"),
         "I/N"},
        {"protocol", 0, 0, G_OPTION_ARG_FILENAME, &w->protocol,
         OMO_WORD("what was fixed beforehand; rows that differ are named"), "FILE"},
        {"provenance", 0, 0, G_OPTION_ARG_NONE, &w->provenance,
         OMO_WORD("beside each trace a file from which it can be made again"), NULL},
        {"view", 0, 0, G_OPTION_ARG_NONE, &w->view,
         OMO_WORD(
             "a window to step through one clip frame by frame, and to place markers "
             "by hand"),
         NULL},
        {"corrections", 0, 0, G_OPTION_ARG_FILENAME, &w->corrections,
         OMO_WORD("markers placed by hand, of one clip: a CSV table with frame, marker, "
                  "x_px, y_px; what was measured there is kept in the provenance"),
         "FILE"},
        {"again", 0, 0, G_OPTION_ARG_FILENAME, &w->again,
         OMO_WORD("makes the trace of such a file again, and says whether it is the same "
                  "to the bit; FILE is the clip"),
         "PROVENANCE"},
        {"stickers-only", 0, 0, G_OPTION_ARG_NONE, &w->stickers_only,
         OMO_WORD("positions of the named stickers of --colours, without a body"), NULL},
        {G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_FILENAME_ARRAY, &w->files, NULL, NULL},
        {0},
    };
    GOptionContext *context = g_option_context_new("FILE...");
    omo_options_add(context, &w->common);
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(context,
                   OMO_WORD(
                       "Measures clips: an angle for every frame (a trace file), and for "
                       "each movement "
                       "its\nhighest angle with its uncertainty (a row in sessions.csv). "
                       "A clip is one "
                       "movement\nunless --start and --end say otherwise. FILE is a "
                       "video, a numbered "
                       "sequence of\npictures (\"dir/%04d.jpg\") or a folder of videos."),
                   OMO_WORD("Examples:\n"
                            "  omogon trace arm.mp4 --movement flexion --side right\n"
                            "  omogon trace visit3/ --movement abduction --side left "
                            "--person P07 --jobs 4\n"
                            "  omogon trace long.mov -m flexion -s right --start 3 --end "
                            "9 --start 14 --end "
                            "20\n"
                            "  omogon trace raise.mp4 --movement abduction --side both\n"
                            "  omogon trace --manifest study.csv --out study --jobs 8\n"
                            "  omogon trace wheel.mp4 --stickers-only --colours "
                            "wheel.ini --out wheel/\n\n"
                            "Exit: 0 done; 1 a clip could not be measured whole or a "
                            "file not written; 2 the "
                            "call\nis wrong.\n"),
                   true);
    return context;
}

/** --start and --end in pairs. */
static bool parse_stretches(const struct trace_words *w, GArray *stretches)
{
    guint starts = w->starts ? g_strv_length(w->starts) : 0;
    guint ends = w->ends ? g_strv_length(w->ends) : 0;
    guint count = MAX(MAX(starts, ends), 1);
    if (ends > 0 && starts > 0 && starts != ends) {
        omo_error("%u --start and %u --end do not pair up; give both for each movement",
                  starts, ends);
        return false;
    }
    for (guint i = 0; i < count; i++) {
        struct omo_stretch stretch = {NAN, NAN};
        if ((i < starts && !omo_number_parse(w->starts[i], &stretch.start_s)) ||
            (i < ends && !omo_number_parse(w->ends[i], &stretch.end_s))) {
            omo_error("--start and --end take seconds with a dot, for example 3.5");
            return false;
        }
        if (stretch.end_s <= stretch.start_s) {
            omo_error("--end %s is not after --start %s", w->ends[i], w->starts[i]);
            return false;
        }
        g_array_append_val(stretches, stretch);
    }
    return true;
}

static bool parse_jobs(const char *text, int *jobs)
{
    long long value = g_get_num_processors();
    if (text && (!omo_integer_parse(text, &value) || value < 1 || value > 256)) {
        omo_error("--jobs \"%s\" is no number of clips; give 1 to 256", text);
        return false;
    }
    *jobs = (int)value;
    return true;
}

static int measure_all(const struct trace_words *w, const struct omo_plan *plan,
                       GPtrArray *paths, GArray *stretches, GArray *corrections,
                       int job_count)
{
    struct omo_plan side[2] = {*plan, *plan};
    if (plan->both_sides)
        omo_plan_take_side(&side[1], OMO_LEFT);
    const struct omo_work work = {
        .plan = side,
        .side_count = plan->both_sides ? 2 : 1,
        .stretch = (const struct omo_stretch *)(void *)stretches->data,
        .stretch_count = (int)stretches->len,
        .words = w->provenance || corrections || w->view ? &w->common : NULL,
        .overlay = w->overlay,
        .sheet = w->sheet,
        .corrections = corrections};
    struct omo_run run = {.picture = w->picture,
                          .budget = w->budget,
                          .show_head = w->show_head};
    g_autofree struct omo_clip_job *jobs = g_new0(struct omo_clip_job, paths->len);
    if (omo_open_record(&w->common, &run.record, run.directory, sizeof run.directory) !=
        OMO_OK)
        return OMO_EXIT_FAILED;
    for (guint i = 0; i < paths->len; i++)
        jobs[i] = (struct omo_clip_job){.work = &work, .path = paths->pdata[i]};
    bool good = omo_clip_run(&run, jobs, paths->len, job_count, w->json);
    if (w->view)
        good = omo_clip_view(&run, &work, &jobs[0], good, w->json);
    omo_clip_run_finish(jobs, paths->len);
    omo_record_close(run.record);
    return good ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

static int run_manifest(const struct trace_words *w)
{
    struct omo_study study = {.words = &w->common,
                              .manifest = w->manifest,
                              .shard = w->shard,
                              .protocol = w->protocol,
                              .json = w->json};
    if (!w->manifest) {
        omo_error("--shard and --protocol belong to --manifest FILE");
        return OMO_EXIT_USAGE;
    }
    if (w->files || w->list || w->starts || w->ends || w->stickers_only || w->rise_from ||
        w->picture || w->budget) {
        omo_error("with --manifest clips and stretches stand in its table; leave FILE, "
                  "--list, --start, --end, --picture, --budget, --rise-from and "
                  "--stickers-only away");
        return OMO_EXIT_USAGE;
    }
    return parse_jobs(w->jobs, &study.jobs) ? omo_study_run(&study) : OMO_EXIT_USAGE;
}

/** What is drawn is one movement; a sentence where it is not, or a file is there. */
static bool overlays_fit(const struct trace_words *w, const struct omo_plan *plan,
                         const GPtrArray *paths, const GArray *stretches)
{
    if (!w->overlay && !w->sheet && !w->view)
        return true;
    if (paths->len > 1 || plan->both_sides || stretches->len > 1 || w->stickers_only) {
        omo_error("--overlay, --contact-sheet and --view are of one clip, one side and "
                  "one stretch");
        return false;
    }
    if (w->view && w->corrections) {
        omo_error("--view begins with the markers that were placed before; leave "
                  "--corrections away");
        return false;
    }
    if (w->overlay && !omo_clip_writer_takes(w->overlay)) {
        omo_error("--overlay ends in .mkv or .avi, not as %s does", w->overlay);
        return false;
    }
    if (w->sheet && !omo_overlay_sheet_takes(w->sheet)) {
        omo_error("--contact-sheet ends in .jpg or .jpeg, not as %s does", w->sheet);
        return false;
    }
    return (!w->overlay || omo_output_free(w->overlay, "overlay", false)) &&
           (!w->sheet || omo_output_free(w->sheet, "contact-sheet", false));
}

/** Everything after the words are parsed. */
static int run_trace(const struct trace_words *w)
{
    int failed = 0, job_count, code = OMO_EXIT_USAGE;
    g_autoptr(GArray) stretches = g_array_new(FALSE, FALSE, sizeof(struct omo_stretch));
    struct omo_plan plan;
    struct omo_rise rise; /* lent to the plan */
    g_autoptr(GArray) corrections = NULL;
    if (w->manifest || w->shard || w->protocol)
        return run_manifest(w);
    if (w->again)
        return omo_provenance_again(w->again, w->files ? w->files[0] : NULL);
    if (!w->files && !w->list) {
        omo_error("no clip is named; \"omogon trace --help\" shows examples");
        return OMO_EXIT_USAGE;
    }
    if (w->common.data && w->common.out) {
        omo_error("--data and --out exclude each other; name one folder");
        return OMO_EXIT_USAGE;
    }
    if (!parse_stretches(w, stretches) || !parse_jobs(w->jobs, &job_count) ||
        !omo_plan_resolve(&w->common, !w->stickers_only, &plan))
        return OMO_EXIT_USAGE;
    if (w->rise_from && omo_rise_from(w->rise_from, &rise) != OMO_OK) {
        omo_plan_finish(&plan);
        return OMO_EXIT_FAILED;
    }
    if (w->corrections && omo_corrections_read(w->corrections, &corrections) != OMO_OK) {
        omo_plan_finish(&plan);
        return OMO_EXIT_FAILED;
    }
    plan.measure.expected_rise = w->rise_from ? &rise : NULL;
    GPtrArray *paths = omo_inputs_expand(w->files, w->list, &failed);
    if (paths->len == 0)
        code = OMO_EXIT_FAILED;
    else if (!overlays_fit(w, &plan, paths, stretches))
        code = OMO_EXIT_USAGE;
    else if (corrections && (paths->len > 1 || plan.both_sides || stretches->len > 1)) {
        omo_error("--corrections are of one clip, one side and one stretch");
        code = OMO_EXIT_USAGE;
    } else if (w->stickers_only)
        code = omo_trace_stickers(&w->common, &plan, paths);
    else
        code = measure_all(w, &plan, paths, stretches, corrections, job_count);
    if (failed > 0)
        code = OMO_EXIT_FAILED;
    g_ptr_array_unref(paths);
    omo_plan_finish(&plan);
    return code;
}

int omo_command_trace(int argc, char **argv)
{
    struct trace_words w = {.common.takes_both_sides = true};
    GOptionContext *context = make_context(&w);
    int code = omo_options_parse(context, &argc, &argv) ? run_trace(&w) : OMO_EXIT_USAGE;
    g_option_context_free(context);
    omo_options_finish(&w.common);
    g_strfreev(w.starts);
    g_strfreev(w.ends);
    g_strfreev(w.files);
    g_free(w.jobs);
    g_free(w.list);
    char *const more[] = {w.rise_from, w.manifest,    w.shard,   w.protocol,
                          w.again,     w.corrections, w.overlay, w.sheet};
    for (size_t i = 0; i < G_N_ELEMENTS(more); i++)
        g_free(more[i]);
    return code;
}
