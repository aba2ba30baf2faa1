#include "study_session.h"

#include <gsl/gsl_randist.h>
#include <stdlib.h>

#include "study_camera.h"
#include "study_course.h"

#define FRAME_S    (1.0 / 30.0)
#define WHITE_PX   0.08
#define SLOW_PX    0.05
#define SLOW_S     1.0  /* over which the slow part forgets; our choice */
#define HIDDEN_MM  45.0 /* a limb hides a marker this near its middle line */
#define HIDDEN_ARM 55.0
#define MAX_FRAMES 1024
#define ATTEMPTS   200
#define RULE_S     0.2
#define RULE_GAP_S 0.1
#define EXCESS_DEG 30.0 /* span of the arm's angle in which a hike counts */
#define STICKER_MM 30.0

struct study_work {
    struct omo_track_frame frame[MAX_FRAMES];
    struct omo_trace_row row[MAX_FRAMES];
    double time_s[MAX_FRAMES], turned_deg[MAX_FRAMES], thorax_deg[MAX_FRAMES],
        line_deg[MAX_FRAMES];
    size_t count;
};

struct study_work *study_work_create(void)
{
    return calloc(1, sizeof(struct study_work));
}

void study_work_destroy(struct study_work *work)
{
    free(work);
}

static bool in_use(const struct study_person *p, int role)
{
    bool lying = study_is_rotation(p->of.movement);
    switch (role) {
    case OMO_ELBOW:
    case OMO_WRIST:
        return true;
    case OMO_SHOULDER:
        return !lying;
    case OMO_HIP:
        return !lying && p->of.trunk != STUDY_NO_TRUNK;
    case OMO_CHEST:
        return !lying && p->of.trunk == STUDY_CHEST_HIP;
    default:
        return false;
    }
}

/* ---- the set-up: a camera that sees the arm at rest and at its highest ---- */

static bool holds_all(const struct study_person *p, const struct study_camera *camera,
                      double arm_deg)
{
    struct study_pose pose;
    study_pose_at(p, 0.0, arm_deg, &pose);
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        double px_per_m;
        struct omo_point place = study_camera_see(camera, pose.marker[i], &px_per_m);
        /* The wrist may leave the picture: nobody steps back for it. */
        if (i != OMO_WRIST && in_use(p, i) &&
            !study_camera_holds(place, 2.0 * px_per_m * pose.marker_m[i]))
            return false;
    }
    return true;
}

static void set_up(const struct study_case *of, struct study_person *p)
{
    for (int attempt = 0; attempt < ATTEMPTS; attempt++) {
        study_person_draw(of, attempt, p);
        struct study_camera camera;
        study_camera_place(p, &camera);
        if (holds_all(p, &camera, study_arm_deg(p, 0.0)) &&
            holds_all(p, &camera, study_top_deg(p)))
            return;
    }
}

/* ---- frames ---- */

static double segment_distance(struct omo_point p, struct omo_point a, struct omo_point b)
{
    struct omo_point ab = omo_point_sub(b, a), ap = omo_point_sub(p, a);
    double length2 = ab.x * ab.x + ab.y * ab.y;
    double t = length2 > 0.0 ? (ap.x * ab.x + ap.y * ab.y) / length2 : 0.0;
    t = fmin(fmax(t, 0.0), 1.0);
    return hypot(ap.x - t * ab.x, ap.y - t * ab.y);
}

/** From the side the arm hangs before the trunk's markers. */
static bool hidden(const struct study_person *p, const struct study_camera *camera,
                   const struct study_pose *pose, int role, struct omo_point place)
{
    if (!study_is_from_side(p->of.movement) || (role != OMO_HIP && role != OMO_CHEST))
        return false;
    double px_per_m;
    struct omo_point joint = study_camera_see(camera, pose->joint, &px_per_m);
    struct omo_point elbow = study_camera_see(camera, pose->elbow, &px_per_m);
    struct omo_point tips = study_camera_see(camera, pose->fingertips, &px_per_m);
    double px_per_mm = px_per_m / 1000.0;
    return segment_distance(place, joint, elbow) < HIDDEN_ARM * px_per_mm ||
           segment_distance(place, elbow, tips) < HIDDEN_MM * px_per_mm;
}

/** Noise of the marker's place: white, and what lasts from frame to frame. */
struct noise {
    gsl_rng *rng;
    double slow[OMO_ROLE_COUNT][2];
};

static double noise_px(struct noise *noise, int role, int axis)
{
    double keep = exp(-FRAME_S / SLOW_S);
    double *slow = &noise->slow[role][axis];
    *slow =
        keep * *slow + gsl_ran_gaussian(noise->rng, SLOW_PX * sqrt(1.0 - keep * keep));
    return *slow + gsl_ran_gaussian(noise->rng, WHITE_PX);
}

