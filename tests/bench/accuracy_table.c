/*
 * Accuracy over all scenes: found, wrong, error, for ours and for the usual pipeline, on
 * the same frames. Prints a Markdown table or CSV. Fails when ours misses its target or
 * accepts anything wrong.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/picture.h"
#include "omogon/simulated.h"
#include "omogon/text.h"
#include "omogon/vision.h"

#include "accuracy_scenes.h"
#include "random_scenes.h"
#include "score.h"
#include "usual_pipeline.h"

/* 13 s: two repetitions and what the scene has to show. Shorter scenes end by themselves.
 */
enum { FRAMES_PER_SCENE = 390, FRAMES_PER_RANDOM_SCENE = 150 };
/* A short look is not spent on the rest before the movement. */
#define SHORT_REST_S "0.3"

struct options {
    long frames;
    bool csv, faults, both;
    const char *only;  /* part of a scene's title */
    long random, seed; /* how many scenes to draw instead, and from where on */
};

/* Both methods on one scene. */
struct run {
    const struct accuracy_scene *scene;
    struct scene_facts facts;
    struct omo_source *source;
    struct omo_jpeg *jpeg;
    struct omo_tracker *tracker; /* or, of both arms, the pair */
    struct omo_pair *pair;
    struct usual_pipeline *usual; /* NULL without OpenCV */
    struct score ours_score, usual_score;
};

static bool open_source(struct run *run, long frames)
{
    struct omo_scene *scene = omo_scene_create();
    bool fine = scene && scene_load(run->scene, scene);
    fine = fine && (run->scene->keys || frames >= FRAMES_PER_SCENE ||
                    omo_scene_set(scene, "rest_s", SHORT_REST_S) == OMO_OK);
    fine = fine && omo_simulated_open(scene, &run->source) == OMO_OK;
    omo_scene_destroy(scene);
    return fine;
}

/* The facts are read before. */
static bool run_begin(struct run *run, long frames)
{
    score_begin(&run->ours_score, run->facts.forearm);
    score_begin(&run->usual_score, run->facts.forearm);
    run->jpeg = omo_jpeg_create();
    run->usual = usual_pipeline_create(&run->facts.tracker.set, run->facts.chest);
    return run->jpeg && (run->usual || !usual_pipeline_is_there()) &&
           (run->facts.both
                ? omo_pair_create(&run->facts.tracker, &run->pair)
                : omo_tracker_create(&run->facts.tracker, &run->tracker)) == OMO_OK &&
           open_source(run, frames);
}

static void run_end(struct run *run)
{
    omo_source_destroy(run->source);
    omo_tracker_destroy(run->tracker);
    omo_pair_destroy(run->pair);
    omo_jpeg_destroy(run->jpeg);
    usual_pipeline_destroy(run->usual);
}

/* The measured arm's markers in ours[0]; the other one's in ours[1], where it is measured
 * too. */
static enum omo_status find(struct run *run, const struct omo_frame *frame,
                            struct omo_markers ours[2])
{
    struct omo_markers sides[2];
    if (!run->facts.both)
        return omo_tracker_step(run->tracker, frame, &ours[0]);
    enum omo_status status = omo_pair_step(run->pair, frame, sides);
    if (status != OMO_OK)
        return status;
    ours[0] = sides[run->facts.tracker.side];
    ours[1] = sides[1 - run->facts.tracker.side];
    return OMO_OK;
}

/* One frame's bytes through both; OMO_END after the last. */
static enum omo_status run_step(struct run *run, struct omo_markers ours[2],
                                struct omo_markers *usual, struct omo_truth *truth)
{
    const uint8_t *bytes;
    size_t size;
    struct omo_frame frame = {0};
    enum omo_status status =
        omo_simulated_next_jpeg(run->source, &bytes, &size, &frame.time_s);
    if (status != OMO_OK)
        return status;
    omo_simulated_truth(run->source, truth);
    status =
        omo_jpeg_decode(run->jpeg, bytes, size, false, &frame.planes, &frame.damaged);
    if (status != OMO_OK)
        return status;
    frame.index = truth->frame;
    frame.turned.coded_width = frame.planes.width;
    frame.turned.coded_height = frame.planes.height;
    status = find(run, &frame, ours);
    if (status == OMO_OK && run->usual &&
        !usual_pipeline_step(run->usual, bytes, size, usual))
        status = OMO_ERR_FORMAT;
    return status;
}

/* What went wrong in a frame, one line a marker: for whoever looks into a scene. */
static void print_faults(const struct accuracy_scene *scene, const char *arm,
                         const struct omo_markers *markers, const struct omo_truth *truth)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const struct omo_marker *m = &markers->role[i];
        const struct omo_truth_marker *t = &truth->marker[i];
        const enum verdict verdict = judge_marker(m, t);
        if (verdict != VERDICT_MISSED && verdict != VERDICT_WRONG)
            continue;
        fprintf(stderr,
                "%s: frame %lld, %s%s %s: true %.1f %.1f, visible %.2f, measured %.1f "
                "%.1f\n",
                scene->title, (long long)truth->frame, arm,
                omo_role_name((enum omo_role)i),
                verdict == VERDICT_WRONG ? "wrong" : "missed", t->x_px, t->y_px,
                t->visible_ratio, m->x_px, m->y_px);
    }
}

