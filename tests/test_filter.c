#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/filter.h"

#define TOL_EXACT   1e-9
#define TOL_PRINTED 1e-6 /* values given with six decimals */
#define FULL_TURN   (2.0 * M_PI)

/* Butterworth of second order. C = 1 at 6 Hz / 60 Hz is Winter, Biomechanics and Motor
 * Control of Human Movement, eq. 2.19 (0.067455 0.13491 0.067455 1.14298 -0.41280); the
 * others were computed from the same formulas. C2 is the dual-pass correction. */
#define C2 0.8022432629
static const struct {
    const char *name;
    double cutoff_hz, rate_hz, correction, a0, a1, b1, b2;
} design_cases[] = {
    {"6 Hz at 60", 6, 60, 1, 0.0674552739, 0.1349105478, 1.1429805025, -0.4128015981},
    {"6 Hz at 100", 6, 100, 1, 0.0278597661, 0.0557195322, 1.4754804436, -0.5869195081},
    {"6 Hz at 100, two passes", 6, 100, C2, 0.0405946814, 0.0811893629, 1.3547488152,
     -0.5171275410},
    {"6 Hz at 30", 6, 30, 1, 0.2065720838, 2 * 0.2065720838, 0.3695273774, -0.1958157127},
    {"6 Hz at 30, two passes", 6, 30, C2, 0.2644937733, 2 * 0.2644937733, 0.1159765271,
     -0.1739516202},
    {"6 Hz at 60, two passes", 6, 60, C2, 0.0944467439, 0.1888934878, 0.9626413088,
     -0.3404282844},
    {"4 Hz at 30, two passes", 4, 30, C2, 0.1471680352, 2 * 0.1471680352, 0.6612930381,
     -0.2499651788},
};

START_TEST(coefficients_are_those_of_the_textbook)
{
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(design_cases[_i].cutoff_hz,
                                        design_cases[_i].rate_hz,
                                        design_cases[_i].correction, &f),
                     OMO_OK);
    ck_assert_double_eq_tol(f.a0, design_cases[_i].a0, TOL_EXACT);
    ck_assert_double_eq_tol(f.a1, design_cases[_i].a1, TOL_EXACT);
    ck_assert_double_eq_tol(f.a2, design_cases[_i].a0, TOL_EXACT);
    ck_assert_double_eq_tol(f.b1, design_cases[_i].b1, TOL_EXACT);
    ck_assert_double_eq_tol(f.b2, design_cases[_i].b2, TOL_EXACT);
    ck_assert_double_eq_tol(f.a0 + f.a1 + f.a2 + f.b1 + f.b2, 1.0, 1e-14);
}
END_TEST

START_TEST(pass_correction_is_that_of_two_passes)
{
    ck_assert_double_eq_tol(omo_pass_correction(1), 1.0, TOL_EXACT);
    ck_assert_double_eq_tol(omo_pass_correction(2), C2, 1e-10);
    ck_assert(isnan(omo_pass_correction(0)));
}
END_TEST

/** Gain of one pass at a frequency, from the transfer function on the unit circle. */
static double gain(const struct omo_lowpass *f, double at_hz, double rate_hz)
{
    double w = FULL_TURN * at_hz / rate_hz;
    double top_re = f->a0 + f->a1 * cos(w) + f->a2 * cos(2 * w);
    double top_im = -f->a1 * sin(w) - f->a2 * sin(2 * w);
    double low_re = 1 - f->b1 * cos(w) - f->b2 * cos(2 * w);
    double low_im = f->b1 * sin(w) + f->b2 * sin(2 * w);
    return hypot(top_re, top_im) / hypot(low_re, low_im);
}

START_TEST(two_corrected_passes_are_three_decibel_down_at_the_cutoff)
{
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(6, 60, omo_pass_correction(2), &f), OMO_OK);
    ck_assert_double_eq_tol(pow(gain(&f, 6, 60), 2), M_SQRT1_2, TOL_EXACT);
    ck_assert_int_eq(omo_lowpass_design(6, 60, 1, &f), OMO_OK);
    ck_assert_double_eq_tol(pow(gain(&f, 6, 60), 2), 0.5, TOL_EXACT);
}
END_TEST

