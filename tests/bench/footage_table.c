/*
 * Real pictures and clips with hand-marked stickers, from the folder that OMOGON_FOOTAGE
 * names. Colours are learnt by points from one marked frame and followed through the
 * others; then clips and stills of people without stickers must give no body.
 */
#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/csv.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/vision.h"

#include "score.h"

enum {
    MARKS_MAX = 64,
    SKIPPED = 77,      /* what Meson takes for a skipped test */
    STILL_REPEATS = 8, /* a still is shown as if held before the camera */
};
/* A mark without a radius counts as found within this distance. */
static const double BARE_MARK_PX = 5.0;

/* A folder with hand-marked truth. */
struct folder {
    const char *name, *truth, *pictures;
    /* One picture alone: one mark of each colour is learnt, the others are looked for. */
    bool single;
    /* Share that must be found, so that the table can fail. */
    double found_min;
};
static const struct folder folders[] = {
    {"wheel", "hpu_bicycle-wheel.csv", "hpu_bicycle-wheel.mp4", false, 0.95},
    {"balls", "tracktest.csv", "tracktest%d.jpg", false, 0.95},
    {"caps", "bottle-detection.csv", "bottle-detection.mp4", false, 0.95},
    {"sweets", "smarties.csv", "smarties.png", true, 0.95},
};
enum { FOLDER_COUNT = sizeof folders / sizeof *folders };

/* People without stickers, as patterns below the folder. */
static const char *const bodiless[] = {"signing/*.mkv", "gestures/*.jpg", "webcam/*.mp4"};
enum { BODILESS_COUNT = sizeof bodiless / sizeof *bodiless };

struct mark {
    int64_t frame;
    char name[24];
    char group[24]; /* the name without its number or place: one colour */
    double x_px, y_px, radius_px;
    bool learnt;
};

struct marks {
    struct mark mark[MARKS_MAX];
    int count;
};

/* "blue_cap_left" is of the colour "blue_cap", "red4" of "red". */
static void group_of_name(const char *name, char *group, size_t size)
{
    omo_text_copy(group, size, name);
    char *underscore = strrchr(group, '_');
    if (underscore)
        *underscore = '\0';
    group[strcspn(group, "0123456789")] = '\0';
}

static bool mark_of_row(const struct omo_csv_table *table, size_t row, struct mark *mark)
{
    long long frame = 0;
    memset(mark, 0, sizeof *mark);
    /* A still's name instead of a number: the only frame there is. */
    if (!omo_integer_parse(omo_csv_cell(table, row, 0), &frame))
        frame = 0;
    mark->frame = frame;
    omo_text_copy(mark->name, sizeof mark->name, omo_csv_cell(table, row, 1));
    group_of_name(mark->name, mark->group, sizeof mark->group);
    return omo_number_parse(omo_csv_cell(table, row, 2), &mark->x_px) &&
           omo_number_parse(omo_csv_cell(table, row, 3), &mark->y_px) &&
           omo_number_parse(omo_csv_cell(table, row, 4), &mark->radius_px);
}

static bool marks_read(const char *path, struct marks *marks)
{
    gchar *bytes = NULL;
    gsize size = 0;
    struct omo_csv_table *table = NULL;
    marks->count = 0;
    if (!g_file_get_contents(path, &bytes, &size, NULL))
        return false;
    bool fine = omo_csv_parse(bytes, size, &table, NULL) == OMO_OK;
    for (size_t row = 1; fine && row < omo_csv_rows(table); row++) {
        fine = marks->count < MARKS_MAX &&
               mark_of_row(table, row, &marks->mark[marks->count]);
        marks->count += fine;
    }
    if (table)
        omo_csv_destroy(table);
    g_free(bytes);
    return fine && marks->count > 0;
}

/* Chooses the marks to learn from: all of the first marked frame, or of a single picture
 * the first of each colour. */
static int choose_points(const struct folder *folder, struct marks *marks,
                         struct omo_learn_point *points)
{
    int count = 0;
    for (int i = 0; i < marks->count; i++) {
        struct mark *mark = &marks->mark[i];
        bool again = false;
        for (int k = 0; k < i && folder->single; k++)
            again |= strcmp(marks->mark[k].group, mark->group) == 0;
        if (mark->frame != marks->mark[0].frame || again || count == OMO_SET_MAX)
            continue;
        mark->learnt = true;
        omo_text_copy(points[count].name, sizeof points[count].name, mark->name);
        points[count].x_px = mark->x_px;
        points[count].y_px = mark->y_px;
        points[count].frame = mark->frame;
        count++;
    }
    return count;
}