/* Of a band that shows its near side alone, the middle of that is the place to be found.
 */
static void turn_to_what_is_seen(const struct scene_facts *facts, struct omo_truth *truth)
{
    struct omo_truth_marker *wrist = &truth->marker[OMO_WRIST];
    if (!facts->towards || !(wrist->visible_ratio >= SCORE_VISIBLE_RATIO))
        return;
    wrist->x_px = wrist->middle_x_px;
    wrist->y_px = wrist->middle_y_px;
}

static bool run_scene(struct run *run, const struct options *options)
{
    enum omo_status status = OMO_ERR_ARG;
    if (run_begin(run, options->frames)) {
        struct omo_markers ours[2], usual;
        struct omo_truth truth;
        long frames = 0;
        while (frames++ < options->frames &&
               (status = run_step(run, ours, &usual, &truth)) == OMO_OK) {
            turn_to_what_is_seen(&run->facts, &truth);
            score_frame(&run->ours_score, &ours[0], &truth);
            if (run->usual)
                score_frame(&run->usual_score, &usual, &truth);
            if (options->faults)
                print_faults(run->scene, "", &ours[0], &truth);
            if (!run->facts.both)
                continue;
            memcpy(truth.marker, truth.other_marker, sizeof truth.marker);
            score_frame(&run->ours_score, &ours[1], &truth);
            if (options->faults)
                print_faults(run->scene, "other ", &ours[1], &truth);
        }
    }
    run_end(run);
    if (status != OMO_END && status != OMO_OK)
        fprintf(stderr, "%s: %s\n", run->scene->title, omo_status_text(status));
    return status == OMO_END || status == OMO_OK;
}

/* ---- the table ---- */

static void print_head(bool csv)
{
    if (csv) {
        printf("scene,real_room,frames,visible,found_ratio,wrong,error_px,angle_deg,"
               "usual_found_ratio,usual_wrong,usual_error_px,usual_angle_deg,"
               "usual_passes\n");
        return;
    }
    printf("| %-28s | frames | visible | found %% | wrong | error px | angle deg "
           "| usual: found %% | wrong | error px | angle deg | usual passes |\n",
           "scene");
    printf("|:-----------------------------|-------:|--------:|--------:|------:"
           "|---------:|----------:|---------------:|------:|---------:|----------:"
           "|:-------------|\n");
}

/* A number for a cell; of no value "-" in the table and nothing in CSV. */
static const char *cell(double value, int decimals, bool csv, char *text)
{
    omo_number_text(value, decimals, text, 32);
    if (!*text && !csv)
        strcpy(text, "-");
    return text;
}

static void print_score(struct score *score, bool first, bool csv)
{
    char found[32], error[32], angle[32];
    const double ratio = score_found_ratio(score);
    cell(csv ? ratio : 100.0 * ratio, csv ? 5 : 2, csv, found);
    cell(score_error_median_px(score), csv ? 4 : 3, csv, error);
    cell(score_angle_rms_deg(score), csv ? 4 : 3, csv, angle);
    if (csv)
        printf(",%s,%lld,%s,%s", found, (long long)score->wrong, error, angle);
    else
        printf(" %*s | %5lld | %8s | %9s |", first ? 7 : 14, found,
               (long long)score->wrong, error, angle);
}

static void print_row(const char *name, const char *real_room, struct score *ours,
                      struct score *usual, const char *usual_passes, bool csv)
{
    if (csv)
        printf("\"%s\",%s,%lld,%lld", name, real_room, (long long)ours->frames,
               (long long)ours->visible);
    else
        printf("| %-28s | %6lld | %7lld |", name, (long long)ours->frames,
               (long long)ours->visible);
    print_score(ours, true, csv);
    print_score(usual, false, csv);
    printf(csv ? ",%s\n" : " %-12s |\n", usual_passes);
    fflush(stdout);
}

/* Totals of a table. */
struct totals {
    struct score ours, usual;
    int scenes, real_rooms, skipped;
    int hard;       /* the usual pipeline misses too much or accepts something wrong */
    int hard_found; /* of them, those in which it misses too much */
    int passed;     /* by ours */
    bool fine;
};

static void table_scene(const struct accuracy_scene *scene, bool footage,
                        const struct options *options, struct totals *totals)
{
    struct run run = {.scene = scene};
    bool fine = scene_facts_read(scene, &run.facts);
    if (fine && run.facts.real_room && !footage) {
        totals->skipped++;
        return;
    }
    fine = fine && run_scene(&run, options);
    if (fine) {
        const bool easy = score_passes(&run.usual_score);
        print_row(scene->title, run.facts.real_room ? "yes" : "no", &run.ours_score,
                  &run.usual_score, easy ? "passes" : "", options->csv);
        score_add(&totals->ours, &run.ours_score);
        score_add(&totals->usual, &run.usual_score);
        totals->scenes++;
        totals->real_rooms += run.facts.real_room;
        totals->hard += !easy;
        totals->passed += score_passes(&run.ours_score);
        totals->hard_found += score_found_ratio(&run.usual_score) < SCORE_PASS_RATIO;
    }
    totals->fine = totals->fine && fine;
    score_free(&run.ours_score);
    score_free(&run.usual_score);
}

