/*
 * Speed in one process: libjpeg-turbo's full decode, the usual OpenCV pipeline and ours,
 * from the same stored bytes, in turns of a few frames, in CPU time of the one thread.
 * Ours prints its own error beside its time. Then memory over many frames, and
 * allocations per frame.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <jpeglib.h>
#include <turbojpeg.h>

#include "omogon/geometry.h"
#include "omogon/picture.h"
#include "omogon/text.h"
#include "omogon/vision.h"

#include "allocation_count.h"
#include "score.h"
#include "stored_frames.h"
#include "usual_pipeline.h"

enum {
    FRAMES_STORED = 90,
    FRAMES_TIMED = 360,
    TURN_FRAMES = 15,
    SHORT_RUN_FRAMES = 4000,
    LONG_RUN_FRAMES = 100000,
    RUN_BASE_FRAMES = 1000, /* memory is compared with that after these */
    COUNTED_FRAMES = 120,
    RSS_SLACK_KB = 256,
};
/* What a machine's other work may add to a ratio is not in here: the methods take turns
 * and only the thread's own time counts. */
struct setup {
    const char *name, *scene;
    const char *settings[7]; /* name, value, ..., NULL */
    double decode_ratio_max; /* NAN: no target */
    double usual_ratio_min;
};
static const struct setup setups[] = {
    {"720p 4:2:0", "good-light-420", {"rest_s", "0.5", NULL}, 0.68, 8.0},
    {"720p 4:2:2", "good-light-422", {"rest_s", "0.5", NULL}, 0.82, 6.5},
    {"1080p 4:2:2",
     "good-light-422",
     {"rest_s", "0.5", "width", "1920", "height", "1080", NULL},
     NAN,
     NAN},
};
enum { SETUP_COUNT = sizeof setups / sizeof *setups };

enum method { FULL_DECODE, USUAL, OURS, METHOD_COUNT };
enum { PART_OF_OURS = METHOD_COUNT, TIME_COUNT };

/* What ours needs from frame to frame. */
struct ours {
    struct omo_jpeg *jpeg;
    struct omo_tracker *tracker;
    int64_t step;
    double angle_deg; /* of the last frame */
    double decode_ms; /* of the last frame: its share up to the planes */
};

static void must(int fine, const char *what)
{
    if (fine)
        return;
    fprintf(stderr, "%s\n", what);
    exit(EXIT_FAILURE);
}

static double thread_time_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

static long resident_kb(void)
{
    long size, resident;
    FILE *file = fopen("/proc/self/statm", "r");
    must(file && fscanf(file, "%ld %ld", &size, &resident) == 2, "no /proc/self/statm");
    fclose(file);
    return resident * (sysconf(_SC_PAGESIZE) / 1024);
}

static void ours_begin(struct ours *ours, const struct omo_marker_set *set)
{
    struct omo_tracker_settings settings = {
        .set = *set,
        .body = true,
        .side = OMO_RIGHT,
        .view = OMO_VIEW_SIDE,
        .position = OMO_STANDING,
        .needed = 1u << OMO_SHOULDER | 1u << OMO_ELBOW,
    };
    *ours = (struct ours){.jpeg = omo_jpeg_create()};
    must(ours->jpeg != NULL, "out of memory");
    must(omo_tracker_create(&settings, &ours->tracker) == OMO_OK, "no tracker");
}

static void ours_end(struct ours *ours)
{
    omo_tracker_destroy(ours->tracker);
    omo_jpeg_destroy(ours->jpeg);
}

