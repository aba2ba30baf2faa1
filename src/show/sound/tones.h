/**
 * Tones as samples, without a device: one continuous tone that follows an angle, and
 * signals. Its time is that of the samples it renders, so the same calls give the same
 * samples. One thread at a time.
 */
#ifndef OMO_SHOW_TONES_H
#define OMO_SHOW_TONES_H

#include <stdbool.h>
#include <stddef.h>

#include "show/sound/sound.h"

/** No sample is ever larger than this. */
#define OMO_TONES_PEAK 0.35
/** An arm that moved less than this, for so long, is silent: the tone does not drone. */
#define OMO_TONES_MOVED_DEG 1.0
#define OMO_TONES_HUSH_S    1.5
/** So long after the last angle the tone ends: the pictures stopped. */
#define OMO_TONES_STALE_S 0.5

struct omo_tones {
    double rate_hz;
    bool muted;    /**< fades out and stays silent */
    bool speaking; /**< the tone steps back */

    double angle_deg; /**< NAN: none */
    double moved_deg; /**< where the arm was when it last had moved */
    double since_angle_s, since_moved_s;
    double octave; /**< pitch as it is now, octaves above that of 0 degrees */
    double phase;  /**< turns, 0 to 1 */
    double level;  /**< 0 to 1 */

    int signal, next_signal; /**< enum omo_signal, -1 none */
    size_t signal_sample;    /**< samples of the signal that were rendered */
    double signal_level;     /**< falls when another one is waiting */
};

void omo_tones_init(struct omo_tones *tones, double rate_hz);
/** Octaves above the pitch of 0 degrees, within what is heard well. NAN for NAN. */
double omo_tones_octave(double angle_deg);
void omo_tones_angle(struct omo_tones *tones, double angle_deg);
/** A signal that sounds gives way to this one; of several at once the last is heard. */
void omo_tones_signal(struct omo_tones *tones, enum omo_signal signal);
/** Length of a signal, seconds. */
double omo_tones_signal_s(enum omo_signal signal);
bool omo_tones_silent(const struct omo_tones *tones);
/** Overwrites `count` samples of one channel, -1 to 1. */
void omo_tones_render(struct omo_tones *tones, float *samples, size_t count);

#endif