START_TEST(a_cutoff_outside_the_sampling_theorem_is_refused)
{
    struct omo_lowpass f = {1, 2, 3, 4, 5}, before = f;
    static const double bad[][3] = {{0, 60, 1},   {-1, 60, 1},  {30, 60, 1},
                                    {6, 0, 1},    {NAN, 60, 1}, {6, NAN, 1},
                                    {6, 60, NAN}, {6, 60, 0},   {6, INFINITY, 1}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        ck_assert_int_eq(omo_lowpass_design(bad[i][0], bad[i][1], bad[i][2], &f),
                         OMO_ERR_ARG);
    ck_assert_mem_eq(&f, &before, sizeof f);
}
END_TEST

START_TEST(one_pass_answers_a_unit_step_from_rest)
{
    static const double want[] = {0.067455, 0.279466, 0.561400, 0.796126,
                                  0.948031, 1.024760, 1.049753, 1.046646,
                                  1.032777, 1.018208, 1.007281, 1.000806};
    double step[12], out[12];
    for (size_t i = 0; i < 12; i++)
        step[i] = 1;
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(6, 60, 1, &f), OMO_OK);
    omo_lowpass_run(&f, step, out, 12);
    for (size_t i = 0; i < 12; i++)
        ck_assert_double_eq_tol(out[i], want[i], TOL_PRINTED);
    omo_lowpass_run(&f, step, step, 12);
    ck_assert_mem_eq(step, out, sizeof out);
}
END_TEST

START_TEST(zero_lag_keeps_a_symmetric_pulse_symmetric)
{
    enum { COUNT = 61 };
    double pulse[COUNT], out[COUNT];
    for (int i = 0; i < COUNT; i++)
        pulse[i] = exp(-pow((i - 30) / 5.0, 2));
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(6, 60, omo_pass_correction(2), &f), OMO_OK);
    ck_assert_int_eq(omo_filter_zero_lag(&f, pulse, out, COUNT), OMO_OK);
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(out[i], out[COUNT - 1 - i], TOL_EXACT);
    ck_assert_double_gt(out[30], out[29]);
    ck_assert_double_lt(out[30], 1.0);
}
END_TEST

START_TEST(zero_lag_leaves_a_constant_untouched_at_any_length)
{
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(6, 30, omo_pass_correction(2), &f), OMO_OK);
    for (size_t count = 1; count <= 40; count++) {
        double value[40];
        for (size_t i = 0; i < count; i++)
            value[i] = 117.3;
        ck_assert_int_eq(omo_filter_zero_lag(&f, value, value, count), OMO_OK);
        for (size_t i = 0; i < count; i++)
            ck_assert_double_eq(value[i], 117.3);
    }
    ck_assert_int_eq(omo_filter_zero_lag(&f, NULL, NULL, 0), OMO_ERR_ARG);
}
END_TEST

START_TEST(zero_lag_keeps_a_ramp_to_its_ends)
{
    double value[60];
    for (int i = 0; i < 60; i++)
        value[i] = 20 + 2.5 * i;
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(6, 30, omo_pass_correction(2), &f), OMO_OK);
    ck_assert_int_eq(omo_filter_zero_lag(&f, value, value, 60), OMO_OK);
    for (int i = 0; i < 60; i++)
        ck_assert_double_eq_tol(value[i], 20 + 2.5 * i, 0.02);
}
END_TEST

/* ---- the rule for series ---- */

#define CUTOFF_HZ 6.0
#define BRIDGE_S  0.1
#define SHORT_S   0.3

static double move_deg(double t_s)
{
    return 60 - 60 * cos(FULL_TURN * 0.25 * t_s);
}

