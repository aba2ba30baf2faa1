#include "show/sound/tones.h"

#include <math.h>
#include <string.h>

/* A3 at 0 degrees: small loudspeakers give little below. */
#define LOWEST_HZ      220.0
#define DEG_PER_OCTAVE 90.0
/* Beyond the shoulder's own range the law goes on for a while. */
#define LOWEST_DEG   -45.0
#define HIGHEST_DEG  225.0
#define TONE_LEVEL   0.11
#define BEHIND_RATIO 0.25 /* of the tone under speech or a signal */
/* Half of the partials' own sum would already be loud; see the test of the peak. */
#define SECOND_PARTIAL 0.25
#define THIRD_PARTIAL  0.10
#define SIGNAL_PARTIAL 0.20
/* Time constants. The pitch's is about one picture's time: steps from picture to picture
 * become a glide. */
#define GLIDE_S    0.03
#define RISE_S     0.02
#define FALL_S     0.015
#define GIVE_WAY_S 0.006
#define SILENT     1e-4
#define TURN       6.283185307179586

struct note {
    double start_s, length_s;
    double pitch_hz;
    double level;
    double rise_s;
};
#define NOTES_MOST 3

/* Told apart by rhythm and pitch, so that neither has to be recognised by itself: up =
 * begins, one knock = counted, two equal ones = marked, two slow soft ones = attention,
 * three down = over. */
static const struct note signals[][NOTES_MOST] = {
    [OMO_SIGNAL_NEUTRAL] = {{0.00, 0.16, 523.25, 0.15, 0.010},
                            {0.16, 0.45, 783.99, 0.15, 0.010}},
    [OMO_SIGNAL_CLOSED] = {{0.00, 0.22, 659.26, 0.13, 0.008}},
    [OMO_SIGNAL_MARK] = {{0.00, 0.10, 349.23, 0.16, 0.008},
                         {0.13, 0.14, 349.23, 0.16, 0.008}},
    [OMO_SIGNAL_WARN] = {{0.00, 0.45, 440.00, 0.11, 0.080},
                         {0.50, 0.60, 415.30, 0.11, 0.080}},
    [OMO_SIGNAL_ENDED] = {{0.00, 0.20, 783.99, 0.14, 0.010},
                          {0.20, 0.20, 659.26, 0.14, 0.010},
                          {0.40, 0.55, 523.25, 0.14, 0.010}},
};
#define SIGNAL_COUNT ((int)(sizeof signals / sizeof signals[0]))

double omo_tones_octave(double angle_deg)
{
    if (isnan(angle_deg))
        return NAN;
    return fmin(fmax(angle_deg, LOWEST_DEG), HIGHEST_DEG) / DEG_PER_OCTAVE;
}

double omo_sound_pitch_hz(double angle_deg)
{
    return LOWEST_HZ * exp2(omo_tones_octave(angle_deg));
}

double omo_tones_signal_s(enum omo_signal signal)
{
    double end_s = 0;

    for (int i = 0; i < NOTES_MOST; i++)
        end_s = fmax(end_s, signals[signal][i].start_s + signals[signal][i].length_s);
    return end_s;
}

void omo_tones_init(struct omo_tones *tones, double rate_hz)
{
    memset(tones, 0, sizeof *tones);
    tones->rate_hz = rate_hz;
    tones->angle_deg = NAN;
    tones->moved_deg = NAN;
    tones->signal = -1;
    tones->next_signal = -1;
}

void omo_tones_angle(struct omo_tones *tones, double angle_deg)
{
    tones->angle_deg = angle_deg;
    tones->since_angle_s = 0;
    /* A lost marker does not count as a movement: a still arm stays silent when it is
     * found again. */
    if (isnan(angle_deg))
        return;
    if (!(fabs(angle_deg - tones->moved_deg) < OMO_TONES_MOVED_DEG)) {
        tones->moved_deg = angle_deg;
        tones->since_moved_s = 0;
    }
}

void omo_tones_signal(struct omo_tones *tones, enum omo_signal signal)
{
    if ((int)signal >= 0 && (int)signal < SIGNAL_COUNT)
        tones->next_signal = (int)signal;
}

