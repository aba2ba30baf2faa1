/* What the simulated camera's settings and scene files promise. */
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>

#include "omogon/models.h"

#include "scene_fixture.h"

/* ---- settings ---- */

static const struct {
    const char *name, *good[6], *bad[6];
} values[] = {
    {"movement", {"flexion", "scaption", "internal-rotation"}, {"flex", "", "Flexion"}},
    {"side", {"left", "right"}, {"both", "1"}},
    {"view", {"front", "side", "along-arm"}, {"above"}},
    {"position", {"standing", "seated", "supine", "side-lying", "prone"}, {"lying"}},
    {"from_behind", {"yes", "no"}, {"true", "0", ""}},
    {"arc_deg", {"-20", "185", "90.5"}, {"-20.1", "186", "ninety", "", "90 deg", "nan"}},
    {"speed_deg_per_s", {"5", "600"}, {"0", "601"}},
    {"repetitions", {"0", "3"}, {"2.5", "-1", "1e9"}},
    {"stature_m", {"1.2", "2.1"}, {"170", "0"}},
    {"hike_ratio", {"0", "0.5"}, {"0.6"}},
    {"skin", {"0", "1"}, {"1.1", "dark"}},
    {"shirt", {"0 0 0", "255,128,1", "1.5 2 3"}, {"red", "1 2", "1 2 3 4", "0 0 256"}},
    {"one_colour", {"40 170 70"}, {"green"}},
    {"sleeve", {"none", "short", "long"}, {"half"}},
    {"hair", {"none", "short", "long"}, {"grey"}},
    {"markers",
     {"shoulder elbow", "none", "chest,hip", "shoulder elbow wrist hip chest acromion"},
     {"knee", "shoulder elbows"}},
    {"other_arm_moves", {"yes", "no"}, {"both"}},
    {"other_arc_deg", {"-20", "185"}, {"186"}},
    {"other_lag_s", {"0", "2.5"}, {"-1", "11"}},
    {"acromion_mm", {"15", "80"}, {"14"}},
    {"shape", {"disc", "band"}, {"square"}},
    {"sticker_mm", {"4", "60"}, {"3", "151"}},
    {"hide",
     {"none", "elbow 2-4", "elbow 2-4, wrist 6", "wrist 0.5"},
     {"elbow", "elbow 4-2", "knee 2-4", "elbow x-4", "", "elbow 2-4,"}},
    {"helper", {"shoulder 3-4.5"}, {"3-4"}},
    {"fall", {"wrist 7"}, {"wrist later"}},
    {"width", {"64", "4096"}, {"63", "12.5", "5000"}},
    {"fps", {"5", "29.97", "240"}, {"0", "241"}},
    {"seed", {"0", "4294967295"}, {"-1", "1.5"}},
    {"quality", {"0", "100"}, {"101", "-1"}},
    {"subsampling", {"420", "422", "444"}, {"411", "4:2:0"}},
    {"cast", {"130 100 62"}, {"warm", "300 100 100"}},
    {"furniture", {"plain", "dull", "bright"}, {"modern"}},
    {"room", {"none", "/somewhere/a.jpg", "footage:gestures/x.jpg"}, {NULL}},
    {"second_person", {"none", "plain", "marked"}, {"yes"}},
    {"look_alikes", {"0", "6"}, {"7", "some"}},
};
enum { VALUE_COUNT = sizeof values / sizeof values[0] };

START_TEST(a_setting_takes_its_values_and_refuses_others_with_one_sentence)
{
    struct omo_scene *scene = omo_scene_create();
    for (int i = 0; i < 6 && values[_i].good[i]; i++)
        ck_assert_msg(omo_scene_set(scene, values[_i].name, values[_i].good[i]) == OMO_OK,
                      "%s = %s", values[_i].name, values[_i].good[i]);
    for (int i = 0; i < 6 && values[_i].bad[i]; i++) {
        logged_reset();
        ck_assert_msg(omo_scene_set(scene, values[_i].name, values[_i].bad[i]) ==
                          OMO_ERR_ARG,
                      "%s = %s was taken", values[_i].name, values[_i].bad[i]);
        ck_assert_int_eq(logged_count(), 1);
        ck_assert_ptr_nonnull(strstr(logged_last(), values[_i].name));
        ck_assert_int_eq(logged_last()[strlen(logged_last()) - 1], '.');
    }
    omo_scene_destroy(scene);
}
END_TEST