/** A marker's place when its own row is read. */
static struct omo_point seen_at(const struct study_camera *camera,
                                const struct study_pose pose[2], int role,
                                double *px_per_m)
{
    struct space at = pose[0].marker[role];
    struct space way = space_add(pose[1].marker[role], at, -1.0);
    struct omo_point place = study_camera_see(camera, at, px_per_m);
    return study_camera_see(camera, space_add(at, way, place.y / STUDY_HEIGHT), px_per_m);
}

/** The markers by their true places and noise. */
static void look(const struct study_view *view, struct noise *noise,
                 struct omo_markers *markers)
{
    const struct study_person *p = view->person;
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        double dx = noise_px(noise, i, 0), dy = noise_px(noise, i, 1);
        struct omo_point place = view->place[i];
        double diameter_px = view->px_per_m[i] * view->pose->marker_m[i];
        bool seen = in_use(p, i) && study_camera_holds(place, diameter_px) &&
                    !hidden(p, view->camera, view->pose, i, place);
        markers->role[i] =
            seen ? (struct omo_marker){OMO_SEEN, place.x + dx, place.y + dy, diameter_px,
                                       hypot(WHITE_PX, SLOW_PX)}
                 : (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
    }
}

static bool take_frame(struct study_work *work, const struct study_person *p,
                       const struct study_camera *camera, const struct study_eye *eye,
                       struct noise *noise, size_t k)
{
    double time_s = (double)k * FRAME_S, late_s = time_s + camera->readout_s;
    struct study_pose pose[2]; /* first and last row */
    study_pose_at(p, time_s, study_arm_deg(p, time_s), &pose[0]);
    study_pose_at(p, late_s, study_arm_deg(p, late_s), &pose[1]);
    work->time_s[k] = time_s;
    work->turned_deg[k] = pose[0].rest_deg;
    work->thorax_deg[k] = pose[0].thorax_deg;
    work->line_deg[k] = pose[0].line_deg;
    struct study_view view = {
        .person = p, .camera = camera, .pose = pose, .frame = k, .time_s = time_s};
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        view.place[i] = seen_at(camera, pose, i, &view.px_per_m[i]);
    struct omo_track_frame *frame = &work->frame[k];
    *frame = (struct omo_track_frame){.index = (int64_t)k, .time_s = time_s};
    if (eye != NULL)
        return eye->look(eye->self, &view, &frame->markers);
    look(&view, noise, &frame->markers);
    return true;
}

static bool take_all(struct study_work *work, const struct study_person *p,
                     const struct study_camera *camera, const struct study_eye *eye)
{
    struct noise noise = {.rng = study_random(&p->of, STUDY_STREAM_NOISE + p->of.visit)};
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        for (int axis = 0; axis < 2; axis++)
            noise.slow[i][axis] = gsl_ran_gaussian(noise.rng, SLOW_PX);
    }
    size_t count = (size_t)ceil(study_duration_s(p) / FRAME_S);
    work->count = count < MAX_FRAMES ? count : MAX_FRAMES;
    bool fine = true;
    for (size_t k = 0; fine && k < work->count; k++)
        fine = take_frame(work, p, camera, eye, &noise, k);
    gsl_rng_free(noise.rng);
    return fine;
}

/* ---- measuring ---- */

/** A lens nobody calibrated, and a camera whose level was read off a board. */
static void level(const struct study_person *p, struct omo_lens *lens)
{
    omo_lens_default(STUDY_WIDTH, STUDY_HEIGHT, lens);
    /* Turned to its own right, a camera shows what is upright leaning to the left. */
    lens->roll_deg = p->set_up[STUDY_LEVEL_ROLL_DEG] - p->set_up[STUDY_ROLL_DEG];
    lens->pitch_deg = p->set_up[STUDY_PITCH_DEG] + p->set_up[STUDY_LEVEL_PITCH_DEG];
    lens->roll_u_deg = STUDY_LEVEL_ROLL_U_DEG;
    lens->pitch_u_deg = STUDY_LEVEL_PITCH_U_DEG;
}