START_TEST(an_even_series_is_filtered_as_by_the_plain_filter)
{
    enum { COUNT = 200 };
    double t[COUNT], v[COUNT], got[COUNT], want[COUNT];
    enum omo_smoothed how[COUNT];
    for (int i = 0; i < COUNT; i++) {
        t[i] = 12.5 + i / 60.0;
        v[i] = move_deg(t[i]) + 0.5 * sin(FULL_TURN * 17 * t[i]);
    }
    struct omo_lowpass f;
    ck_assert_int_eq(omo_lowpass_design(6, 60, omo_pass_correction(2), &f), OMO_OK);
    ck_assert_int_eq(omo_filter_zero_lag(&f, v, want, COUNT), OMO_OK);
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, CUTOFF_HZ, BRIDGE_S, SHORT_S, got,
                                       how),
                     OMO_OK);
    for (int i = 0; i < COUNT; i++) {
        ck_assert_double_eq_tol(got[i], want[i], TOL_EXACT);
        ck_assert_int_eq(how[i], OMO_SMOOTH_FILTERED);
    }
}
END_TEST

START_TEST(the_cutoff_never_exceeds_two_fifths_of_the_nyquist_frequency)
{
    enum { COUNT = 100 };
    double t[COUNT], v[COUNT], at_cap[COUNT], above_cap[COUNT];
    for (int i = 0; i < COUNT; i++) {
        t[i] = i / 15.0;
        v[i] = move_deg(t[i]) + ((i % 2) ? 1 : -1);
    }
    /* At 15 frames a second the Nyquist frequency is 7.5 Hz, 0.4 of it 3 Hz. */
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, 3.0, BRIDGE_S, SHORT_S, at_cap, NULL),
                     OMO_OK);
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, 6.0, BRIDGE_S, SHORT_S, above_cap,
                                       NULL),
                     OMO_OK);
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(at_cap[i], above_cap[i], TOL_EXACT);
}
END_TEST

START_TEST(gaps_up_to_a_tenth_of_a_second_are_bridged_but_stay_empty)
{
    enum { COUNT = 90 };
    double t[COUNT], v[COUNT], out[COUNT];
    enum omo_smoothed how[COUNT];
    for (int i = 0; i < COUNT; i++) {
        t[i] = i / 30.0;
        v[i] = move_deg(t[i]);
    }
    v[40] = v[41] = v[42] = NAN; /* three frames of 1/30 s: just a tenth */
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, CUTOFF_HZ, BRIDGE_S, SHORT_S, out,
                                       how),
                     OMO_OK);
    for (int i = 0; i < COUNT; i++) {
        if (i >= 40 && i <= 42) {
            ck_assert(isnan(out[i]));
            ck_assert_int_eq(how[i], OMO_SMOOTH_EMPTY);
        } else {
            ck_assert_double_eq_tol(out[i], move_deg(t[i]), 0.15);
            ck_assert_int_eq(how[i], OMO_SMOOTH_FILTERED);
        }
    }
}
END_TEST

START_TEST(a_longer_gap_splits_so_that_one_side_cannot_touch_the_other)
{
    enum { COUNT = 90 };
    double t[COUNT], v[COUNT], out[COUNT];
    for (int i = 0; i < COUNT; i++) {
        t[i] = i / 30.0;
        v[i] = i < 45 ? 10.0 : 100.0;
    }
    v[43] = v[44] = v[45] = v[46] = NAN; /* four frames */
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, CUTOFF_HZ, BRIDGE_S, SHORT_S, out,
                                       NULL),
                     OMO_OK);
    for (int i = 0; i < 43; i++)
        ck_assert_double_eq(out[i], 10.0);
    for (int i = 47; i < COUNT; i++)
        ck_assert_double_eq(out[i], 100.0);
}
END_TEST

START_TEST(missing_rows_are_a_gap_just_as_empty_ones)
{
    double t[80], v[80], out[80];
    for (int i = 0; i < 80; i++) {
        t[i] = i / 30.0 + (i < 40 ? 0.0 : 0.11); /* 0.11 s beyond the usual step */
        v[i] = i < 40 ? 10.0 : 100.0;
    }
    ck_assert_int_eq(omo_smooth_series(t, v, 80, CUTOFF_HZ, BRIDGE_S, SHORT_S, out, NULL),
                     OMO_OK);
    for (int i = 0; i < 80; i++)
        ck_assert_double_eq(out[i], v[i]);
    for (int i = 40; i < 80; i++)
        t[i] -= 0.02; /* 0.09 s: bridged, so the step is smoothed */
    ck_assert_int_eq(omo_smooth_series(t, v, 80, CUTOFF_HZ, BRIDGE_S, SHORT_S, out, NULL),
                     OMO_OK);
    ck_assert_double_gt(fabs(out[39] - v[39]), 1.0);
}
END_TEST

