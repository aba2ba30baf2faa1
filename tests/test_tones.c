/* Tones as samples: the law of the pitch, no clicks, quiet, and told apart. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <gsl/gsl_fft_complex.h>

#include "show/sound/sound.h"
#include "show/sound/tones.h"
#include "sound_fixture.h"

/* One picture at 30 a second. */
#define PICTURE 1600

static const enum omo_signal all_signals[] = {OMO_SIGNAL_NEUTRAL, OMO_SIGNAL_CLOSED,
                                              OMO_SIGNAL_MARK, OMO_SIGNAL_WARN,
                                              OMO_SIGNAL_ENDED};
#define SIGNALS (sizeof all_signals / sizeof all_signals[0])

static float samples[4 * LONG];

/* Renders pictures of an arm that swings by a degree about an angle, as a held arm that
 * is not quite still does, so that it keeps sounding. */
static void render_about(struct omo_tones *tones, double angle_deg, double swing_deg,
                         size_t count)
{
    for (size_t done = 0, i = 0; done < count; done += PICTURE, i++) {
        const size_t left = count - done;

        omo_tones_angle(tones, angle_deg + (i / 8 % 2 ? swing_deg : -swing_deg));
        omo_tones_render(tones, samples + done, left < PICTURE ? left : PICTURE);
    }
}

START_TEST(two_octaves_lie_between_0_and_180_degrees)
{
    ck_assert_double_eq_tol(omo_sound_pitch_hz(0), 220, 1e-9);
    ck_assert_double_eq_tol(omo_sound_pitch_hz(90), 440, 1e-9);
    ck_assert_double_eq_tol(omo_sound_pitch_hz(180), 880, 1e-9);
    ck_assert(isnan(omo_sound_pitch_hz(NAN)));
}
END_TEST

START_TEST(a_higher_arm_is_a_higher_pitch_and_equal_steps_are_equal_intervals)
{
    for (int deg = 0; deg < 180; deg++) {
        const double ratio = omo_sound_pitch_hz(deg + 1) / omo_sound_pitch_hz(deg);

        ck_assert_double_eq_tol(ratio, pow(2, 1.0 / 90), 1e-12);
    }
    /* An arm behind the body or past the head goes on, up to a bound. */
    ck_assert_double_lt(omo_sound_pitch_hz(-20), omo_sound_pitch_hz(0));
    ck_assert_double_gt(omo_sound_pitch_hz(190), omo_sound_pitch_hz(180));
    ck_assert_double_gt(omo_sound_pitch_hz(-1e9), 100);
    ck_assert_double_lt(omo_sound_pitch_hz(1e9), 2000);
}
END_TEST

static const double angles_deg[] = {0, 17, 45, 90, 133, 180};

START_TEST(a_rendered_tone_has_the_pitch_of_its_angle)
{
    const double angle_deg = angles_deg[_i];
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    omo_tones_angle(&tones, angle_deg);
    /* A still arm's tone lasts 1.5 s, which is longer than what is looked at. */
    render_about(&tones, angle_deg, 0, LONG);
    const double got_hz = dominant_hz(samples);
    const double want_hz = omo_sound_pitch_hz(angle_deg);
    ck_assert_msg(fabs(got_hz / want_hz - 1) < PITCH_RATIO_TOL,
                  "%g degrees: %g Hz instead of %g", angle_deg, got_hz, want_hz);
    ck_assert_double_gt(peak_of(samples, LONG), 0.05);
}
END_TEST

START_TEST(a_tone_at_another_rate_has_the_same_pitch)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ / 2.0);
    for (size_t done = 0; done < LONG; done += PICTURE / 2) {
        omo_tones_angle(&tones, done / (PICTURE * 4) % 2 ? 90.6 : 89.4);
        omo_tones_render(&tones, samples + done, PICTURE / 2);
    }
    /* The transform takes the samples for twice as fast. */
    ck_assert_double_eq_tol(dominant_hz(samples) / 2, 440, 440 * PITCH_RATIO_TOL);
}
END_TEST

START_TEST(no_angle_is_silence)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    omo_tones_render(&tones, samples, LONG);
    ck_assert(peak_of(samples, LONG) == 0);
    for (int i = 0; i < 30; i++) {
        omo_tones_angle(&tones, NAN);
        omo_tones_render(&tones, samples, PICTURE);
        ck_assert(peak_of(samples, PICTURE) == 0);
    }
    ck_assert(omo_tones_silent(&tones));
}
END_TEST

START_TEST(an_arm_that_moves_slowly_is_heard_all_the_time)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    for (int i = 0; i < 300; i++) {
        omo_tones_angle(&tones, 60 + i / 30.0); /* a degree a second */
        omo_tones_render(&tones, samples, PICTURE);
        if (i > 3)
            ck_assert_double_gt(peak_of(samples, PICTURE), 0.05);
    }
}
END_TEST