/* Bytes to angle. */
static void ours_step(struct ours *ours, const struct stored_frame *stored,
                      struct omo_markers *markers)
{
    struct omo_frame frame = {.index = ours->step, .time_s = (double)ours->step / 30.0};
    const double begin_ms = thread_time_ms();
    must(omo_jpeg_decode(ours->jpeg, stored->bytes, stored->size, false, &frame.planes,
                         &frame.damaged) == OMO_OK,
         "a stored frame cannot be decoded");
    ours->decode_ms = thread_time_ms() - begin_ms;
    frame.turned.coded_width = frame.planes.width;
    frame.turned.coded_height = frame.planes.height;
    must(omo_tracker_step(ours->tracker, &frame, markers) == OMO_OK, "tracker failed");
    const struct omo_marker *m = markers->role;
    const struct omo_point arm = {m[OMO_ELBOW].x_px - m[OMO_SHOULDER].x_px,
                                  m[OMO_ELBOW].y_px - m[OMO_SHOULDER].y_px};
    const struct omo_point trunk = {m[OMO_HIP].x_px - m[OMO_SHOULDER].x_px,
                                    m[OMO_HIP].y_px - m[OMO_SHOULDER].y_px};
    ours->angle_deg = omo_turn_deg(trunk, arm);
    ours->step++;
}

/* The three methods' state and times for one setup. */
struct race {
    tjhandle turbo;
    unsigned char *bgr;
    struct usual_pipeline *usual;
    struct ours ours;
    double *time_ms[TIME_COUNT]; /* of each method, and the decoding part of ours */
    struct score ours_score, usual_score;
};

static void full_decode(struct race *race, const struct stored_frame *stored)
{
    int width, height, subsampling, colours;
    must(tjDecompressHeader3(race->turbo, stored->bytes, stored->size, &width, &height,
                             &subsampling, &colours) == 0 &&
             tjDecompress2(race->turbo, stored->bytes, stored->size, race->bgr, width, 0,
                           height, TJPF_BGR, 0) == 0,
         "a stored frame cannot be decoded");
}

/* One method on one frame, with the thread's time for it. */
static double run_method(struct race *race, enum method method,
                         const struct stored_frame *stored, struct omo_markers *markers)
{
    const double begin_ms = thread_time_ms();
    switch (method) {
    case FULL_DECODE:
        full_decode(race, stored);
        break;
    case USUAL:
        must(usual_pipeline_step(race->usual, stored->bytes, stored->size, markers),
             "OpenCV failed");
        break;
    case OURS:
        ours_step(&race->ours, stored, markers);
        break;
    case METHOD_COUNT:
        break;
    }
    return thread_time_ms() - begin_ms;
}

/* One method on a run of frames. */
static void run_turn(struct race *race, enum method method,
                     const struct stored_frames *stored, int64_t first)
{
    for (int64_t step = first; step < first + TURN_FRAMES; step++) {
        const struct stored_frame *frame = stored_frames_at(stored, step);
        struct omo_markers markers;
        race->time_ms[method][step] = run_method(race, method, frame, &markers);
        if (method == USUAL)
            score_frame(&race->usual_score, &markers, &frame->truth);
        if (method != OURS)
            continue;
        score_frame(&race->ours_score, &markers, &frame->truth);
        race->time_ms[PART_OF_OURS][step] = race->ours.decode_ms;
    }
}

/* Each method works on a short run of frames, as a program that uses it would, then the
 * next one on the same frames; all six orders take turns. A change of the method after
 * every frame would charge each for the caches that the one before has left. */
static void race_run(struct race *race, const struct stored_frames *stored)
{
    static const enum method orders[6][METHOD_COUNT] = {
        {FULL_DECODE, USUAL, OURS}, {OURS, USUAL, FULL_DECODE},
        {USUAL, FULL_DECODE, OURS}, {USUAL, OURS, FULL_DECODE},
        {FULL_DECODE, OURS, USUAL}, {OURS, FULL_DECODE, USUAL},
    };
    for (int turn = 0; turn < FRAMES_TIMED / TURN_FRAMES; turn++)
        for (int i = 0; i < METHOD_COUNT; i++)
            run_turn(race, orders[turn % 6][i], stored, (int64_t)turn * TURN_FRAMES);
}

