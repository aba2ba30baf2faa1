/* Filters numbers for test_scipy.py: "CUTOFF_HZ RATE_HZ COUNT" and the values on standard
 * input; a0 a1 a2 b1 b2, the padding, the single and the dual pass on standard output. */
#include <stdio.h>
#include <stdlib.h>

#include "numeric/filter_internal.h"

int main(void)
{
    double cutoff_hz, rate_hz;
    size_t count;
    struct omo_lowpass f;
    if (scanf("%lf %lf %zu", &cutoff_hz, &rate_hz, &count) != 3 || count == 0 ||
        count > 1000000)
        return EXIT_FAILURE;
    if (omo_lowpass_design(cutoff_hz, rate_hz, omo_pass_correction(2), &f) != OMO_OK)
        return EXIT_FAILURE;
    double *value = calloc(count, sizeof *value);
    double *out = calloc(count, sizeof *out);
    int good = value != NULL && out != NULL;
    for (size_t i = 0; good && i < count; i++)
        good = scanf("%lf", &value[i]) == 1;
    good = good && omo_filter_zero_lag(&f, value, out, count) == OMO_OK;
    if (good) {
        printf("%.17g %.17g %.17g %.17g %.17g\n%zu\n", f.a0, f.a1, f.a2, f.b1, f.b2,
               omo_filter_pad(&f, count));
        omo_lowpass_run(&f, value, value, count);
        for (size_t i = 0; i < count; i++)
            printf("%.17g %.17g\n", value[i], out[i]);
    }
    free(value);
    free(out);
    return good ? EXIT_SUCCESS : EXIT_FAILURE;
}