START_TEST(an_unknown_setting_is_refused_with_one_sentence)
{
    struct omo_scene *scene = omo_scene_create();
    logged_reset();
    ck_assert_int_eq(omo_scene_set(scene, "weather", "fine"), OMO_ERR_ARG);
    ck_assert_int_eq(logged_count(), 1);
    ck_assert_ptr_nonnull(strstr(logged_last(), "weather"));
    omo_scene_destroy(scene);
}
END_TEST

START_TEST(a_room_longer_than_any_path_is_refused)
{
    static char far_away[2000];
    struct omo_scene *scene = omo_scene_create();
    memset(far_away, 'x', sizeof far_away - 1);
    logged_reset();
    ck_assert_int_eq(omo_scene_set(scene, "room", far_away), OMO_ERR_ARG);
    ck_assert_int_eq(logged_count(), 1);
    omo_scene_destroy(scene);
}
END_TEST

/* The help is a list of settings with their defaults, and complete: what it prints can be
   given back, each value by itself. */
START_TEST(every_setting_in_the_help_takes_its_own_default)
{
    struct omo_scene *scene = omo_scene_create();
    char **line = g_strsplit(omo_scene_help(), "\n", -1);
    int count = 0;
    for (int i = 0; line[i]; i++) {
        char *equals = strstr(line[i], " = ");
        if (!equals || line[i][0] == ' ')
            continue;
        *equals = '\0';
        ck_assert_msg(omo_scene_set(scene, line[i], equals + 3) == OMO_OK, "%s = %s",
                      line[i], equals + 3);
        ck_assert_msg(line[i + 1] && g_str_has_prefix(line[i + 1], "    "),
                      "%s is not explained", line[i]);
        count++;
    }
    ck_assert_int_gt(count, 80);
    for (int i = 0; i < VALUE_COUNT; i++)
        ck_assert_ptr_nonnull(strstr(omo_scene_help(), values[i].name));
    g_strfreev(line);
    omo_scene_destroy(scene);
}
END_TEST

