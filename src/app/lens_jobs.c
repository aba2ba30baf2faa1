/* The work of the lens command: calibrating, levelling, keeping what came out. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/inputs.h"
#include "app/lens.h"
#include "app/lens_board.h"
#include "app/lens_level.h"
#include "app/lens_report.h"
#include "app/lens_thread.h"
#include "app/lens_views.h"
#include "app/measuring.h"
#include "app/progress_line.h"
#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/sound/sound.h"

/* What a lens has to be good to before it is kept; our choice. A reprojection error
 * counts in pictures 1280 px wide. */
#define REPROJECTION_MOST_PX 1.5
#define FOCAL_U_MOST_RATIO   0.02
/* A wish is said again after so long. */
#define SAY_EVERY_S 6
/* Of a camera: a second of pictures. */
#define UPRIGHT_ENOUGH 30

/** One job while it looks. */
struct looking {
    const struct omo_lens_job *job;
    struct omo_board_look look;
    struct omo_lens_views views;     /* calibrating */
    struct omo_lens_upright upright; /* levelling */
    struct omo_lens_thread thread;
    struct omo_sound *sound;
    struct omo_lens_profile profile;
    bool refused; /* its lens does not fit the pictures, as was said */
    const char *said;
    int64_t said_ns;
};

int omo_lens_keep(const struct omo_lens_job *job, const struct omo_lens_profile *profile)
{
    const struct omo_lens_words *w = job->words;
    if (omo_lens_save(w->data, profile) != OMO_OK)
        return OMO_EXIT_FAILED;
    omo_lens_remember(w->data, profile->camera, profile->name);
    if (w->json) {
        omo_lens_print_json(profile, 1);
        return OMO_EXIT_DONE;
    }
    g_autofree char *path = omo_lens_path(w->data, profile->name);
    omo_lens_print(profile);
    printf(omo_word("saved: %s\nUse it with: omogon trace CLIP ... --lens %s\n"), path,
           profile->name);
    return OMO_EXIT_DONE;
}

/** Says what to do, when it is new or was said long ago. */
static void guide(struct looking *l, const char *sentence)
{
    int64_t now_ns = omo_clock_ns();
    if (sentence == l->said && now_ns - l->said_ns < (int64_t)(SAY_EVERY_S * 1e9))
        return;
    l->said = sentence;
    l->said_ns = now_ns;
    omo_progress_erase();
    fprintf(stderr, "%s\n", sentence);
    if (l->sound)
        omo_sound_say(l->sound, sentence);
}

static bool show_progress(double done_ratio, void *user)
{
    struct looking *l = user;
    char what[96] = "";
    if (!l->job->words->camera) {
        omo_text_add(what, sizeof what, omo_word("%d views"), l->views.count);
        omo_progress_show(done_ratio, what);
    } else if (!l->job->words->level && !l->job->words->plumb) {
        const char *wish = l->views.width > 0
                               ? omo_lens_views_wish(&l->views)
                               : omo_word("Hold the board in the middle of the picture.");
        omo_progress_show(omo_lens_views_done(&l->views), omo_word("calibrating"));
        guide(l, wish);
    }
    return !omo_measuring_interrupted();
}

static enum omo_status look_at_all(struct looking *l)
{
    const struct omo_lens_job *job = l->job;
    l->look.ops = l->views.ops;
    l->look.board = job->board;
    l->look.idle = show_progress;
    l->look.user = l;
    omo_measuring_catch_signals();
    if (job->words->camera && omo_sound_open(omo_words_language(), &l->sound) == OMO_OK)
        omo_sound_on(l->sound, true);
    omo_progress_begin();
    enum omo_status status = job->words->camera
                                 ? omo_board_in_camera(&l->look, &job->wish, job->seconds)
                                 : omo_board_in_files(&l->look, job->words->files);
    omo_progress_end();
    omo_sound_destroy(l->sound);
    return status == OMO_OK && omo_measuring_interrupted() ? OMO_ERR_CANCELLED : status;
}

/* ---- calibrating ---- */

static bool keep_view(const double *corners, void *user)
{
    struct looking *l = user;
    l->views.width = l->look.width;
    l->views.height = l->look.height;
    if (omo_lens_views_add(&l->views, corners) && l->sound)
        omo_sound_signal(l->sound, OMO_SIGNAL_CLOSED);
    /* Files are used to their end; somebody who holds a board may put it down. */
    return !l->job->words->camera || omo_lens_views_wish(&l->views) != NULL;
}

/** False with a sentence when the views are not enough. */
static bool enough(const struct looking *l)
{
    const struct omo_lens_views *v = &l->views;
    if (l->look.found == 0)
        omo_error("no board with %d x %d inner corners was found in %d pictures; show it "
                  "whole, with its white border, in good light, or give --corners",
                  v->board.columns, v->board.rows, l->look.looked);
    else if (omo_lens_views_flat(v))
        omo_error("the board was always held flat to the camera, so the lens cannot be "
                  "told from the distance; tilt it by 30 degrees, every way");
    else if (omo_lens_views_wish(v))
        omo_error(
            "%d views of the board that differ, and that is not enough yet. Next: %s",
            v->count, omo_lens_views_wish(v));
    else
        return true;
    return false;
}