static enum omo_status learn(const char *path, const struct omo_learn_point *points,
                             int point_count, struct omo_marker_set *set)
{
    struct omo_source *source = NULL;
    struct omo_learner *learner = NULL;
    struct omo_frame frame;
    struct omo_learn_report report;
    enum omo_status status = omo_clip_open(path, &source);
    if (status != OMO_OK)
        return status;
    status = omo_learner_create(points, point_count, &learner);
    while (status == OMO_OK) {
        status = omo_source_next(source, true, &frame);
        if (status == OMO_OK)
            status = omo_learner_add(learner, &frame);
        if (status == OMO_OK && frame.index >= points[0].frame)
            break;
    }
    omo_source_destroy(source);
    if (status == OMO_OK || status == OMO_END)
        status = omo_learner_finish(learner, set, &report);
    if (status == OMO_OK)
        printf("  learnt from frame %lld: separability %.1f (%s)\n",
               (long long)points[0].frame, report.separability, report.weakest);
    omo_learner_destroy(learner);
    return status;
}

/* A single picture shows more marks of a colour than were learnt: one entry each. */
static void add_same_colours(const struct marks *marks, struct omo_marker_set *set)
{
    const int learnt = set->count;
    for (int i = 0; i < marks->count; i++) {
        for (int k = 0; k < learnt && !marks->mark[i].learnt; k++) {
            char group[24];
            group_of_name(set->entry[k].name, group, sizeof group);
            if (strcmp(group, marks->mark[i].group) != 0 || set->count == OMO_SET_MAX)
                continue;
            set->entry[set->count] = set->entry[k];
            omo_text_copy(set->entry[set->count].name, sizeof set->entry->name,
                          marks->mark[i].name);
            set->count++;
            break;
        }
    }
}

/* What came of one folder. */
struct outcome {
    int marked, found, elsewhere;
    int cut; /* missed, and the picture's border cuts them: refused on purpose, since the
                middle of what is cut off is not known */
    int width, height;
    double distance_px[MARKS_MAX];
};

static int nearest_of_group(const struct omo_marker_set *set,
                            const struct omo_marker *found, const bool *used,
                            const struct mark *mark, double *distance_px)
{
    int best = -1;
    for (int i = 0; i < set->count; i++) {
        char group[24];
        group_of_name(set->entry[i].name, group, sizeof group);
        if (found[i].seen != OMO_SEEN || used[i] || strcmp(group, mark->group) != 0)
            continue;
        const double d = hypot(found[i].x_px - mark->x_px, found[i].y_px - mark->y_px);
        if (best < 0 || d < *distance_px) {
            best = i;
            *distance_px = d;
        }
    }
    return best;
}

static bool border_cuts(const struct mark *mark, const struct outcome *outcome)
{
    return mark->x_px < mark->radius_px || mark->y_px < mark->radius_px ||
           mark->x_px + mark->radius_px > outcome->width - 1 ||
           mark->y_px + mark->radius_px > outcome->height - 1;
}

static void judge_frame(const struct marks *marks, int64_t frame_index,
                        const struct omo_marker_set *set, const struct omo_marker *found,
                        struct outcome *outcome)
{
    bool used[OMO_SET_MAX] = {false};
    bool frame_is_marked = false;
    for (int i = 0; i < marks->count; i++) {
        const struct mark *mark = &marks->mark[i];
        if (mark->frame != frame_index)
            continue;
        frame_is_marked = true;
        double distance_px = NAN;
        const double limit_px = mark->radius_px > 0.0 ? mark->radius_px : BARE_MARK_PX;
        const int nearest = nearest_of_group(set, found, used, mark, &distance_px);
        const bool hit = nearest >= 0 && distance_px <= limit_px;
        if (hit)
            used[nearest] = true;
        if (mark->learnt)
            continue;
        outcome->marked++;
        if (hit)
            outcome->distance_px[outcome->found++] = distance_px;
        else if (border_cuts(mark, outcome)) {
            outcome->cut++;
            printf("  missed: frame %lld, %s at %.1f %.1f: cut off by the picture's "
                   "border\n",
                   (long long)frame_index, mark->name, mark->x_px, mark->y_px);
        } else if (nearest >= 0)
            printf("  missed: frame %lld, %s at %.1f %.1f: nearest of its colour is "
                   "%.1f px away\n",
                   (long long)frame_index, mark->name, mark->x_px, mark->y_px,
                   distance_px);
        else
            printf("  missed: frame %lld, %s at %.1f %.1f: nothing of its colour "
                   "accepted\n",
                   (long long)frame_index, mark->name, mark->x_px, mark->y_px);
    }
    for (int i = 0; i < set->count && frame_is_marked; i++) {
        if (found[i].seen != OMO_SEEN || used[i])
            continue;
        outcome->elsewhere++;
        printf("  without a mark: frame %lld, %s accepted at %.1f %.1f\n",
               (long long)frame_index, set->entry[i].name, found[i].x_px, found[i].y_px);
    }
}

