#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <check.h>

#include "omogon/source.h"

#include "clip_fixture.h"

static struct clip_run run;

/* ---- what cannot be opened ---- */

static const struct {
    const char *path;
    enum omo_status status;
    const char *says, *remedy;
} unusable[] = {
    {"nowhere.mp4", OMO_ERR_OPEN, "no such file", "check its name"},
    {"no/where.mp4", OMO_ERR_OPEN, "no such file", "check its name"},
    {"", OMO_ERR_OPEN, "no such file", "check its name"},
    {"http://localhost/clip.mp4", OMO_ERR_OPEN, "no such file", "check its name"},
    {"concat:h264.mp4", OMO_ERR_OPEN, "no such file", "check its name"},
    {"nothing%04d.jpg", OMO_ERR_OPEN, "no such numbered picture", "check the name"},
    {"100%.mp4", OMO_ERR_OPEN, "no such file", "check its name"},
    {"folder", OMO_ERR_OPEN, "is a folder", "name the clips"},
    {"/dev/null", OMO_ERR_OPEN, "is not a file", "clip"},
    {"empty.mp4", OMO_ERR_FORMAT, "is empty", "copy it again"},
    {"words.mp4", OMO_ERR_FORMAT, "is not a clip", "can"},
    {"words.txt", OMO_ERR_FORMAT, "is not a clip", "can"},
    {"list.m3u8", OMO_ERR_FORMAT, "is not a clip", "can"},
    {"list.txt", OMO_ERR_FORMAT, "is not a clip", "can"},
    {"sound.wav", OMO_ERR_FORMAT, "sound only", "picture is needed"},
    {"sound.m4a", OMO_ERR_FORMAT, "sound only", "picture is needed"},
    {"oblong.mp4", OMO_ERR_FORMAT, "not square (16:15)", "make them square"},
};
enum { UNUSABLE_COUNT = sizeof unusable / sizeof unusable[0] };

static void expect_one_sentence(const char *path, const char *says, const char *remedy)
{
    ck_assert_msg(run.errors == 1, "%s: %d sentences", path, run.errors);
    ck_assert_msg(strncmp(run.error, path, strlen(path)) == 0, "%s: %s", path, run.error);
    ck_assert_msg(strstr(run.error, says) != NULL, "%s: %s", path, run.error);
    ck_assert_msg(strstr(run.error, remedy) != NULL, "%s: %s", path, run.error);
    ck_assert_msg(strchr(run.error, '\n') == NULL, "%s: %s", path, run.error);
}

START_TEST(what_is_no_clip_is_refused_in_one_sentence)
{
    clip_run(unusable[_i].path, &run);
    ck_assert_msg(run.opened == unusable[_i].status, "%s: %s", unusable[_i].path,
                  omo_status_text(run.opened));
    expect_one_sentence(unusable[_i].path, unusable[_i].says, unusable[_i].remedy);
}
END_TEST

START_TEST(a_file_without_permission_is_refused)
{
    size_t size;
    uint8_t *bytes = clip_bytes("h264.mp4", &size);

    clip_write("locked.mp4", bytes, size);
    free(bytes);
    ck_assert_int_eq(chmod("locked.mp4", 0), 0);
    /* The superuser may read anything. */
    if (geteuid() == 0)
        ck_assert_int_eq(seteuid(65534), 0);
    clip_run("locked.mp4", &run);
    if (geteuid() == 65534)
        ck_assert_int_eq(seteuid(0), 0);
    (void)unlink("locked.mp4");
    ck_assert_int_eq(run.opened, OMO_ERR_OPEN);
    expect_one_sentence("locked.mp4", "may not be", "check its permissions");
}
END_TEST