static void race_begin(struct race *race, const struct omo_marker_set *set, size_t pixels,
                       bool chest)
{
    *race = (struct race){.turbo = tjInitDecompress()};
    race->bgr = malloc(pixels * 3);
    race->usual = usual_pipeline_create(set, chest);
    must(race->turbo && race->bgr && race->usual, "a method cannot start");
    for (int method = 0; method < TIME_COUNT; method++) {
        race->time_ms[method] = malloc(sizeof(double) * FRAMES_TIMED);
        must(race->time_ms[method] != NULL, "out of memory");
    }
    score_begin(&race->ours_score, false);
    score_begin(&race->usual_score, false);
    ours_begin(&race->ours, set);
}

static void race_end(struct race *race)
{
    ours_end(&race->ours);
    usual_pipeline_destroy(race->usual);
    tjDestroy(race->turbo);
    free(race->bgr);
    for (int method = 0; method < TIME_COUNT; method++)
        free(race->time_ms[method]);
    score_free(&race->ours_score);
    score_free(&race->usual_score);
}

static const char *verdict(double target, int met)
{
    if (isnan(target))
        return "";
    return met ? " met" : " MISSED";
}

static void print_score(const char *who, struct score *score)
{
    printf("    %-5s found %5.1f %%, wrong %lld, error %.3f px, angle %.3f deg\n", who,
           100.0 * score_found_ratio(score), (long long)score->wrong,
           score_error_median_px(score), score_angle_rms_deg(score));
}

/* Prints one setup's race; true when its targets are met. */
static bool run_race(const struct setup *setup, const struct omo_marker_set *set,
                     const struct stored_frames *stored, size_t pixels)
{
    struct race race;
    race_begin(&race, set, pixels, stored->frame[0].truth.marker[OMO_CHEST].placed);
    race_run(&race, stored);
    double ms[TIME_COUNT];
    for (int method = 0; method < TIME_COUNT; method++)
        ms[method] = median_of(race.time_ms[method], FRAMES_TIMED);
    const double to_decode = ms[OURS] / ms[FULL_DECODE];
    const double to_usual = ms[USUAL] / ms[OURS];
    const bool decode_met = !(to_decode > setup->decode_ratio_max);
    const bool usual_met = !(to_usual < setup->usual_ratio_min);
    printf("%s, %.0f kB a frame\n", setup->name, stored->mean_size_bytes / 1000.0);
    printf("    full decode %.3f ms, usual pipeline %.3f ms, ours %.3f ms (%.3f of "
           "it to the planes)\n",
           ms[FULL_DECODE], ms[USUAL], ms[OURS], ms[PART_OF_OURS]);
    printf("    ours / full decode %.3f", to_decode);
    if (!isnan(setup->decode_ratio_max))
        printf(" (at most %.2f:%s)", setup->decode_ratio_max,
               verdict(setup->decode_ratio_max, decode_met));
    printf(", usual / ours %.2f", to_usual);
    if (!isnan(setup->usual_ratio_min))
        printf(" (at least %.1f:%s)", setup->usual_ratio_min,
               verdict(setup->usual_ratio_min, usual_met));
    printf("\n");
    print_score("ours", &race.ours_score);
    print_score("usual", &race.usual_score);
    race_end(&race);
    return decode_met && usual_met;
}

/* Memory over a long run of one setup's frames; true when it stays flat. */
static bool run_memory(const struct omo_marker_set *set,
                       const struct stored_frames *stored, int64_t frames)
{
    struct ours ours;
    struct omo_markers markers;
    long base_kb = 0;
    ours_begin(&ours, set);
    for (int64_t step = 0; step < frames; step++) {
        ours_step(&ours, stored_frames_at(stored, step), &markers);
        if (step + 1 == RUN_BASE_FRAMES)
            base_kb = resident_kb();
    }
    const long end_kb = resident_kb();
    const bool flat = end_kb - base_kb <= RSS_SLACK_KB;
    printf("memory: %ld kB after %d frames, %ld kB after %lld frames: %s\n", base_kb,
           RUN_BASE_FRAMES, end_kb, (long long)frames, flat ? "flat" : "GROWS");
    ours_end(&ours);
    return flat;
}

