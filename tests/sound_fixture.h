/* What tones are judged by. */
#ifndef SOUND_FIXTURE_H
#define SOUND_FIXTURE_H

#include <stddef.h>

#define RATE_HZ 48000
/* A power of two for the transform, 1.37 s. */
#define LONG 65536
/* Steepest a tone or a note may be from one sample to the next: the partials' slopes at
 * the highest pitch add up to about 0.03, so a jump of the level of a tone stands out. */
#define STEEPEST        0.04
#define PITCH_RATIO_TOL 0.01

double peak_of(const float *from, size_t count);
/* The largest step between neighbours; before the first was silence. */
double steepest_of(const float *from, size_t count);
/* The strongest frequency of LONG samples, between bins by a parabola. */
double dominant_hz(const float *from);

#endif
