/** Four samples at a time, the same bits on every machine. */
#ifndef OMO_VISION_LANES_H
#define OMO_VISION_LANES_H

#include <stdint.h>
#include <string.h>

#if defined(__SSE2__)
#include <emmintrin.h>
#else
#include <math.h>
#endif

typedef float omo_f4 __attribute__((vector_size(16)));
typedef int32_t omo_i4 __attribute__((vector_size(16)));

static inline omo_f4 omo_load4(const float *from)
{
    omo_f4 v;
    memcpy(&v, from, sizeof v);
    return v;
}

static inline void omo_store4(float *to, omo_f4 v)
{
    memcpy(to, &v, sizeof v);
}

static inline omo_f4 omo_all4(double v)
{
    float f = (float)v;
    return (omo_f4){f, f, f, f};
}

static inline omo_f4 omo_pick4(omo_i4 mask, omo_f4 yes, omo_f4 no)
{
    return (omo_f4)((mask & (omo_i4)yes) | (~mask & (omo_i4)no));
}

/** `v` where the mask is set, 0 elsewhere. */
static inline omo_f4 omo_only4(omo_i4 mask, omo_f4 v)
{
    return (omo_f4)(mask & (omo_i4)v);
}

/** Bounded to 0..1. */
static inline omo_f4 omo_unit4(omo_f4 v)
{
    const omo_f4 zero = omo_all4(0), one = omo_all4(1);
    v = omo_pick4(v > zero, v, zero);
    return omo_pick4(v < one, v, one);
}

static inline omo_f4 omo_abs4(omo_f4 v)
{
    const omo_i4 all_but_sign = {0x7fffffff, 0x7fffffff, 0x7fffffff, 0x7fffffff};
    return (omo_f4)((omo_i4)v & all_but_sign);
}

static inline omo_f4 omo_sqrt4(omo_f4 v)
{
#if defined(__SSE2__)
    return (omo_f4)_mm_sqrt_ps((__m128)v);
#else
    for (int i = 0; i < 4; i++)
        v[i] = sqrtf(v[i]);
    return v;
#endif
}

static inline double omo_sum4(omo_f4 v)
{
    return (double)((v[0] + v[1]) + (v[2] + v[3]));
}

#endif