START_TEST(a_giant_picture_is_refused)
{
    static const struct {
        const char *from, *path;
        int size_at; /* of height, then width in a JPEG; width, then height in a PNG */
    } cases[] = {{"still.jpg", "giant.jpg", 0}, {"still.png", "giant.png", 16}};
    size_t size, at = (size_t)cases[_i].size_at;
    uint8_t *bytes = clip_bytes(cases[_i].from, &size);

    if (at == 0) {
        while (at + 9 < size && !(bytes[at] == 0xff && bytes[at + 1] == 0xc0))
            at++;
        bytes[at + 5] = bytes[at + 7] = 9000 >> 8;
        bytes[at + 6] = bytes[at + 8] = 9000 & 255;
    } else {
        bytes[at + 2] = bytes[at + 6] = 9000 >> 8;
        bytes[at + 3] = bytes[at + 7] = 9000 & 255;
    }
    clip_write(cases[_i].path, bytes, size);
    free(bytes);
    clip_run(cases[_i].path, &run);
    ck_assert_int_eq(run.opened, OMO_ERR_FORMAT);
    expect_one_sentence(cases[_i].path, "64 megapixels", "larger");
}
END_TEST

/* ---- cut short ---- */

static const struct {
    const char *path;
    bool index_at_end; /* nothing can be read once the end is gone */
    bool single;
} whole[] = {
    {"mjpeg.avi", false, false}, {"mjpeg.mkv", false, false}, {"front.mp4", false, false},
    {"vp8.webm", false, false},  {"vp9.webm", false, false},  {"h264.mkv", false, false},
    {"gaps.avi", false, false},  {"gaps.mkv", false, false},  {"h264.mp4", true, false},
    {"mjpeg.mov", true, false},  {"hevc.mp4", true, false},   {"still.jpg", false, true},
    {"still.png", false, true},
};
enum { WHOLE_COUNT = sizeof whole / sizeof whole[0] };

/* Each frame that was read has the time of a frame of the whole clip. Some between may be
 * missing at the cut: they come later in the file than the ones they lie between. */
static void expect_times_among(const struct clip_run *full)
{
    int k = 0;

    for (int i = 0; i < run.frames; i++, k++) {
        while (k < full->frames && full->time_s[k] < run.time_s[i] - 1e-9)
            k++;
        ck_assert_int_lt(k, full->frames);
        ck_assert_double_eq_tol(run.time_s[i], full->time_s[k], 1e-9);
    }
}

START_TEST(a_clip_cut_anywhere_says_so)
{
    static struct clip_run full;
    size_t size;
    uint8_t *bytes = clip_bytes(whole[_i].path, &size);
    char name[64];

    snprintf(name, sizeof name, "cut_%s", whole[_i].path);
    clip_run(whole[_i].path, &full);
    ck_assert_int_eq(full.ended, OMO_END);
    for (int percent = 3; percent <= 91; percent += 8) {
        clip_write(name, bytes, size * (size_t)percent / 100);
        clip_run(name, &run);
        ck_assert_msg(run.errors == 1, "%s at %d %%: %d sentences", name, percent,
                      run.errors);
        if (run.opened == OMO_OK) {
            ck_assert_int_eq(run.ended, OMO_ERR_DAMAGED);
            ck_assert(!whole[_i].index_at_end);
            ck_assert_ptr_nonnull(strstr(run.error, "copy it again"));
            if (!whole[_i].single) {
                ck_assert_int_lt(run.frames, full.frames + 1);
                ck_assert_ptr_nonnull(strstr(run.error, "breaks off after"));
            }
        } else {
            ck_assert_msg(run.opened == OMO_ERR_DAMAGED || run.opened == OMO_ERR_FORMAT,
                          "%s at %d %%: %s", name, percent, omo_status_text(run.opened));
            ck_assert(whole[_i].index_at_end || whole[_i].single || percent < 20);
        }
        expect_times_among(&full);
    }
    free(bytes);
    (void)unlink(name);
}
END_TEST