/* Allocations once running; true when our own code makes none. */
static bool run_allocations(const struct omo_marker_set *set,
                            const struct stored_frames *stored)
{
    if (!allocation_count_works()) {
        printf("allocations: not counted in this build\n");
        return true;
    }
    struct ours ours;
    struct omo_markers markers;
    ours_begin(&ours, set);
    int64_t step = 0;
    for (; step < COUNTED_FRAMES; step++)
        ours_step(&ours, stored_frames_at(stored, step), &markers);
    allocation_count_start();
    for (; step < 2 * COUNTED_FRAMES; step++)
        ours_step(&ours, stored_frames_at(stored, step), &markers);
    const struct allocation_count count = allocation_count_stop();
    ours_end(&ours);
    printf("allocations over %d frames once running: %lld in our code, %lld in libjpeg "
           "(%.1f a frame), %lld elsewhere\n",
           COUNTED_FRAMES, (long long)count.own, (long long)count.jpeg,
           (double)count.jpeg / COUNTED_FRAMES, (long long)count.others);
    return count.own == 0 && count.others == 0;
}

static void print_machine(void)
{
    char line[256];
    char model[256] = "unknown processor";
    FILE *file = fopen("/proc/cpuinfo", "r");
    while (file && fgets(line, sizeof line, file)) {
        const char *colon = strchr(line, ':');
        if (strncmp(line, "model name", 10) == 0 && colon) {
            omo_text_copy(model, sizeof model, colon + 2);
            model[strcspn(model, "\n")] = '\0';
            break;
        }
    }
    if (file)
        fclose(file);
#define TEXT_OF(macro)  TEXT_OF_(macro)
#define TEXT_OF_(macro) #macro
    printf("%s, %ld cores online, compiler %s\n", model, sysconf(_SC_NPROCESSORS_ONLN),
           __VERSION__);
    printf("omogon %s, libjpeg-turbo %s, OpenCV %s on one thread\n", OMO_VERSION,
           TEXT_OF(LIBJPEG_TURBO_VERSION), usual_pipeline_opencv_version());
    printf(
        "median CPU time of one thread over %d frames each, the methods taking turns\n",
        FRAMES_TIMED);
}

int main(int argc, char **argv)
{
    const bool long_run = argc == 2 && strcmp(argv[1], "--long") == 0;
    if (argc > 2 || (argc == 2 && !long_run)) {
        fprintf(stderr,
                "usage: bench_speed [--long]\n"
                "  --long  watch memory over %d frames instead of %d\n",
                LONG_RUN_FRAMES, SHORT_RUN_FRAMES);
        return 2;
    }
    struct omo_marker_set set;
    if (omo_set_load("default", &set) != OMO_OK)
        return EXIT_FAILURE;
    print_machine();
    bool fine = true;
    for (int i = 0; i < SETUP_COUNT; i++) {
        struct stored_frames stored;
        struct omo_planes planes;
        struct omo_jpeg *jpeg = omo_jpeg_create();
        stored_frames_render(&stored, setups[i].scene, setups[i].settings, FRAMES_STORED);
        must(jpeg && omo_jpeg_decode(jpeg, stored.frame[0].bytes, stored.frame[0].size,
                                     false, &planes, NULL) == OMO_OK,
             "a stored frame cannot be decoded");
        fine &= run_race(&setups[i], &set, &stored,
                         (size_t)planes.width * (size_t)planes.height);
        omo_jpeg_destroy(jpeg);
        if (i == 0) {
            fine &= run_allocations(&set, &stored);
            fine &=
                run_memory(&set, &stored, long_run ? LONG_RUN_FRAMES : SHORT_RUN_FRAMES);
        }
        stored_frames_free(&stored);
    }
    return fine ? EXIT_SUCCESS : EXIT_FAILURE;
}