START_TEST(a_short_stretch_stays_as_it_is_and_says_so)
{
    double t[9], v[9], out[9];
    enum omo_smoothed how[9];
    for (int i = 0; i < 9; i++) {
        t[i] = i / 30.0;
        v[i] = (i % 2) ? 50.0 : 51.0;
    }
    ck_assert_int_eq(omo_smooth_series(t, v, 9, CUTOFF_HZ, BRIDGE_S, SHORT_S, out, how),
                     OMO_OK); /* 8/30 s < 0.3 s */
    for (int i = 0; i < 9; i++) {
        ck_assert_double_eq(out[i], v[i]);
        ck_assert_int_eq(how[i], OMO_SMOOTH_UNFILTERED);
    }
}
END_TEST

START_TEST(uneven_times_give_the_movement_at_their_own_times)
{
    enum { COUNT = 240 };
    double t[COUNT], v[COUNT], out[COUNT];
    double worst_deg = 0;
    for (int i = 0; i < COUNT; i++) {
        /* Jitter of up to 40 % of the step, as a phone's variable frame rate gives. */
        t[i] = i / 30.0 + 0.4 / 30.0 * sin(i * 2.399963);
        v[i] = move_deg(t[i]);
    }
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, CUTOFF_HZ, BRIDGE_S, SHORT_S, out,
                                       NULL),
                     OMO_OK);
    for (int i = 15; i < COUNT - 15; i++)
        worst_deg = fmax(worst_deg, fabs(out[i] - move_deg(t[i])));
    /* Taken as even, the same series is off by 90 deg/s x 13 ms = 1.2 degrees. */
    ck_assert_double_lt(worst_deg, 0.02);
}
END_TEST

START_TEST(times_rounded_to_milliseconds_count_as_even)
{
    enum { COUNT = 150 };
    double t[COUNT], exact[COUNT], v[COUNT], out[COUNT], want[COUNT];
    for (int i = 0; i < COUNT; i++) {
        exact[i] = i / 30.0;
        t[i] = round(exact[i] * 1000) / 1000;
        v[i] = move_deg(exact[i]) + ((i * 7) % 5) * 0.1;
    }
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, CUTOFF_HZ, BRIDGE_S, SHORT_S, out,
                                       NULL),
                     OMO_OK);
    ck_assert_int_eq(omo_smooth_series(exact, v, COUNT, CUTOFF_HZ, BRIDGE_S, SHORT_S,
                                       want, NULL),
                     OMO_OK);
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(out[i], want[i], 1e-3);
}
END_TEST

START_TEST(degenerate_series_do_not_trip_it)
{
    double t[] = {1, 1, 1, 1}, v[] = {1, 2, 3, 4}, out[4], none[4] = {NAN, NAN, NAN, NAN};
    enum omo_smoothed how[4];
    ck_assert_int_eq(omo_smooth_series(NULL, NULL, 0, 6, 0.1, 0.3, NULL, NULL), OMO_OK);
    ck_assert_int_eq(omo_smooth_series(t, v, 4, 6, 0.1, 0.3, out, how), OMO_OK);
    ck_assert_mem_eq(out, v, sizeof v);
    ck_assert_int_eq(how[3], OMO_SMOOTH_UNFILTERED);
    ck_assert_int_eq(omo_smooth_series(t, v, 4, 6, 0.1, 0.0, out, how), OMO_OK);
    ck_assert_mem_eq(out, v, sizeof v);
    ck_assert_int_eq(omo_smooth_series(t, none, 4, 6, 0.1, 0.3, out, how), OMO_OK);
    ck_assert(isnan(out[0]) && isnan(out[3]));
    ck_assert_int_eq(how[0], OMO_SMOOTH_EMPTY);
    ck_assert_int_eq(omo_smooth_series(t, v, 1, 6, 0.1, 0.0, out, how), OMO_OK);
    ck_assert_int_eq(omo_smooth_series(t, v, 4, 0, 0.1, 0.3, out, how), OMO_ERR_ARG);
    ck_assert_int_eq(omo_smooth_series(t, v, 4, 6, -1, 0.3, out, how), OMO_ERR_ARG);
    double bad_t[] = {0, NAN, 0.1, -5}, inf_v[] = {1, INFINITY, 2, 3};
    ck_assert_int_eq(omo_smooth_series(bad_t, inf_v, 4, 6, 0.1, 0.0, out, how), OMO_OK);
    ck_assert(isnan(out[1]));
}
END_TEST