START_TEST(the_sentence_says_how_many_frames_of_how_many)
{
    static const char *const paths[] = {"front.mp4", "mjpeg.avi", "mjpeg.mkv"};
    size_t size;
    uint8_t *bytes = clip_bytes(paths[_i], &size);
    char name[64];
    int done = 0, all = 0;
    const char *numbers;

    snprintf(name, sizeof name, "count_%s", paths[_i]);
    clip_write(name, bytes, size * 6 / 10);
    free(bytes);
    clip_run(name, &run);
    ck_assert_int_eq(run.ended, OMO_ERR_DAMAGED);
    numbers = strstr(run.error, "after ");
    ck_assert_ptr_nonnull(numbers);
    if (sscanf(numbers, "after %d of about %d", &done, &all) != 2)
        (void)!sscanf(numbers, "after %d of %d", &done, &all);
    ck_assert_int_eq(done, run.frames);
    ck_assert_int_eq(all, 30);
}
END_TEST

START_TEST(a_half_written_photograph_gives_its_upper_half_and_says_so)
{
    size_t size;
    uint8_t *bytes = clip_bytes("still.jpg", &size);

    clip_write("half.jpg", bytes, size * 6 / 10);
    free(bytes);
    clip_run("half.jpg", &run);
    ck_assert_int_eq(run.opened, OMO_OK);
    ck_assert_int_eq(run.frames, 1);
    ck_assert_int_eq(run.damaged, 1);
    ck_assert_int_eq(run.ended, OMO_ERR_DAMAGED);
    expect_one_sentence("half.jpg", "cut short", "copy it again");
}
END_TEST

START_TEST(a_change_of_size_ends_the_clip_with_a_sentence)
{
    clip_run("sizes.mjpeg", &run);
    ck_assert_int_eq(run.opened, OMO_OK);
    ck_assert_int_eq(run.frames, 30);
    ck_assert_int_eq(run.ended, OMO_ERR_DAMAGED);
    expect_one_sentence("sizes.mjpeg", "from 160x120 to 96x64", "cut the clip there");
}
END_TEST

/* ---- damaged inside ---- */

START_TEST(a_broken_frame_keeps_its_place_and_is_marked)
{
    size_t size, at = 0, frame = 0;
    uint8_t *bytes = clip_bytes("mjpeg.avi", &size);

    /* The tenth picture loses its start: nothing of it can be decoded. */
    for (; at + 3 < size && frame < 10; at++)
        if (bytes[at] == 0xff && bytes[at + 1] == 0xd8 && bytes[at + 2] == 0xff)
            frame++;
    ck_assert_uint_eq(frame, 10);
    memset(bytes + at, 0, 200);
    clip_write("broken.avi", bytes, size);
    free(bytes);
    clip_run("broken.avi", &run);
    ck_assert_int_eq(run.ended, OMO_END);
    ck_assert_int_eq(run.frames, 30);
    ck_assert_int_eq(run.damaged, 1);
    ck_assert_double_eq_tol(run.time_s[10], 10 / 30.0, 1e-6);
    ck_assert_int_eq(run.warnings, 1);
    ck_assert_ptr_nonnull(strstr(run.warning, "1 of 30 frames"));
}
END_TEST

START_TEST(a_frame_the_decoder_complains_of_is_marked)
{
    static const char *const paths[] = {"front.mp4", "hlg.mp4"};
    size_t size;
    uint8_t *bytes = clip_bytes(paths[_i], &size);
    char name[64];

    snprintf(name, sizeof name, "holes_%s", paths[_i]);
    /* A hole in every kilobyte of the third quarter: in an MP4 that is picture data
     * alone. */
    for (size_t at = size / 2; at < size * 3 / 4; at += 1024)
        memset(bytes + at, 0x55, 200);
    clip_write(name, bytes, size);
    free(bytes);
    clip_run(name, &run);
    ck_assert_int_eq(run.opened, OMO_OK);
    ck_assert_int_gt(run.damaged, 0);
    ck_assert_int_lt(run.damaged, run.frames);
}
END_TEST