START_TEST(an_arm_held_still_falls_silent_and_is_heard_again_when_it_moves)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    for (int i = 0; i < 60; i++) { /* two seconds, with a tracker's own unrest */
        omo_tones_angle(&tones, 80 + (i % 3) * 0.3);
        omo_tones_render(&tones, samples, PICTURE);
    }
    ck_assert(peak_of(samples, PICTURE) == 0);
    /* A marker that was lost for a moment does not bring it back. */
    omo_tones_angle(&tones, NAN);
    omo_tones_render(&tones, samples, PICTURE);
    omo_tones_angle(&tones, 80);
    omo_tones_render(&tones, samples, PICTURE);
    ck_assert(peak_of(samples, PICTURE) == 0);

    render_about(&tones, 83, 1, 10 * PICTURE);
    ck_assert_double_gt(peak_of(samples, 10 * PICTURE), 0.05);
}
END_TEST

START_TEST(a_tone_ends_when_the_pictures_stop)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    render_about(&tones, 50, 1, 10 * PICTURE);
    omo_tones_render(&tones, samples, RATE_HZ);
    ck_assert_double_gt(peak_of(samples, RATE_HZ / 4), 0.05);
    ck_assert(peak_of(samples + RATE_HZ * 9 / 10, RATE_HZ / 10) == 0);
}
END_TEST

START_TEST(neither_jumps_nor_gaps_nor_signals_click)
{
    struct omo_tones tones;
    size_t done = 0;
    unsigned chance = 7;

    omo_tones_init(&tones, RATE_HZ);
    for (int i = 0; done + PICTURE <= sizeof samples / sizeof samples[0];
         i++, done += PICTURE) {
        chance = chance * 1664525 + 1013904223;
        omo_tones_angle(&tones, i % 11 == 5 ? NAN : (chance >> 8) % 181);
        if (i % 5 == 0) /* most of them while another sounds */
            omo_tones_signal(&tones, all_signals[(chance >> 20) % SIGNALS]);
        tones.speaking = i % 23 < 9;
        omo_tones_render(&tones, samples + done, PICTURE);
    }
    const double steepest = steepest_of(samples, done);
    ck_assert_msg(steepest < STEEPEST, "a step of %g", steepest);
    ck_assert_double_lt(peak_of(samples, done), OMO_TONES_PEAK);
}
END_TEST

START_TEST(muting_fades_to_silence_within_a_quarter_of_a_second)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    render_about(&tones, 90, 1, 10 * PICTURE);
    omo_tones_signal(&tones, OMO_SIGNAL_ENDED);
    omo_tones_render(&tones, samples, PICTURE);
    const float last = samples[PICTURE - 1];
    tones.muted = true;
    omo_tones_render(&tones, samples, RATE_HZ / 4 + PICTURE);
    ck_assert_double_lt(fabs((double)samples[0] - (double)last), STEEPEST);
    ck_assert_double_lt(steepest_of(samples + 1, RATE_HZ / 4) - fabs((double)samples[1]),
                        STEEPEST);
    ck_assert(peak_of(samples + RATE_HZ / 4, PICTURE) == 0);
    ck_assert(omo_tones_silent(&tones));
}
END_TEST

START_TEST(the_tone_steps_back_behind_speech_and_comes_again)
{
    struct omo_tones tones;
    double peak[3];

    omo_tones_init(&tones, RATE_HZ);
    for (int i = 0; i < 3; i++) {
        tones.speaking = i == 1;
        render_about(&tones, 90, 1, 20 * PICTURE);
        peak[i] = peak_of(samples + 10 * PICTURE, 10 * PICTURE);
    }
    ck_assert_double_lt(peak[1], 0.35 * peak[0]);
    ck_assert_double_gt(peak[1], 0.1 * peak[0]);
    ck_assert_double_gt(peak[2], 0.9 * peak[0]);
}
END_TEST

/* A signal alone, with what follows it. */
static size_t render_signal(enum omo_signal signal)
{
    struct omo_tones tones;
    const size_t length = (size_t)(omo_tones_signal_s(signal) * RATE_HZ);

    omo_tones_init(&tones, RATE_HZ);
    omo_tones_signal(&tones, signal);
    ck_assert(!omo_tones_silent(&tones));
    memset(samples, 0, sizeof samples);
    omo_tones_render(&tones, samples, LONG);
    ck_assert(omo_tones_silent(&tones));
    return length;
}

START_TEST(a_signal_is_short_quiet_soft_and_ends)
{
    const size_t length = render_signal(all_signals[_i]);

    ck_assert_uint_gt(length, RATE_HZ / 10);
    ck_assert_uint_lt(length, RATE_HZ * 6 / 5);
    ck_assert_double_gt(peak_of(samples, length), 0.05);
    ck_assert_double_lt(peak_of(samples, length), 0.2);
    ck_assert_double_lt(steepest_of(samples, LONG), STEEPEST);
    ck_assert(peak_of(samples + length + 2, LONG - length - 2) == 0);
}
END_TEST