/* A setting that changes nothing in the picture would be a promise not kept. */
static const struct {
    const char *name, *value;
    double time_s;    /* when it shows */
    const char *view; /* from where, NULL: from the side */
} telling[] = {
    {"side", "left", 0.2, NULL},
    {"view", "front", 0.2, NULL},
    {"position", "seated", 0.2, NULL},
    {"from_behind", "yes", 0.2, "front"},
    {"mirrored", "yes", 0.2, NULL},
    {"arc_deg", "80", 4.2, NULL},
    {"start_deg", "20", 0.2, NULL},
    {"speed_deg_per_s", "30", 3, NULL},
    {"repetitions", "0", 4, NULL},
    {"hold_s", "3", 6, NULL},
    {"pause_s", "4", 9, NULL},
    {"rest_s", "4", 3, NULL},
    {"variation_deg", "15", 4.4, NULL},
    {"tremor_deg", "2", 0.2, NULL},
    {"stature_m", "1.8", 0.2, NULL},
    {"elbow_deg", "60", 0.2, NULL},
    {"hike_ratio", "0.2", 4.4, NULL},
    {"lean_deg", "15", 4.4, NULL},
    {"stance_deg", "8", 0.2, NULL},
    {"yaw_deg", "20", 0.2, NULL},
    {"plane_deg", "20", 4, NULL},
    {"protraction_mm", "40", 4.4, NULL},
    {"scapula_share", "0", 4.4, NULL},
    {"axial_deg", "40", 4.4, NULL},
    {"slide_mm", "15", 4.4, NULL},
    {"sway_mm", "40", 2, NULL},
    {"breath_mm", "10", 1, NULL},
    {"skin", "0.9", 0.2, NULL},
    {"shirt", "200 30 30", 0.2, NULL},
    {"trousers", "200 30 30", 0.2, NULL},
    {"sleeve", "long", 0.2, NULL},
    {"sleeve_colour", "200 30 30", 0.2, NULL},
    {"hair", "long", 0.2, NULL},
    {"hair_colour", "200 180 60", 0.2, NULL},
    {"beard", "yes", 0.2, NULL},
    {"gloves", "yes", 4, NULL},
    {"markers", "elbow", 0.2, NULL},
    {"other_arm_markers", "shoulder elbow", 0.2, "front"},
    {"other_arm_moves", "yes", 4.2, "front"},
    {"shoulder_colour", "200 200 20", 0.2, NULL},
    {"elbow_colour", "200 200 20", 0.2, NULL},
    {"wrist_colour", "200 200 20", 0.2, NULL},
    {"hip_colour", "200 200 20", 4, NULL},
    {"one_colour", "200 200 20", 0.2, NULL},
    {"shape", "band", 0.2, NULL},
    {"sticker_mm", "60", 0.2, NULL},
    {"offset_mm", "40", 0.2, NULL},
    {"forward_mm", "30", 0.2, NULL},
    {"shading_ratio", "0.5", 0.2, NULL},
    {"gloss_ratio", "1", 0.2, NULL},
    {"hide", "shoulder 0-1", 0.2, NULL},
    {"helper", "shoulder 0-3", 1, NULL},
    {"fall", "shoulder 0.4", 0.6, NULL},
    {"seed", "5", 0.2, NULL},
    {"distance_m", "3", 0.2, NULL},
    {"field_deg", "50", 0.2, NULL},
    {"camera_height_m", "1.2", 0.2, NULL},
    {"roll_deg", "5", 0.2, NULL},
    {"shutter_ratio", "0.9", 3, NULL},
    {"blur_px", "2", 0.2, NULL},
    {"vignetting_ratio", "0.8", 0.2, NULL},
    {"exposure_stops", "-1", 0.2, NULL},
    {"cast", "130 100 62", 0.2, NULL},
    {"drift_ratio", "-0.5", 3, NULL},
    {"noise", "9", 0.2, NULL},
    {"chroma_noise", "3", 0.2, NULL},
    {"bump_s", "0.1", 1, NULL},
    {"sun_ratio", "1", 0.2, NULL},
    {"gradient_ratio", "0.8", 0.2, NULL},
    {"furniture", "bright", 0.2, NULL},
    {"look_alikes", "3", 0.2, NULL},
    {"second_person", "plain", 0.2, NULL},
    {"mirror", "yes", 0.2, NULL},
    {"screen", "yes", 0.2, NULL},
};
enum { TELLING_COUNT = sizeof telling / sizeof telling[0] };

static guint picture_hash(const struct omo_planes *p)
{
    guint sum = 2166136261u;
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++)
            sum = (sum ^ p->y[y * p->y_stride + x]) * 16777619u;
    for (int y = 0; y < p->chroma_height; y++)
        for (int x = 0; x < p->chroma_width; x++)
            sum = (sum ^ p->cb[y * p->chroma_stride + x]) * 16777619u;
    return sum;
}

static guint picture_with(const char *name, const char *value, double time_s,
                          const char *view)
{
    const char *const pairs[] = {"width", "480",     "height", "270",  "quality",
                                 "0",     "seconds", "20",     "view", view,
                                 name,    value,     NULL};
    struct scene_run run;
    scene_run_at(&run, "-", pairs, time_s);
    guint sum = picture_hash(&run.frame.planes);
    scene_run_close(&run);
    return sum;
}

START_TEST(a_setting_shows_in_the_picture)
{
    double time_s = telling[_i].time_s;
    const char *view = telling[_i].view ? telling[_i].view : "side";
    ck_assert_msg(picture_with(telling[_i].name, telling[_i].value, time_s, view) !=
                      picture_with("start_s", "0", time_s, view),
                  "%s = %s changes nothing after %.1f s", telling[_i].name,
                  telling[_i].value, time_s);
}
END_TEST

START_TEST(a_movement_brings_its_view_and_arc_until_others_are_set)
{
    struct scene_run run;
    const char *const pairs[] = {"movement", "abduction", "width", "320",
                                 "height",   "180",       NULL};
    scene_run_at(&run, "-", pairs, 4.4);
    ck_assert_double_gt(run.truth.angle_deg, 140);
    /* a right arm seen from the front goes to picture left */
    ck_assert_double_lt(run.truth.marker[OMO_ELBOW].x_px,
                        run.truth.marker[OMO_SHOULDER].x_px - 10);
    scene_run_close(&run);
}
END_TEST