static unsigned next_random(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

static size_t damage(uint8_t *bytes, size_t size, unsigned *state)
{
    int changes = 1 + (int)(next_random(state) % 20u);

    for (int i = 0; i < changes; i++) {
        size_t at = next_random(state) % size, length = next_random(state) % 40u;

        switch (next_random(state) % 4u) {
        case 0:
            bytes[at] = (uint8_t)next_random(state);
            break;
        case 1:
            bytes[at] ^= (uint8_t)(1u << next_random(state) % 8u);
            break;
        case 2: /* a lost block */
            memset(bytes + at, 0, length < size - at ? length : size - at);
            break;
        default: /* headers are hit more often than their share */
            bytes[at % (size < 600 ? size : 600)] = (uint8_t)next_random(state);
            break;
        }
    }
    return next_random(state) % 10u == 0 ? next_random(state) % size : size;
}

static const struct {
    const char *path;
    int copies;
} victims[] = {{"mjpeg.avi", 350}, {"mjpeg.mov", 200}, {"mjpeg.mkv", 150},
               {"h264.mp4", 250},  {"front.mp4", 200}, {"hlg.mp4", 150},
               {"vp8.webm", 150},  {"vp9.webm", 150},  {"still.jpg", 250},
               {"still.png", 150}};
enum { VICTIM_COUNT = sizeof victims / sizeof victims[0] };

START_TEST(two_thousand_damaged_copies_do_no_harm)
{
    unsigned state = 77u + (unsigned)_i;
    size_t size;
    uint8_t *bytes = clip_bytes(victims[_i].path, &size), *copy = malloc(size);
    char name[64];

    snprintf(name, sizeof name, "damaged_%s", victims[_i].path);
    for (int i = 0; i < victims[_i].copies; i++) {
        size_t length;

        memcpy(copy, bytes, size);
        length = damage(copy, size, &state);
        clip_write(name, copy, length > 0 ? length : 1);
        clip_run(name, &run);
        if (run.opened == OMO_OK)
            ck_assert_msg(run.ended == OMO_END || run.ended == OMO_ERR_DAMAGED,
                          "%s, copy %d: %s", name, i, omo_status_text(run.ended));
        ck_assert_msg(run.errors == (run.opened != OMO_OK || run.ended != OMO_END),
                      "%s, copy %d: %d sentences (%s)", name, i, run.errors, run.error);
        for (int k = 1; k < run.frames; k++)
            ck_assert_double_gt(run.time_s[k], run.time_s[k - 1]);
    }
    (void)unlink(name);
    free(copy);
    free(bytes);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("clip faults");
    TCase *open = tcase_create("open"), *cut = tcase_create("cut"),
          *inside = tcase_create("inside");
    SRunner *runner;
    int failed;

    clip_fixture_make();
    tcase_add_loop_test(open, what_is_no_clip_is_refused_in_one_sentence, 0,
                        UNUSABLE_COUNT);
    tcase_add_test(open, a_file_without_permission_is_refused);
    tcase_add_loop_test(open, a_giant_picture_is_refused, 0, 2);
    suite_add_tcase(suite, open);
    tcase_add_loop_test(cut, a_clip_cut_anywhere_says_so, 0, WHOLE_COUNT);
    tcase_add_loop_test(cut, the_sentence_says_how_many_frames_of_how_many, 0, 3);
    tcase_add_test(cut, a_half_written_photograph_gives_its_upper_half_and_says_so);
    tcase_add_test(cut, a_change_of_size_ends_the_clip_with_a_sentence);
    tcase_set_timeout(cut, 120);
    suite_add_tcase(suite, cut);
    tcase_add_test(inside, a_broken_frame_keeps_its_place_and_is_marked);
    tcase_add_loop_test(inside, a_frame_the_decoder_complains_of_is_marked, 0, 2);
    tcase_add_loop_test(inside, two_thousand_damaged_copies_do_no_harm, 0, VICTIM_COUNT);
    tcase_set_timeout(inside, 240);
    suite_add_tcase(suite, inside);
    runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