START_TEST(absurd_time_stamps_do_not_exhaust_the_memory)
{
    enum { COUNT = 1000 };
    static double t[COUNT], v[COUNT], out[COUNT];
    /* Most steps a microsecond, now and then 0.09 s: a grid by the median step would have
     * millions of points. */
    double now_s = 0;
    for (int i = 0; i < COUNT; i++) {
        now_s += (i % 10 == 0) ? 0.09 : 1e-6;
        t[i] = now_s;
        v[i] = move_deg(now_s);
    }
    ck_assert_int_eq(omo_smooth_series(t, v, COUNT, 6, 0.1, 0.3, out, NULL), OMO_OK);
    for (int i = 0; i < COUNT; i++)
        ck_assert(isfinite(out[i]));
}
END_TEST

START_TEST(medians_are_the_middle_or_the_mean_of_two)
{
    double odd[] = {5, 1, 3}, even[] = {4, 1, 3, 2};
    ck_assert_double_eq(omo_median(odd, 3), 3);
    ck_assert_double_eq(omo_median(even, 4), 2.5);
    ck_assert(isnan(omo_median(odd, 0)));
    double t[] = {0, 0.1, 0.1, 0.3, 0.2, 0.3};
    ck_assert_double_eq_tol(omo_median_step_s(t, 6), 0.1, TOL_EXACT);
    ck_assert(isnan(omo_median_step_s(t, 1)));
    ck_assert(isnan(omo_median_step_s((double[]){2, 2}, 2)));
}
END_TEST

/* ---- One-Euro ---- */

START_TEST(one_euro_agrees_with_its_authors)
{
    /* First rows of the ground truth of Casiez, Roussel and Vogel (CHI 2012), 120 Hz,
     * minimum cut-off 1, beta 0.1, derivative cut-off 1. */
    static const double x[] = {-.0385099, -.0280664, .048622,   .111498,
                               .053026,   .120548,   .00972308, .074193};
    static const double want[] = {-.0385099, -.0379872, -.0334427, -.0252696,
                                  -.0207099, -.0119912, -.0106507, -.00526521};
    struct omo_one_euro f;
    omo_one_euro_init(&f, 1, 0.1, 1);
    for (int i = 0; i < 8; i++)
        ck_assert_double_eq_tol(omo_one_euro_step(&f, i / 120.0, x[i]), want[i],
                                TOL_PRINTED);
}
END_TEST

/* Computed from the published formulas, 30 Hz, derivative from the filtered value. */
static const double euro_x[] = {10, 10, 10, 12, 15,   19, 24, 30, 36,
                                41, 45, 48, 50, 50.5, 50, 50, 50};
static const struct {
    double beta;
    double want[17];
} euro_cases[] = {
    {0,
     {10, 10, 10, 10.346341, 11.152219, 12.511225, 14.500744, 17.184762, 20.443010,
      24.002879, 27.638965, 31.164900, 34.426588, 37.210032, 39.424880, 41.256181,
      42.770355}},
    {0.05,
     {10, 10, 10, 10.482832, 12.076555, 15.285056, 20.082292, 26.168219, 32.591374,
      38.244688, 42.821048, 46.304526, 48.741365, 49.856463, 49.942047, 49.974362,
      49.987673}},
};