bool omo_tones_silent(const struct omo_tones *tones)
{
    return tones->level == 0 && tones->signal < 0 && tones->next_signal < 0;
}

/* Moves a value towards another as a low-pass of the first order would. */
static double towards(double value, double wanted, double time_s, double step_s)
{
    return value + (wanted - value) * (1 - exp(-step_s / time_s));
}

static bool tone_wanted(const struct omo_tones *tones)
{
    return !tones->muted && !isnan(tones->angle_deg) &&
           tones->since_angle_s < OMO_TONES_STALE_S &&
           tones->since_moved_s < OMO_TONES_HUSH_S;
}

static double tone_sample(struct omo_tones *tones, double step_s)
{
    const bool behind = tones->speaking || tones->signal >= 0;
    const double wanted = !tone_wanted(tones) ? 0 : behind ? BEHIND_RATIO : 1;

    tones->since_angle_s += step_s;
    tones->since_moved_s += step_s;
    if (wanted == 0 && tones->level == 0)
        return 0;

    if (wanted > 0) {
        const double octave = omo_tones_octave(tones->angle_deg);

        /* A tone that begins is at its pitch at once; one that sounds glides. */
        tones->octave =
            tones->level == 0 ? octave : towards(tones->octave, octave, GLIDE_S, step_s);
    }
    tones->level =
        towards(tones->level, wanted, wanted > tones->level ? RISE_S : FALL_S, step_s);
    if (wanted == 0 && tones->level < SILENT)
        tones->level = 0;

    tones->phase += LOWEST_HZ * exp2(tones->octave) * step_s;
    tones->phase -= floor(tones->phase);
    /* Partials, since small loudspeakers hardly give the lowest pitches themselves. */
    const double s = sin(TURN * tones->phase), c = cos(TURN * tones->phase);
    const double second = 2 * s * c, third = s * (3 - 4 * s * s);
    return TONE_LEVEL * tones->level *
           (s + SECOND_PARTIAL * second + THIRD_PARTIAL * third);
}

/* A struck note: a short rise, a decay, and a straight way to nothing at its end. */
static double note_sample(const struct note *note, double time_s)
{
    const double t_s = time_s - note->start_s, left_s = note->length_s - t_s;

    if (t_s < 0 || left_s <= 0)
        return 0;
    const double rise = fmin(1, t_s / note->rise_s);
    const double fall = fmin(1, left_s / (2 * note->rise_s));
    const double decay = exp(-fmax(0, t_s - note->rise_s) / (0.5 * note->length_s));
    const double turn = TURN * note->pitch_hz * t_s;
    return note->level * rise * fall * decay *
           (sin(turn) + SIGNAL_PARTIAL * sin(2 * turn));
}

static double signal_sample(struct omo_tones *tones, double step_s)
{
    if (tones->signal < 0 && tones->next_signal >= 0) {
        tones->signal = tones->next_signal;
        tones->next_signal = -1;
        tones->signal_sample = 0;
        tones->signal_level = 1;
    }
    if (tones->signal < 0)
        return 0;

    const double time_s = (double)tones->signal_sample++ * step_s;
    double sample = 0;

    for (int i = 0; i < NOTES_MOST; i++)
        sample += note_sample(&signals[tones->signal][i], time_s);
    sample *= tones->signal_level;
    if (tones->next_signal >= 0 || tones->muted)
        tones->signal_level = towards(tones->signal_level, 0, GIVE_WAY_S, step_s);
    if (time_s >= omo_tones_signal_s((enum omo_signal)tones->signal) ||
        tones->signal_level < SILENT)
        tones->signal = -1;
    return sample;
}

void omo_tones_render(struct omo_tones *tones, float *samples, size_t count)
{
    const double step_s = 1 / tones->rate_hz;

    if (tones->muted)
        tones->next_signal = -1;
    for (size_t i = 0; i < count; i++)
        samples[i] = (float)(tone_sample(tones, step_s) + signal_sample(tones, step_s));
}