START_TEST(the_warning_is_the_quietest_and_softest_signal)
{
    double rise[SIGNALS], peak[SIGNALS];

    for (size_t i = 0; i < SIGNALS; i++) {
        const size_t length = render_signal(all_signals[i]);

        peak[i] = peak_of(samples, length);
        rise[i] = 0;
        while (fabs((double)samples[(size_t)rise[i]]) < 0.5 * peak[i])
            rise[i]++;
    }
    for (size_t i = 0; i < SIGNALS; i++) {
        if (all_signals[i] == OMO_SIGNAL_WARN)
            continue;
        ck_assert_double_lt(peak[OMO_SIGNAL_WARN], peak[i]);
        ck_assert_double_gt(rise[OMO_SIGNAL_WARN], 2 * rise[i]);
    }
}
END_TEST

/* The strongest correlation of two sounds whatever their delay, 0 to 1. */
static double likeness(const double *one, const double *other)
{
    enum { TWICE = 2 * LONG };
    static double a[2 * TWICE], b[2 * TWICE];
    double best = 0, energy_a = 0, energy_b = 0;

    memset(a, 0, sizeof a);
    memset(b, 0, sizeof b);
    for (size_t i = 0; i < LONG; i++) {
        a[2 * i] = one[i];
        b[2 * i] = other[i];
        energy_a += one[i] * one[i];
        energy_b += other[i] * other[i];
    }
    gsl_fft_complex_radix2_forward(a, 1, TWICE);
    gsl_fft_complex_radix2_forward(b, 1, TWICE);
    for (size_t k = 0; k < TWICE; k++) {
        const double re = a[2 * k] * b[2 * k] + a[2 * k + 1] * b[2 * k + 1];
        const double im = a[2 * k + 1] * b[2 * k] - a[2 * k] * b[2 * k + 1];

        a[2 * k] = re;
        a[2 * k + 1] = im;
    }
    gsl_fft_complex_radix2_inverse(a, 1, TWICE);
    for (size_t k = 0; k < TWICE; k++)
        best = fmax(best, fabs(a[2 * k]));
    return best / sqrt(energy_a * energy_b);
}

START_TEST(no_two_signals_are_alike)
{
    static double kept[SIGNALS][LONG];

    for (size_t i = 0; i < SIGNALS; i++) {
        render_signal(all_signals[i]);
        for (size_t k = 0; k < LONG; k++)
            kept[i][k] = (double)samples[k];
        ck_assert_double_eq_tol(likeness(kept[i], kept[i]), 1, 1e-9);
    }
    for (size_t i = 0; i < SIGNALS; i++)
        for (size_t j = 0; j < i; j++) {
            const double like = likeness(kept[i], kept[j]);

            ck_assert_msg(like < 0.7, "signals %zu and %zu: %g", i, j, like);
        }
}
END_TEST

START_TEST(a_second_signal_cuts_the_first_short)
{
    struct omo_tones tones;

    omo_tones_init(&tones, RATE_HZ);
    omo_tones_signal(&tones, OMO_SIGNAL_WARN);
    omo_tones_render(&tones, samples, RATE_HZ / 10);
    omo_tones_signal(&tones, OMO_SIGNAL_CLOSED);
    omo_tones_render(&tones, samples, LONG);
    ck_assert_double_lt(steepest_of(samples + 1, LONG - 1) - fabs((double)samples[1]),
                        STEEPEST);
    /* Then only the new one: over long before the first would have been. */
    ck_assert(peak_of(samples + RATE_HZ * 4 / 10, LONG / 2) == 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("tones");
    TCase *tc = tcase_create("tones");

    tcase_add_test(tc, two_octaves_lie_between_0_and_180_degrees);
    tcase_add_test(tc,
                   a_higher_arm_is_a_higher_pitch_and_equal_steps_are_equal_intervals);
    tcase_add_loop_test(tc, a_rendered_tone_has_the_pitch_of_its_angle, 0,
                        sizeof angles_deg / sizeof angles_deg[0]);
    tcase_add_test(tc, a_tone_at_another_rate_has_the_same_pitch);
    tcase_add_test(tc, no_angle_is_silence);
    tcase_add_test(tc, an_arm_that_moves_slowly_is_heard_all_the_time);
    tcase_add_test(tc, an_arm_held_still_falls_silent_and_is_heard_again_when_it_moves);
    tcase_add_test(tc, a_tone_ends_when_the_pictures_stop);
    tcase_add_test(tc, neither_jumps_nor_gaps_nor_signals_click);
    tcase_add_test(tc, muting_fades_to_silence_within_a_quarter_of_a_second);
    tcase_add_test(tc, the_tone_steps_back_behind_speech_and_comes_again);
    tcase_add_loop_test(tc, a_signal_is_short_quiet_soft_and_ends, 0, SIGNALS);
    tcase_add_test(tc, the_warning_is_the_quietest_and_softest_signal);
    tcase_add_test(tc, no_two_signals_are_alike);
    tcase_add_test(tc, a_second_signal_cuts_the_first_short);
    tcase_set_timeout(tc, 60);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
