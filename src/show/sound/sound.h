/**
 * Tones whose pitch follows the angle, signals, and speech through espeak-ng when it is
 * installed. Without an audio device everything is silent and nothing fails. One thread
 * at a time; the audio system's own thread is taken care of.
 */
#ifndef OMO_SHOW_SOUND_H
#define OMO_SHOW_SOUND_H

#include <stdbool.h>

#include "omogon/status.h"

enum omo_signal {
    OMO_SIGNAL_NEUTRAL, /**< neutral taken: measuring begins */
    OMO_SIGNAL_CLOSED,  /**< a raise closed */
    OMO_SIGNAL_MARK,    /**< pain was marked */
    OMO_SIGNAL_WARN,
    OMO_SIGNAL_ENDED,
};

struct omo_sound;
/** Never fails for want of a device; OMO_ERR_MEMORY. `language`: "en", "de". */
OMO_MUST_CHECK enum omo_status omo_sound_open(const char *language,
                                              struct omo_sound **out);
void omo_sound_destroy(struct omo_sound *sound);
/** Off at first. Only while it is on is an audio device open. Off cuts a sentence short
 *  and waits for the tone to fade, about a tenth of a second. */
void omo_sound_on(struct omo_sound *sound, bool on);
/**
 * A quiet tone for this angle (0 to 180 onto two octaves, continuous); NAN: none. For
 * every picture. It does not drone: it is silent when the arm has moved less than a
 * degree for 1.5 s, and when no angle came for half a second.
 */
void omo_sound_angle(struct omo_sound *sound, double angle_deg);
/** One that still sounds gives way. */
void omo_sound_signal(struct omo_sound *sound, enum omo_signal signal);
/** Says a sentence; a sentence still being said is cut off. Not waited for. */
void omo_sound_say(struct omo_sound *sound, const char *sentence);
/** Waits until the signal and the sentence are over, at most `most_s`: before the end of
 *  the program, which would cut them off. */
void omo_sound_wait(struct omo_sound *sound, double most_s);
/** Pitch of an angle, Hz (for tests). */
double omo_sound_pitch_hz(double angle_deg);

#endif
