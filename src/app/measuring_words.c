#include "app/measuring_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "omogon/clock.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/cue_words.h"

/* A line that changes at once is not said aloud. */
#define STANDS_NS  600000000
#define PASSING_NS 4000000000
/* Taken before the angle's own is known (our choice). */
#define USUAL_U95_DEG 5

static const char *const positions[OMO_POSITION_COUNT] = {OMO_WORD("standing"),
                                                          OMO_WORD("seated"),
                                                          OMO_WORD("lying on the back"),
                                                          OMO_WORD("lying on the side"),
                                                          OMO_WORD("lying on the front")};

/** What keeps the pictures away, short enough to be read from three metres. */
static const char *fault_line(enum omo_camera_fault fault)
{
    switch (fault) {
    case OMO_CAMERA_FINE:
        return "";
    case OMO_CAMERA_NONE:
        return omo_word("No camera: plug one in");
    case OMO_CAMERA_DENIED:
        return omo_word("This account may not use the camera");
    case OMO_CAMERA_BUSY:
        return omo_word("Another program has the camera: close it");
    case OMO_CAMERA_UNUSABLE:
        return omo_word("This camera gives no readable pictures");
    case OMO_CAMERA_UNPLUGGED:
        return omo_word("Camera unplugged: plug it in again");
    case OMO_CAMERA_STALLED:
        return omo_word("No pictures: unplug the camera, plug it in");
    case OMO_CAMERA_RESIZED:
        return omo_word("Picture size changed: please begin again");
    }
    return "";
}

void omo_movement_title(const struct omo_plan *plan, char *title, size_t size)
{
    title[0] = '\0';
    omo_text_add(title, size, "%s, %s, %s", omo_movement_words(plan->movement->key),
                 plan->both_sides                 ? omo_word("both arms")
                 : plan->tracker.side == OMO_LEFT ? omo_word("your left")
                                                  : omo_word("your right"),
                 omo_word(positions[plan->tracker.position]));
}

const char *omo_caution_words(void)
{
    static char line[1024];
    omo_text_copy(line, sizeof line, omo_word(OMO_CAUTION));
    for (char *c = line; *c; c++)
        if (*c == '\n')
            *c = c[1] ? ' ' : '\0';
    return line;
}

const struct omo_live_view *omo_says_nothing(void)
{
    static struct omo_live_view nothing;
    nothing = (struct omo_live_view){.time_s = NAN,
                                     .phase = OMO_PHASE_SEEK,
                                     .phase_ratio = NAN,
                                     .phase_left_s = NAN,
                                     .angle_deg = NAN,
                                     .angle_image_deg = NAN,
                                     .angle_u95_deg = NAN,
                                     .best_deg = NAN,
                                     .last_raise_deg = NAN,
                                     .trunk_lean_deg = NAN,
                                     .hike_ratio = NAN,
                                     .elbow_flexion_deg = NAN,
                                     .pain_onset_deg = NAN,
                                     .pain_end_deg = NAN};
    return &nothing;
}

void omo_says_begin(struct omo_says *says, const struct omo_plan *plan,
                    const struct omo_camera_got *got)
{
    *says = (struct omo_says){.plan = plan,
                              .rest_left_s = NAN,
                              .other_saved_deg = NAN,
                              .ceiling_deg = NAN};
    omo_movement_title(plan, says->title, sizeof says->title);
    char rate[32];
    omo_number_text(got->frames_per_second, 0, rate, sizeof rate);
    omo_text_add(says->status, sizeof says->status,
                 rate[0] ? omo_word("%s %s, %d x %d, %s pictures a second")
                         : omo_word("%s %s, %d x %d"),
                 got->path[0] ? got->path : got->name, got->format, got->width,
                 got->height, rate);
}

const char *omo_watch_line(const struct omo_plan *plan, const struct omo_live_now *now)
{
    return now->cue != OMO_CUE_NONE ? omo_cue_sentence(now->cue, &plan->measure)
                                    : omo_phase_sentence(now->view, &plan->measure);
}

/** The ceiling, less what the angle is good to, is as far as anybody is let go. */
static bool far_enough(const struct omo_says *says, const struct omo_live_view *view)
{
    double good_to_deg = isnan(view->angle_u95_deg) ? USUAL_U95_DEG : view->angle_u95_deg;
    return view->angle_deg >= says->ceiling_deg - good_to_deg;
}

/** Goes before every other line. */
static bool warn(struct omo_says *says, const struct omo_live_now *now)
{
    bool other = says->plan->both_sides && far_enough(says, &now->view[1]);
    if (!other && !far_enough(says, now->view))
        return false;
    says->fault = true;
    omo_text_copy(says->line, sizeof says->line, omo_word("Far enough. Lower slowly."));
    omo_text_copy(says->aloud, sizeof says->aloud, says->line);
    return true;
}