static bool good_fit(const struct omo_bridge_lens *fit, int width)
{
    double most_px = REPROJECTION_MOST_PX * width / 1280;
    char error_px[32], u[32];
    omo_number_text(fit->rms_px, 2, error_px, sizeof error_px);
    if (!(fit->rms_px <= most_px)) {
        omo_error(
            "the best lens still misses the corners by %s px, so nothing was saved; "
            "glue the board on something flat, hold it still, clean the lens",
            error_px);
        return false;
    }
    double u_ratio =
        sqrt(fit->covariance[OMO_LENS_FX][OMO_LENS_FX]) / fit->value[OMO_LENS_FX];
    omo_number_text(100 * u_ratio, 1, u, sizeof u);
    if (!(u_ratio <= FOCAL_U_MOST_RATIO)) {
        omo_error(
            "these views tell the focal length to %s %% only, so nothing was saved; "
            "tilt the board more, and bring it nearer",
            u);
        return false;
    }
    return true;
}

static bool fit_lens(const struct looking *l, struct omo_lens *lens)
{
    const struct omo_lens_views *v = &l->views;
    struct omo_bridge_lens fit;
    if (v->ops->calibrate(&v->board, (const double *)(void *)v->corners->data, v->count,
                          v->width, v->height, &fit) != OMO_OK) {
        omo_error(
            "no lens fits these views; check that --corners is the printed board's, "
            "and that all pictures are of one camera");
        return false;
    }
    if (!good_fit(&fit, v->width))
        return false;
    omo_lens_default(v->width, v->height, lens);
    lens->source = OMO_LENS_CALIBRATED;
    memcpy(lens->value, fit.value, sizeof lens->value);
    memcpy(lens->covariance, fit.covariance, sizeof lens->covariance);
    lens->reprojection_px = fit.rms_px;
    lens->readout_s = l->job->readout_s;
    if (omo_lens_valid(lens))
        return true;
    omo_error("the lens that fits these views bends the picture's border back on itself, "
              "so nothing was saved; hold the board further into the corners");
    return false;
}

static void name_profile(const struct looking *l, struct omo_lens_profile *profile)
{
    const struct omo_lens_words *w = l->job->words;
    char stem[200] = "";
    omo_text_copy(profile->camera, sizeof profile->camera, l->look.camera);
    if (w->name) {
        omo_text_copy(profile->name, sizeof profile->name, w->name);
        return;
    }
    if (w->files)
        omo_input_stem(w->files[0], stem, sizeof stem);
    omo_lens_name_from(w->files ? stem : l->look.camera, profile->name,
                       sizeof profile->name);
}

static bool is_free(const struct omo_lens_job *job, const char *name)
{
    g_autofree char *path = omo_lens_path(job->words->data, name);
    if (job->words->replace || !g_file_test(path, G_FILE_TEST_EXISTS))
        return true;
    omo_error(
        "there is a lens profile \"%s\"; give another --name, or --replace to write "
        "over it",
        name);
    return false;
}

int omo_lens_run_calibrate(const struct omo_lens_job *job)
{
    const struct omo_bridge_lens_ops *ops;
    struct omo_lens_profile profile = {0};
    struct looking l = {.job = job};
    int code = OMO_EXIT_FAILED;
    if ((job->words->name && !is_free(job, job->words->name)) ||
        omo_bridge_lens_load(&ops) != OMO_OK)
        return code;
    omo_lens_views_init(&l.views, ops, &job->board);
    l.look.seen = keep_view;
    if (look_at_all(&l) == OMO_OK) {
        name_profile(&l, &profile);
        if (is_free(job, profile.name) && enough(&l) && fit_lens(&l, &profile.lens)) {
            if (!job->words->json)
                printf(omo_word("%d views used; the board was found in %d of %d "
                                "pictures.\n"),
                       l.views.count, l.look.found, l.look.looked);
            code = omo_lens_keep(job, &profile);
        }
    }
    omo_lens_views_finish(&l.views);
    return code;
}

/* ---- levelling ---- */

/** Without --lens the profile that this camera used last is the one to add to. */
static void take_remembered(struct looking *l)
{
    char name[64];
    omo_lens_remembered(l->job->words->data, l->look.camera, name, sizeof name);
    if (name[0] && strcmp(name, "none") != 0 &&
        omo_lens_load(l->job->words->data, name, &l->profile, NULL) == OMO_OK)
        omo_info("the level goes to the lens profile \"%s\" of this camera", name);
}