static enum omo_status follow(const char *path, const struct marks *marks,
                              const struct omo_marker_set *set, struct outcome *outcome)
{
    const struct omo_tracker_settings settings = {.set = *set, .body = false};
    struct omo_source *source = NULL;
    struct omo_tracker *tracker = NULL;
    struct omo_frame frame;
    struct omo_marker found[OMO_SET_MAX];
    enum omo_status status = omo_clip_open(path, &source);
    if (status == OMO_OK) {
        outcome->width = omo_source_info(source)->width;
        outcome->height = omo_source_info(source)->height;
        status = omo_tracker_create(&settings, &tracker);
    }
    while (status == OMO_OK) {
        status = omo_source_next(source, false, &frame);
        if (status == OMO_OK)
            status = omo_tracker_step_free(tracker, &frame, found);
        if (status == OMO_OK)
            judge_frame(marks, frame.index, set, found, outcome);
    }
    omo_tracker_destroy(tracker);
    omo_source_destroy(source);
    return status == OMO_END ? OMO_OK : status;
}

/* Prints a folder's line; true when it could be read and enough was found. */
static bool measure_folder(const char *root, const struct folder *folder)
{
    struct marks marks;
    struct omo_marker_set set;
    struct omo_learn_point points[OMO_SET_MAX];
    struct outcome outcome = {0};
    gchar *truth = g_build_filename(root, folder->name, folder->truth, NULL);
    gchar *pictures = g_build_filename(root, folder->name, folder->pictures, NULL);
    bool fine = false;
    printf("%s\n", folder->name);
    if (!marks_read(truth, &marks)) {
        printf("  the truth file cannot be read\n");
    } else {
        const int count = choose_points(folder, &marks, points);
        memset(&set, 0, sizeof set);
        enum omo_status status = learn(pictures, points, count, &set);
        if (status == OMO_OK && folder->single)
            add_same_colours(&marks, &set);
        if (status == OMO_OK)
            status = follow(pictures, &marks, &set, &outcome);
        fine = status == OMO_OK;
        if (!fine)
            printf("  cannot be measured: %s\n", omo_status_text(status));
    }
    if (fine) {
        const double share = (double)outcome.found / (double)outcome.marked;
        printf("  %-8s found %3d of %3d marked (%5.1f %%), median distance %.2f px, "
               "accepted elsewhere in marked frames: %d\n",
               folder->name, outcome.found, outcome.marked, 100.0 * share,
               median_of(outcome.distance_px, (size_t)outcome.found), outcome.elsewhere);
        fine = outcome.found >= folder->found_min * (outcome.marked - outcome.cut);
    }
    g_free(truth);
    g_free(pictures);
    return fine;
}

/* ---- people without stickers ---- */

/* Every way the person might be standing to the camera. */
static const struct {
    enum omo_view view;
    enum omo_side side;
    bool facing_left;
} poses[] = {
    {OMO_VIEW_FRONT, OMO_RIGHT, false},
    {OMO_VIEW_FRONT, OMO_LEFT, false},
    {OMO_VIEW_SIDE, OMO_RIGHT, false},
    {OMO_VIEW_SIDE, OMO_LEFT, true},
};
enum { POSE_COUNT = sizeof poses / sizeof *poses };

struct alarms {
    int64_t frames, bodies;
};