void omo_says_follow(struct omo_says *says, const struct omo_live_now *now)
{
    if (warn(says, now))
        return;
    /* After the end nothing is wrong any more. */
    says->fault = now->cue != OMO_CUE_NONE && now->view->phase != OMO_PHASE_ENDED;
    const struct omo_measure_settings *settings = &says->plan[now->cue_arm].measure;
    if (says->plan->both_sides) {
        omo_text_copy(says->line, sizeof says->line,
                      says->fault ? omo_both_cue_sentence(now->cue, settings)
                                  : omo_both_phase_sentence(now->view, settings));
        omo_text_copy(says->aloud, sizeof says->aloud, says->line);
        return;
    }
    omo_text_copy(says->line, sizeof says->line,
                  says->fault ? omo_cue_sentence(now->cue, settings)
                              : omo_phase_sentence(now->view, settings));
    omo_text_copy(says->aloud, sizeof says->aloud,
                  says->fault ? omo_cue_spoken(now->cue, settings)
                              : omo_phase_spoken(now->view, settings));
}

static void say_in_passing(struct omo_says *says, const char *sentence)
{
    omo_text_copy(says->passing, sizeof says->passing, sentence);
    says->passing_until_ns = omo_clock_ns() + PASSING_NS;
}

void omo_says_saved(struct omo_says *says, const struct omo_saved *saved)
{
    char text[256] = "", degrees[32], other[32];
    double other_deg = says->other_saved_deg;
    says->other_saved_deg = saved->last ? (double)NAN : saved->row.max_deg;
    omo_number_text(saved->row.max_deg, 0, degrees, sizeof degrees);
    omo_number_text(other_deg, 0, other, sizeof other);
    if (saved->status == OMO_ERR_EMPTY)
        say_in_passing(says, omo_word("No raise was measured, nothing was saved."));
    else if (saved->status != OMO_OK)
        say_in_passing(says, omo_word("It could not be saved: the disk refuses."));
    else if (!degrees[0])
        say_in_passing(says, omo_word("Saved, without a highest angle."));
    else if (saved->last && other[0]) {
        omo_text_add(text, sizeof text,
                     omo_word("Saved: right arm %s degrees, left arm %s."), other,
                     degrees);
        say_in_passing(says, text);
    } else {
        omo_text_add(text, sizeof text, omo_word("Saved: %s degrees."), degrees);
        say_in_passing(says, text);
    }
}

void omo_says_rest(struct omo_says *says, double left_s)
{
    says->rest_left_s = left_s;
}

void omo_says_still(struct omo_says *says, enum omo_status status)
{
    if (status == OMO_OK)
        say_in_passing(says, omo_word("Still kept."));
    else if (status == OMO_ERR_EMPTY)
        say_in_passing(says, omo_word("No still: the head could not be covered."));
    else
        say_in_passing(says, omo_word("The still could not be written."));
}

const char *omo_says_line(struct omo_says *says, enum omo_camera_fault camera,
                          bool *fault)
{
    *fault = camera != OMO_CAMERA_FINE;
    if (*fault)
        return fault_line(camera);
    if (says->passing[0] && omo_clock_ns() < says->passing_until_ns)
        return says->passing;
    says->passing[0] = '\0';
    if (!isnan(says->rest_left_s)) {
        static char rest[128];
        rest[0] = '\0';
        omo_text_add(rest, sizeof rest, omo_word("Let the arm rest: %d seconds."),
                     (int)ceil(fmax(says->rest_left_s, 0)));
        return rest;
    }
    *fault = says->fault;
    return says->line;
}

void omo_says_aloud(struct omo_says *says, enum omo_camera_fault camera,
                    struct omo_sound *sound)
{
    bool fault;
    const char *line = omo_says_line(says, camera, &fault);
    /* A countdown is shown; said it is once. */
    if (!isnan(says->rest_left_s) && !fault && line != says->passing)
        line = omo_word("Let the arm rest for a while.");
    else if (line == says->line)
        line = says->aloud;
    if (strcmp(line, says->wanted)) {
        omo_text_copy(says->wanted, sizeof says->wanted, line);
        says->wanted_since_ns = omo_clock_ns();
    }
    if (!says->wanted[0] || !strcmp(says->wanted, says->spoken) ||
        omo_clock_ns() - says->wanted_since_ns < STANDS_NS)
        return;
    omo_text_copy(says->spoken, sizeof says->spoken, says->wanted);
    omo_sound_say(sound, says->spoken);
}

void omo_says_print(struct omo_says *says, enum omo_camera_fault camera,
                    const struct omo_live_view *view)
{
    bool fault;
    char degrees[32], other[32];
    bool closed = view->events & OMO_EVENT_RAISE_CLOSED;
    omo_number_text(view->last_raise_deg, 0, degrees, sizeof degrees);
    if (closed && says->plan->both_sides) {
        omo_number_text(view[1].last_raise_deg, 0, other, sizeof other);
        printf(omo_word("  raise %d: right arm %s degrees, left arm %s\n"), view->raises,
               degrees[0] ? degrees : "-", other[0] ? other : "-");
    } else if (closed) {
        printf(omo_word("  raise %d: %s degrees\n"), view->raises,
               degrees[0] ? degrees : "-");
    }
    const char *line = omo_says_line(says, camera, &fault);
    if (fault && camera != OMO_CAMERA_FINE)
        return; /* said on standard error */
    if (strcmp(line, says->printed) && isnan(says->rest_left_s)) {
        omo_text_copy(says->printed, sizeof says->printed, line);
        printf("%s%s\n", fault ? "! " : "", line);
    }
    fflush(stdout);
}