/** Makes the lens one of these pictures; an assumed one where there is none. */
static bool size_lens(struct omo_lens_profile *profile, int width, int height)
{
    if (profile->lens.width == 0) {
        omo_lens_default(width, height, &profile->lens);
        omo_warning("no --lens is named, so an ordinary lens is assumed; calibrate first "
                    "for a better level");
        return true;
    }
    if (omo_lens_scale(&profile->lens, width, height, &profile->lens))
        return true;
    omo_error(
        "the lens profile \"%s\" is of pictures of another shape (%d x %d, here %d x "
        "%d); calibrate in the size that is measured in",
        profile->name, profile->lens.width, profile->lens.height, width, height);
    return false;
}

/** The lens of these pictures, before the first that counts; false when it is none. */
static bool take_lens(struct looking *l, struct omo_lens *lens)
{
    if (lens->width > 0)
        return true;
    if (!l->job->words->lens)
        take_remembered(l);
    l->refused = !size_lens(&l->profile, l->look.width, l->look.height);
    if (!l->refused)
        *lens = l->profile.lens;
    return !l->refused;
}

static bool add_upright(const double *corners, void *user)
{
    struct looking *l = user;
    if (!take_lens(l, &l->upright.lens))
        return false;
    omo_lens_upright_add(&l->upright, corners);
    return !l->job->words->camera || l->upright.views < UPRIGHT_ENOUGH;
}

/** Level from a board, into l->profile. */
static bool stand(struct looking *l)
{
    if (omo_bridge_lens_load(&l->views.ops) != OMO_OK)
        return false;
    l->upright.ops = l->views.ops;
    l->upright.board = l->job->board;
    l->look.seen = add_upright;
    return look_at_all(l) == OMO_OK && !l->refused &&
           omo_lens_upright_finish(&l->upright, &l->profile.lens) == OMO_OK;
}

static bool add_thread(const struct omo_frame *frame, void *user)
{
    struct looking *l = user;
    return take_lens(l, &l->thread.lens) && omo_lens_thread_add(&l->thread, frame);
}

/** Roll from stickers on a thread, into l->profile. */
static bool see_thread(struct looking *l)
{
    l->thread.set = l->job->set;
    l->look.picture = add_thread;
    bool good = look_at_all(l) == OMO_OK && !l->refused &&
                omo_lens_thread_result(&l->thread, &l->profile.lens) == OMO_OK;
    omo_lens_thread_finish(&l->thread);
    return good;
}

/** What a plumb line does not show is said, lest it be taken for measured. */
static void say_pitch(const struct omo_lens *lens)
{
    if (isnan(lens->pitch_deg))
        omo_info("a plumb line shows the roll alone: whether the camera looks up or down "
                 "stays not known; the board shows it (--level)");
    else
        omo_info("a plumb line shows the roll alone: the pitch stays as the profile has "
                 "it, which holds if the camera was not tilted since");
}

static bool hang(struct looking *l)
{
    if (l->job->thread)
        return see_thread(l);
    if (!l->job->words->lens) {
        omo_error(
            "--plumb needs a profile to add to, which also tells the picture's size; "
            "name it with --lens");
        return false;
    }
    const struct omo_lens *lens = &l->profile.lens;
    for (int i = 0; i < 2; i++) {
        struct omo_point p = l->job->plumb[i];
        if (p.x >= 0 && p.y >= 0 && p.x < lens->width && p.y < lens->height)
            continue;
        omo_error(
            "--plumb: a point lies outside the profile's picture of %d x %d px; read "
            "both off a picture of that size",
            lens->width, lens->height);
        return false;
    }
    return omo_lens_hang(&l->profile.lens, l->job->plumb[0], l->job->plumb[1],
                         OMO_LENS_POINT_U_PX) == OMO_OK;
}

int omo_lens_run_level(const struct omo_lens_job *job)
{
    const struct omo_lens_words *w = job->words;
    struct looking l = {.job = job};
    if (w->lens && omo_lens_load(w->data, w->lens, &l.profile, NULL) != OMO_OK)
        return OMO_EXIT_FAILED;
    if (!(w->plumb ? hang(&l) : stand(&l)))
        return OMO_EXIT_FAILED;
    if (!l.profile.name[0] || w->name) {
        char camera[sizeof l.profile.camera];
        omo_text_copy(camera, sizeof camera, l.profile.camera);
        name_profile(&l, &l.profile);
        if (!l.profile.camera[0])
            omo_text_copy(l.profile.camera, sizeof l.profile.camera, camera);
        if (!is_free(job, l.profile.name))
            return OMO_EXIT_FAILED;
    }
    if (l.look.camera[0])
        omo_text_copy(l.profile.camera, sizeof l.profile.camera, l.look.camera);
    if (!isnan(job->readout_s))
        l.profile.lens.readout_s = job->readout_s;
    if (w->plumb)
        say_pitch(&l.profile.lens);
    return omo_lens_keep(job, &l.profile);
}