START_TEST(one_euro_follows_a_raise)
{
    struct omo_one_euro f;
    omo_one_euro_init(&f, 1, euro_cases[_i].beta, 1);
    for (int i = 0; i < 17; i++)
        ck_assert_double_eq_tol(omo_one_euro_step(&f, i / 30.0, euro_x[i]),
                                euro_cases[_i].want[i], TOL_PRINTED);
}
END_TEST

START_TEST(one_euro_smoothing_factors)
{
    ck_assert_double_eq_tol(omo_one_euro_alpha(1, 1 / 120.0), 0.0497547262, TOL_EXACT);
    ck_assert_double_eq_tol(omo_one_euro_alpha(1, 1 / 30.0), 0.1731707195, TOL_EXACT);
}
END_TEST

START_TEST(one_euro_takes_gaps_and_repeated_times)
{
    struct omo_one_euro f;
    omo_one_euro_init(&f, 1, 0, 1);
    ck_assert(isnan(omo_one_euro_step(&f, 0, NAN)));
    ck_assert_double_eq(omo_one_euro_step(&f, 0.1, 20), 20);
    ck_assert_double_eq(omo_one_euro_step(&f, 0.1, 80), 20);
    ck_assert_double_eq(omo_one_euro_step(&f, 0.05, 80), 20);
    ck_assert(isnan(omo_one_euro_step(&f, 0.15, NAN)));
    double after = omo_one_euro_step(&f, 0.2, 80);
    ck_assert_double_eq_tol(after, 20 + 60 * omo_one_euro_alpha(1, 0.1), TOL_EXACT);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("filter");
    TCase *tc = tcase_create("Butterworth");
    tcase_add_loop_test(tc, coefficients_are_those_of_the_textbook, 0,
                        sizeof design_cases / sizeof design_cases[0]);
    tcase_add_test(tc, pass_correction_is_that_of_two_passes);
    tcase_add_test(tc, two_corrected_passes_are_three_decibel_down_at_the_cutoff);
    tcase_add_test(tc, a_cutoff_outside_the_sampling_theorem_is_refused);
    tcase_add_test(tc, one_pass_answers_a_unit_step_from_rest);
    tcase_add_test(tc, zero_lag_keeps_a_symmetric_pulse_symmetric);
    tcase_add_test(tc, zero_lag_leaves_a_constant_untouched_at_any_length);
    tcase_add_test(tc, zero_lag_keeps_a_ramp_to_its_ends);
    suite_add_tcase(suite, tc);
    tc = tcase_create("series");
    tcase_add_test(tc, an_even_series_is_filtered_as_by_the_plain_filter);
    tcase_add_test(tc, the_cutoff_never_exceeds_two_fifths_of_the_nyquist_frequency);
    tcase_add_test(tc, gaps_up_to_a_tenth_of_a_second_are_bridged_but_stay_empty);
    tcase_add_test(tc, a_longer_gap_splits_so_that_one_side_cannot_touch_the_other);
    tcase_add_test(tc, missing_rows_are_a_gap_just_as_empty_ones);
    tcase_add_test(tc, a_short_stretch_stays_as_it_is_and_says_so);
    tcase_add_test(tc, uneven_times_give_the_movement_at_their_own_times);
    tcase_add_test(tc, times_rounded_to_milliseconds_count_as_even);
    tcase_add_test(tc, degenerate_series_do_not_trip_it);
    tcase_add_test(tc, absurd_time_stamps_do_not_exhaust_the_memory);
    tcase_add_test(tc, medians_are_the_middle_or_the_mean_of_two);
    suite_add_tcase(suite, tc);
    tc = tcase_create("One-Euro");
    tcase_add_test(tc, one_euro_agrees_with_its_authors);
    tcase_add_loop_test(tc, one_euro_follows_a_raise, 0, 2);
    tcase_add_test(tc, one_euro_smoothing_factors);
    tcase_add_test(tc, one_euro_takes_gaps_and_repeated_times);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