START_TEST(an_odd_width_is_refused_with_one_sentence)
{
    struct omo_scene *scene = omo_scene_create();
    struct omo_source *source = NULL;
    ck_assert_int_eq(omo_scene_set(scene, "width", "641"), OMO_OK);
    logged_reset();
    ck_assert_int_eq(omo_simulated_open(scene, &source), OMO_ERR_ARG);
    ck_assert_int_eq(logged_count(), 1);
    ck_assert_ptr_null(source);
    omo_scene_destroy(scene);
}
END_TEST

/* ---- rooms ---- */

static const struct {
    const char *name, *room;
    enum omo_status status;
} missing_rooms[] = {
    {"no such file", "/nowhere/room.jpg", OMO_ERR_OPEN},
    {"footage without a folder", "footage:gestures/room.jpg", OMO_ERR_OPEN},
    {"not a picture", OMO_TEST_DATA "/../test_scenes.c", OMO_ERR_FORMAT},
    {"a folder without pictures", OMO_TEST_DATA "/..", OMO_ERR_EMPTY},
};
enum { MISSING_ROOM_COUNT = sizeof missing_rooms / sizeof missing_rooms[0] };

START_TEST(a_room_that_cannot_be_shown_is_refused_with_one_sentence)
{
    struct omo_scene *scene = omo_scene_create();
    struct omo_source *source = NULL;
    g_unsetenv("OMOGON_FOOTAGE");
    ck_assert_int_eq(omo_scene_set(scene, "room", missing_rooms[_i].room), OMO_OK);
    logged_reset();
    ck_assert_msg(omo_simulated_open(scene, &source) == missing_rooms[_i].status, "%s",
                  missing_rooms[_i].name);
    ck_assert_msg(logged_count() == 1, "%s: %d sentences, the last: %s",
                  missing_rooms[_i].name, logged_count(), logged_last());
    omo_scene_destroy(scene);
}
END_TEST

/** Writes pictures of one grey each into a folder; returns it, to be freed. */
static char *grey_rooms(void)
{
    char *folder = g_dir_make_tmp("omogon-rooms-XXXXXX", NULL);
    for (int i = 0; i < 2; i++) {
        uint32_t pixels[64 * 36];
        uint8_t *bytes;
        size_t size;
        for (int k = 0; k < 64 * 36; k++)
            pixels[k] = i == 0 ? 0xff505050u : 0xffb0b0b0u;
        ck_assert_int_eq(omo_jpeg_encode_rgb32(pixels, 64, 36, 64, 95, &bytes, &size),
                         OMO_OK);
        g_autofree char *path = g_strdup_printf("%s/room%d.jpg", folder, i);
        ck_assert(g_file_set_contents(path, (char *)bytes, (gssize)size, NULL));
        free(bytes);
    }
    return folder;
}

static void remove_rooms(char *folder)
{
    for (int i = 0; i < 2; i++) {
        g_autofree char *path = g_strdup_printf("%s/room%d.jpg", folder, i);
        g_remove(path);
    }
    g_rmdir(folder);
    g_free(folder);
}

START_TEST(a_real_picture_lies_behind_the_person)
{
    struct scene_run run;
    char *folder = grey_rooms();
    g_autofree char *path = g_strconcat(folder, "/room1.jpg", NULL);
    const char *const pairs[] = {"room", path, NULL};
    scene_run_at(&run, "plain", pairs, 0);
    ck_assert_int_le(abs(run.frame.planes.y[50 * run.frame.planes.y_stride + 50] - 0xb0),
                     2);
    /* and the person before it */
    int elbow = (int)run.truth.marker[OMO_ELBOW].y_px * run.frame.planes.chroma_stride +
                (int)run.truth.marker[OMO_ELBOW].x_px;
    ck_assert_int_gt(run.frame.planes.cb[elbow], 170);
    scene_run_close(&run);
    remove_rooms(folder);
}
END_TEST