static void measure(struct study_work *work, const struct study_person *p,
                    const struct omo_movement_table *table, bool no_correction,
                    struct omo_result *result)
{
    struct omo_measure_settings settings;
    omo_measure_settings_default(&settings);
    settings.movement =
        omo_movement_find(table, study_movement_name((int)p->of.movement));
    settings.picture_width = STUDY_WIDTH;
    settings.picture_height = STUDY_HEIGHT;
    settings.marker_size_mm = STICKER_MM;
    settings.no_correction = no_correction;
    struct omo_lens lens;
    if (p->of.levelled) {
        level(p, &lens);
        settings.lens = &lens;
    }
    if (p->of.told)
        settings.shoulder_place =
            p->of.placement == STUDY_EDGE ? OMO_PLACE_ON_EDGE : OMO_PLACE_OVER_HEAD;
    bool lying = study_is_rotation(p->of.movement);
    if (lying) {
        settings.position = OMO_SUPINE;
        settings.rotation_at_abduction_deg = p->abduction_deg;
    }
    settings.band[OMO_ELBOW] = p->of.set == STUDY_BANDS && !lying;
    settings.band[OMO_WRIST] = p->of.set == STUDY_BANDS;
    if (p->of.set != STUDY_BANDS)
        settings.placement_mm = p->of.set == STUDY_STICKERS5 ? 5.0 : 8.0;
    if (omo_measure(&settings, work->frame, work->count, work->row, result) != OMO_OK)
        *result = (struct omo_result){.max_deg = NAN,
                                      .max_u95_deg = NAN,
                                      .hike_onset_deg = NAN};
}

static double sustained(const struct study_work *work, const double *angle_deg,
                        size_t *at)
{
    return omo_sustained_max_deg(work->time_s, angle_deg, work->count, RULE_S, RULE_GAP_S,
                                 INFINITY, at);
}

/** Most rise by hiking within EXCESS_DEG of the arm's angle; it begins at the onset. */
static double hike_within_mm(const struct study_person *p)
{
    if (!p->hikes)
        return 0.0;
    return study_hike_mm(p, fmin(p->hike_onset_deg + EXCESS_DEG, study_top_deg(p)));
}

static void write_truth(const struct study_work *work, const struct study_person *p,
                        const struct study_camera *camera, struct study_row *row)
{
    size_t at = 0;
    double top_deg = study_top_deg(p);
    row->truth_deg = sustained(work, work->line_deg, &at);
    row->turned_deg = sustained(work, work->turned_deg, NULL);
    row->thorax_deg = sustained(work, work->thorax_deg, NULL);
    row->true_rest_deg = work->line_deg[0];
    row->true_onset_deg = p->hike_onset_deg;
    row->hike_mm = study_hike_mm(p, top_deg);
    row->hike_30_mm = hike_within_mm(p);
    row->rise_max_mm = study_rise_mm(p, top_deg);
    row->true_lean_deg = study_lean_deg(p, top_deg) + study_bend_deg(p, top_deg);
    struct study_pose pose;
    study_pose_at(p, work->time_s[at], top_deg, &pose);
    struct space arm = space_unit(space_add(pose.elbow, pose.joint, -1.0));
    double across = hypot(arm.forward, arm.right);
    struct space level = {arm.forward / across, 0, arm.right / across};
    row->true_plane_turn_deg = 90.0 - space_angle_deg(level, camera->look);
}

/** With what lies beyond the angle's definition, where the budget has such a line. */
static double thorax_u95_deg(const struct omo_result *result)
{
    double u95_deg = result->budget[OMO_MAXIMUM_HIGHEST].beyond_u95_deg;
    return isfinite(u95_deg) ? u95_deg : result->max_u95_deg;
}

void study_session_measure(struct study_work *work,
                           const struct omo_movement_table *table,
                           const struct study_person *person, const struct study_eye *eye,
                           struct study_row *row)
{
    struct study_camera camera;
    study_camera_place(person, &camera);
    *row = (struct study_row){.of = person->of,
                              .stiff = person->stiff,
                              .arc_deg = person->arc_deg,
                              .measured_deg = NAN,
                              .uncorrected_deg = NAN};
    if (!take_all(work, person, &camera, eye))
        return;
    write_truth(work, person, &camera, row);
    struct omo_result result;
    measure(work, person, table, true, &result);
    row->uncorrected_deg = result.max_deg;
    row->uncorrected_u95_deg = result.max_u95_deg;
    measure(work, person, table, false, &result);
    row->measured_deg = result.max_deg;
    row->u95_deg = result.max_u95_deg;
    row->thorax_u95_deg = thorax_u95_deg(&result);
    row->before_hike_deg = result.max_before_hike_deg;
    row->rest_deg = result.rest_deg;
    row->lean_at_max_deg = result.lean_at_max_deg;
    row->onset_deg = result.hike_onset_deg;
    row->pivot_offset_ratio = result.pivot_offset_ratio;
    row->plane_turn_deg = result.plane_turn_deg;
    row->trunk_rest_offset_deg = result.trunk_rest_offset_deg;
    row->seen_ratio = result.seen_ratio;
    row->reference = result.reference;
}

void study_session_run(struct study_work *work, const struct omo_movement_table *table,
                       const struct study_case *of, const struct study_eye *eye,
                       struct study_row *row)
{
    struct study_person person;
    set_up(of, &person);
    study_session_measure(work, table, &person, eye, row);
}