static void print_summary(struct totals *totals)
{
    printf("\n%s", score_rule);
    printf(
        "\n%d scenes, %d of them with real rooms behind; ours passes %d, that is, finds "
        "at least %.0f %% and accepts nothing wrong.\n",
        totals->scenes, totals->real_rooms, totals->passed, 100.0 * SCORE_PASS_RATIO);
    if (usual_pipeline_is_there())
        printf("%d of them are hard: the usual pipeline (OpenCV %s) finds less than %.0f "
               "%% (%d scenes) or accepts something wrong.\n",
               totals->hard, usual_pipeline_opencv_version(), 100.0 * SCORE_PASS_RATIO,
               totals->hard_found);
    else
        printf("without OpenCV: the usual pipeline is not compared\n");
    if (totals->skipped > 0)
        printf("skipped: %d scenes with real rooms, since OMOGON_FOOTAGE is not set\n",
               totals->skipped);
    printf("target: at least %.0f %% of the visible markers found and none wrong: %s\n",
           100.0 * SCORE_PASS_RATIO, score_passes(&totals->ours) ? "met" : "MISSED");
}

static bool print_table(const struct options *options)
{
    struct totals totals = {.fine = true};
    const char *footage = getenv("OMOGON_FOOTAGE");
    print_head(options->csv);
    for (long i = 0; i < options->random; i++) {
        char title[32];
        snprintf(title, sizeof title, "random %ld", options->seed + i);
        struct accuracy_scene scene = {.title = title,
                                       .keys = random_scene((uint64_t)(options->seed + i),
                                                            footage)};
        if (options->both)
            random_scene_both(scene.keys, (uint64_t)(options->seed + i));
        table_scene(&scene, footage && *footage, options, &totals);
        g_key_file_free(scene.keys);
    }
    for (int i = 0; options->random == 0 && i < accuracy_scene_count; i++) {
        const struct accuracy_scene *scene = &accuracy_scenes[i];
        if (!options->only || strstr(scene->title, options->only))
            table_scene(scene, footage && *footage, options, &totals);
    }
    print_row("all", "", &totals.ours, &totals.usual, "", options->csv);
    if (!options->csv)
        print_summary(&totals);
    const bool fine = totals.fine && score_passes(&totals.ours);
    score_free(&totals.ours);
    score_free(&totals.usual);
    return fine;
}

static bool read_options(int argc, char **argv, struct options *options)
{
    *options = (struct options){.frames = 0};
    for (int i = 1; i < argc; i++) {
        long long number;
        if (strcmp(argv[i], "--csv") == 0)
            options->csv = true;
        else if (strcmp(argv[i], "--faults") == 0)
            options->faults = true;
        else if (strcmp(argv[i], "--both") == 0)
            options->both = true;
        else if (strcmp(argv[i], "--scene") == 0 && i + 1 < argc)
            options->only = argv[++i];
        else if (strcmp(argv[i], "--frames") == 0 && i + 1 < argc &&
                 omo_integer_parse(argv[++i], &number) && number > 0 && number < 100000)
            options->frames = (long)number;
        else if (strcmp(argv[i], "--random") == 0 && i + 1 < argc &&
                 omo_integer_parse(argv[++i], &number) && number > 0 && number < 100000)
            options->random = (long)number;
        else if (strcmp(argv[i], "--seed") == 0 && i + 1 < argc &&
                 omo_integer_parse(argv[++i], &number) && number >= 0 &&
                 number < 1000000000)
            options->seed = (long)number;
        else
            return false;
    }
    if (options->frames == 0)
        options->frames = options->random ? FRAMES_PER_RANDOM_SCENE : FRAMES_PER_SCENE;
    return true;
}

int main(int argc, char **argv)
{
    struct options options;
    if (!read_options(argc, argv, &options)) {
        fprintf(
            stderr,
            "usage: accuracy_table [--frames N] [--scene PART-OF-TITLE] "
            "[--random COUNT [--seed N] [--both]] [--csv] [--faults]\n"
            "  --frames N  of each scene at most (default %d, random scenes %d)\n"
            "  --random    scenes drawn at random, numbered from --seed (0) on\n"
            "  --both      in each of them both arms are raised and measured at once\n"
            "  --faults    each missed or wrong marker, on standard error\n",
            FRAMES_PER_SCENE, FRAMES_PER_RANDOM_SCENE);
        return 2;
    }
    return print_table(&options) ? EXIT_SUCCESS : EXIT_FAILURE;
}