START_TEST(the_pictures_of_a_folder_follow_each_other)
{
    struct scene_run run;
    char *folder = grey_rooms();
    const char *const pairs[] = {"room", folder, "room_s", "0.5", NULL};
    scene_run_at(&run, "plain", pairs, 0);
    for (int i = 1; i < 9; i++) {
        scene_run_to(&run, i); /* five a second */
        int grey = (int)(i / 5.0 / 0.5) % 2 == 0 ? 0x50 : 0xb0;
        ck_assert_int_le(abs(run.frame.planes.y[50 * run.frame.planes.y_stride + 50] -
                             grey),
                         2);
    }
    scene_run_close(&run);
    remove_rooms(folder);
}
END_TEST

/* ---- scene files ---- */

static enum omo_status load_text(struct omo_scene *scene, const char *text)
{
    char *folder = g_dir_make_tmp("omogon-scene-XXXXXX", NULL);
    g_autofree char *path = g_build_filename(folder, "a.ini", NULL);
    ck_assert(g_file_set_contents(path, text, -1, NULL));
    enum omo_status status = omo_scene_load(scene, path);
    g_remove(path);
    g_rmdir(folder);
    g_free(folder);
    return status;
}

static const struct {
    const char *name, *text;
} mistaken[] = {
    {"unknown setting", "[scene]\nseconds = 1\nweather = fine\n"},
    {"bad value", "[scene]\nseconds = 1\nnoise = loud\n"},
    {"no group", "[room]\nnoise = 1\n"},
    {"not a key file", "noise: 1\n"},
    {"empty", ""},
};
enum { MISTAKEN_COUNT = sizeof mistaken / sizeof mistaken[0] };

START_TEST(a_mistake_in_a_scene_file_leaves_the_scene_as_it_was)
{
    struct omo_scene *scene = omo_scene_create();
    struct omo_source *source;
    ck_assert_int_eq(omo_scene_set(scene, "seconds", "2"), OMO_OK);
    logged_reset();
    ck_assert_msg(load_text(scene, mistaken[_i].text) == OMO_ERR_SETTINGS, "%s",
                  mistaken[_i].name);
    ck_assert_msg(logged_count() == 1, "%s: %d sentences, the last: %s",
                  mistaken[_i].name, logged_count(), logged_last());
    ck_assert_int_eq(omo_simulated_open(scene, &source), OMO_OK);
    ck_assert_int_eq(omo_source_info(source)->frame_count, 60);
    omo_source_destroy(source);
    omo_scene_destroy(scene);
}
END_TEST

static const char *const absent[] = {"no-such-scene", "/nowhere/scene.ini",
                                     OMO_TEST_DATA};

START_TEST(a_scene_that_is_not_there_is_refused_with_one_sentence)
{
    struct omo_scene *scene = omo_scene_create();
    logged_reset();
    ck_assert_int_eq(omo_scene_load(scene, absent[_i]), OMO_ERR_OPEN);
    ck_assert_int_eq(logged_count(), 1);
    omo_scene_destroy(scene);
}
END_TEST

START_TEST(every_built_in_scene_shows_a_picture)
{
    char folder[4096];
    const char *name;
    int count = 0;
    const gboolean footage = g_getenv("OMOGON_FOOTAGE") != NULL;
    ck_assert_int_eq(omo_models_path("scenes/demo.ini", folder, sizeof folder), OMO_OK);
    *strrchr(folder, '/') = '\0';
    GDir *dir = g_dir_open(folder, 0, NULL);
    while ((name = g_dir_read_name(dir)) != NULL) {
        struct scene_run run;
        g_autofree char *word = g_strndup(name, strcspn(name, "."));
        const char *const small[] = {"width", "320", "height", "180", NULL};
        if (g_str_has_prefix(word, "room-") && !footage)
            continue;
        scene_run_open(&run, word, small);
        int64_t frames = omo_source_info(run.source)->frame_count;
        /* Only a live movement from beginning to end takes longer. */
        bool whole = strcmp(word, "live") == 0 || strcmp(word, "stay") == 0;
        int64_t most = whole ? 1260 : 700;
        ck_assert_msg(frames >= 300 && frames <= most, "%s has %d frames", word,
                      (int)frames);
        scene_run_to(&run, 0);
        ck_assert_msg(run.truth.marker[OMO_ELBOW].placed, "%s has no elbow", word);
        scene_run_close(&run);
        count++;
    }
    g_dir_close(dir);
    ck_assert_int_ge(count, 20);
}
END_TEST