static bool trackers_create(const struct omo_marker_set *set,
                            struct omo_tracker **trackers)
{
    bool fine = true;
    for (int i = 0; i < POSE_COUNT; i++) {
        const struct omo_tracker_settings settings = {
            .set = *set,
            .body = true,
            .side = poses[i].side,
            .view = poses[i].view,
            .position = OMO_STANDING,
            .facing_left = poses[i].facing_left,
            .needed = 1u << OMO_SHOULDER | 1u << OMO_ELBOW,
        };
        trackers[i] = NULL;
        fine = fine && omo_tracker_create(&settings, &trackers[i]) == OMO_OK;
    }
    return fine;
}

/* True when any of the trackers takes something in this frame for an arm. */
static bool body_in_frame(struct omo_tracker *const *trackers,
                          const struct omo_frame *frame, const char *path)
{
    bool body = false;
    for (int i = 0; i < POSE_COUNT; i++) {
        struct omo_markers markers;
        if (omo_tracker_step(trackers[i], frame, &markers) != OMO_OK)
            continue;
        const struct omo_marker *shoulder = &markers.role[OMO_SHOULDER];
        const struct omo_marker *elbow = &markers.role[OMO_ELBOW];
        if (shoulder->seen != OMO_SEEN || elbow->seen != OMO_SEEN)
            continue;
        body = true;
        printf("  false body: %s, frame %lld, %s %s: shoulder %.0f %.0f, elbow %.0f "
               "%.0f\n",
               path, (long long)frame->index, omo_side_name(poses[i].side),
               omo_view_name(poses[i].view), shoulder->x_px, shoulder->y_px, elbow->x_px,
               elbow->y_px);
    }
    return body;
}

static enum omo_status look_for_bodies(const char *path, const struct omo_marker_set *set,
                                       struct alarms *alarms)
{
    struct omo_tracker *trackers[POSE_COUNT];
    struct omo_source *source = NULL;
    struct omo_frame frame;
    enum omo_status status = omo_clip_open(path, &source);
    if (status != OMO_OK)
        return status;
    if (!trackers_create(set, trackers))
        status = OMO_ERR_MEMORY;
    const bool still =
        omo_source_info(source)->frame_count == 1 || g_str_has_suffix(path, ".jpg");
    while (status == OMO_OK) {
        status = omo_source_next(source, false, &frame);
        for (int i = 0; status == OMO_OK && i < (still ? STILL_REPEATS : 1); i++) {
            alarms->frames++;
            alarms->bodies += body_in_frame(trackers, &frame, path);
            frame.index++;
            frame.time_s += 1.0 / 30.0;
        }
    }
    for (int i = 0; i < POSE_COUNT; i++)
        omo_tracker_destroy(trackers[i]);
    omo_source_destroy(source);
    return status == OMO_END ? OMO_OK : status;
}

/* Prints the line of one pattern; true when no body was found. */
static bool expect_no_bodies(const char *root, const char *pattern,
                             const struct omo_marker_set *set)
{
    struct alarms alarms = {0};
    glob_t files;
    gchar *whole = g_build_filename(root, pattern, NULL);
    bool fine = glob(whole, 0, NULL, &files) == 0;
    g_free(whole);
    if (!fine) {
        printf("%s: no such file\n", pattern);
        return false;
    }
    printf("%s\n", pattern);
    for (size_t i = 0; i < files.gl_pathc; i++)
        fine &= look_for_bodies(files.gl_pathv[i], set, &alarms) == OMO_OK;
    printf("  %zu files, %lld frames without stickers: %lld with a body found\n",
           files.gl_pathc, (long long)alarms.frames, (long long)alarms.bodies);
    globfree(&files);
    return fine && alarms.bodies == 0;
}

int main(void)
{
    const char *root = getenv("OMOGON_FOOTAGE");
    struct omo_marker_set set;
    bool fine = true;
    if (!root || !*root) {
        printf("skipped: OMOGON_FOOTAGE is not set\n");
        return SKIPPED;
    }
    printf("Colours learnt by points from one marked frame, then followed; found: within "
           "the mark's radius.\n");
    for (int i = 0; i < FOLDER_COUNT; i++)
        fine &= measure_folder(root, &folders[i]);
    if (omo_set_load("default", &set) != OMO_OK)
        return EXIT_FAILURE;
    for (int i = 0; i < BODILESS_COUNT; i++)
        fine &= expect_no_bodies(root, bodiless[i], &set);
    return fine ? EXIT_SUCCESS : EXIT_FAILURE;
}
