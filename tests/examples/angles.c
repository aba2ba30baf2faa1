/*
 * Measures a clip with libomogon and prints time and angle of every frame, as an example
 * of what another program has to write.
 *
 *   cc -std=c17 angles.c $(pkg-config --cflags --libs omogon) -o angles
 *   ./angles CLIP flexion right
 */
#include <math.h>
#include <stdio.h>

#include <omogon/series.h>
#include <omogon/text.h>

/** A number with a dot under any locale; an empty cell stays empty. */
static const char *cell(double value, char text[32])
{
    omo_number_text(value, 3, text, 32);
    return text;
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        fputs("usage: angles CLIP MOVEMENT SIDE\n", stderr);
        return 2;
    }
    struct omo_series *series = omo_series_create();
    if (!series || omo_series_set(series, "movement", argv[2]) != OMO_OK ||
        omo_series_set(series, "side", argv[3]) != OMO_OK ||
        omo_series_measure(series, argv[1]) != OMO_OK) { /* it has said why */
        omo_series_destroy(series);
        return 1;
    }
    const double *time_s = omo_series_column(series, "time_s");
    const double *angle_deg = omo_series_column(series, "angle_deg");
    char at[32], angle[32];
    puts("time_s,angle_deg,quality");
    for (size_t i = 0; i < omo_series_length(series); i++)
        printf("%s,%s,%s\n", cell(time_s[i], at), cell(angle_deg[i], angle),
               omo_series_word(series, "quality", i));
    fprintf(stderr, "highest %s degrees, good to %s either way\n",
            cell(omo_series_figure(series, "max_deg"), at),
            cell(omo_series_figure(series, "max_u95_deg"), angle));
    omo_series_destroy(series);
    return 0;
}