START_TEST(the_demo_raises_a_stiff_shoulder_three_times)
{
    struct scene_run run;
    double highest = 0, before = 0;
    int tops = 0;
    bool up = false;
    const char *const small[] = {"width", "320", "height", "180", "quality", "0", NULL};
    scene_run_open(&run, "demo", small);
    int64_t frames = omo_source_info(run.source)->frame_count;
    for (int64_t i = 0; i < frames; i++) {
        scene_run_to(&run, (long)i);
        highest = run.truth.angle_deg > highest ? run.truth.angle_deg : highest;
        if (run.truth.angle_deg > 90 && !up)
            tops++;
        up = run.truth.angle_deg > 90 || (up && run.truth.angle_deg > 45);
        before = run.truth.hike_ratio > before ? run.truth.hike_ratio : before;
    }
    ck_assert_int_eq(tops, 3);
    ck_assert_double_eq_tol(highest, 115, 1);
    ck_assert_double_gt(before, 0.15);
    ck_assert_int_lt(frames, 20 * 30); /* a demonstration has to be short */
    scene_run_close(&run);
}
END_TEST

/* ---- another kind of source ---- */

static enum omo_status no_frame(void *self, bool need_luma, struct omo_frame *frame)
{
    (void)self;
    (void)need_luma;
    (void)frame;
    return OMO_END;
}

static void nothing(void *self)
{
    (void)self;
}

START_TEST(only_the_simulated_camera_gives_jpeg_bytes_and_truth)
{
    static const struct omo_source_ops ops = {no_frame, nothing};
    const struct omo_source_info info = {.width = 2, .height = 2};
    struct omo_source *source = omo_source_wrap(&ops, &source, &info);
    struct omo_truth truth = {.frame = 77};
    const uint8_t *bytes;
    size_t size;
    double time_s;
    logged_reset();
    ck_assert_int_eq(omo_simulated_next_jpeg(source, &bytes, &size, &time_s),
                     OMO_ERR_ARG);
    ck_assert_int_eq(logged_count(), 1);
    omo_simulated_truth(source, &truth);
    ck_assert_int_eq(truth.frame, 77);
    omo_source_destroy(source);
}
END_TEST

START_TEST(destroying_nothing_is_allowed)
{
    omo_scene_destroy(NULL);
    omo_source_destroy(NULL);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("scenes");
    TCase *settings = tcase_create("settings"), *rooms = tcase_create("rooms"),
          *files = tcase_create("files");
    tcase_set_timeout(settings, 60);
    tcase_set_timeout(rooms, 60);
    tcase_set_timeout(files, 120);
    tcase_add_loop_test(settings,
                        a_setting_takes_its_values_and_refuses_others_with_one_sentence,
                        0, VALUE_COUNT);
    tcase_add_test(settings, an_unknown_setting_is_refused_with_one_sentence);
    tcase_add_test(settings, a_room_longer_than_any_path_is_refused);
    tcase_add_test(settings, every_setting_in_the_help_takes_its_own_default);
    tcase_add_loop_test(settings, a_setting_shows_in_the_picture, 0, TELLING_COUNT);
    tcase_add_test(settings, a_movement_brings_its_view_and_arc_until_others_are_set);
    tcase_add_test(settings, an_odd_width_is_refused_with_one_sentence);
    tcase_add_loop_test(rooms, a_room_that_cannot_be_shown_is_refused_with_one_sentence,
                        0, MISSING_ROOM_COUNT);
    tcase_add_test(rooms, a_real_picture_lies_behind_the_person);
    tcase_add_test(rooms, the_pictures_of_a_folder_follow_each_other);
    tcase_add_loop_test(files, a_mistake_in_a_scene_file_leaves_the_scene_as_it_was, 0,
                        MISTAKEN_COUNT);
    tcase_add_loop_test(files, a_scene_that_is_not_there_is_refused_with_one_sentence, 0,
                        3);
    tcase_add_test(files, every_built_in_scene_shows_a_picture);
    tcase_add_test(files, the_demo_raises_a_stiff_shoulder_three_times);
    tcase_add_test(files, only_the_simulated_camera_gives_jpeg_bytes_and_truth);
    tcase_add_test(files, destroying_nothing_is_allowed);
    suite_add_tcase(suite, settings);
    suite_add_tcase(suite, rooms);
    suite_add_tcase(suite, files);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
