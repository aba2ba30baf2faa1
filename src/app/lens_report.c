#include "app/lens_report.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>

#include "omogon/text.h"
#include "omogon/words.h"

static const char *number(double value, int decimals, char text[32])
{
    omo_number_text(value, decimals, text, 32);
    return text[0] ? text : "-";
}

static double u_of(const struct omo_lens *lens, enum omo_lens_value value)
{
    return sqrt(lens->covariance[value][value]);
}

void omo_lens_worst_deg(const struct omo_lens *lens, double *u_deg, double *turn_deg)
{
    /* Lines of a quarter of the height, as an upper arm is, all over the picture. */
    const double length = lens->height / 4.0;
    *u_deg = *turn_deg = 0;
    for (int i = 0; i < 5; i++)
        for (int k = 0; k < 5; k++)
            for (int way = 0; way < 4; way++) {
                double x = lens->width * (0.1 + 0.2 * i),
                       y = lens->height * (0.1 + 0.2 * k);
                double half_x = cos(way * G_PI / 4) * length / 2;
                double half_y = sin(way * G_PI / 4) * length / 2;
                struct omo_point from = {x - half_x, y - half_y},
                                 to = {x + half_x, y + half_y};
                struct omo_point straight =
                    omo_point_sub(omo_lens_straighten(lens, false, to),
                                  omo_lens_straighten(lens, false, from));
                double turn = omo_turn_deg(omo_point_sub(to, from), straight);
                *u_deg = fmax(*u_deg, omo_lens_angle_u_deg(lens, from, to));
                *turn_deg = fmax(*turn_deg, fabs(turn));
            }
}

void omo_lens_level_text(const struct omo_lens *lens, char *text, size_t size)
{
    char roll[32], pitch[32], roll_u[32], pitch_u[32];
    if (size > 0)
        text[0] = '\0';
    number(fabs(lens->roll_deg), 1, roll);
    number(fabs(lens->pitch_deg), 1, pitch);
    number(2 * lens->roll_u_deg, 1, roll_u);
    number(2 * lens->pitch_u_deg, 1, pitch_u);
    if (!isnan(lens->roll_deg))
        omo_text_add(text, size,
                     lens->roll_deg < 0
                         ? omo_word("What is upright leans %s degrees to picture left "
                                    "(good to %s).")
                         : omo_word("What is upright leans %s degrees to picture right "
                                    "(good to %s)."),
                     roll, roll_u);
    if (!isnan(lens->pitch_deg) && text[0])
        omo_text_add(text, size, " ");
    if (!isnan(lens->pitch_deg))
        omo_text_add(text, size,
                     lens->pitch_deg < 0
                         ? omo_word("The camera looks down by %s degrees (good to %s).")
                         : omo_word("The camera looks up by %s degrees (good to %s)."),
                     pitch, pitch_u);
}

void omo_lens_print(const struct omo_lens_profile *p)
{
    const struct omo_lens *l = &p->lens;
    const double *v = l->value;
    double across_deg, up_deg, u_deg, turn_deg;
    char a[32], b[32], c[32], d[32], e[32], f[32], level[256];
    omo_lens_view_deg(l, &across_deg, &up_deg);
    omo_lens_worst_deg(l, &u_deg, &turn_deg);
    printf(l->source == OMO_LENS_CALIBRATED
               ? omo_word("%s: calibrated, pictures of %d x %d px\n")
               : omo_word("%s: assumed, not calibrated, pictures of %d x %d px\n"),
           p->name, l->width, l->height);
    printf(omo_word("  field of view        %s degrees across, %s up\n"),
           number(across_deg, 1, a), number(up_deg, 1, b));
    printf(omo_word("  focal length         %s px across (u %s), %s px up (u %s)\n"),
           number(v[OMO_LENS_FX], 1, a), number(u_of(l, OMO_LENS_FX), 1, b),
           number(v[OMO_LENS_FY], 1, c), number(u_of(l, OMO_LENS_FY), 1, d));
    printf(omo_word("  optical axis         x %s px (u %s), y %s px (u %s)\n"),
           number(v[OMO_LENS_CX], 1, a), number(u_of(l, OMO_LENS_CX), 1, b),
           number(v[OMO_LENS_CY], 1, c), number(u_of(l, OMO_LENS_CY), 1, d));
    printf(omo_word("  distortion           k1 %s (u %s), k2 %s (u %s), p1 %s, p2 %s\n"),
           number(v[OMO_LENS_K1], 4, a), number(u_of(l, OMO_LENS_K1), 4, b),
           number(v[OMO_LENS_K2], 4, c), number(u_of(l, OMO_LENS_K2), 4, d),
           number(v[OMO_LENS_P1], 5, e), number(v[OMO_LENS_P2], 5, f));
    printf(omo_word("  a line's direction   turned by up to %s degrees, which is taken "
                    "out; good to %s then\n"),
           number(turn_deg, 2, a), number(2 * u_deg, 2, b));
    if (!isnan(l->reprojection_px))
        printf(omo_word("  reprojection error   %s px\n"),
               number(l->reprojection_px, 2, a));
    if (!isnan(l->readout_s))
        printf(omo_word("  readout              %s ms from first row to last\n"),
               number(1000 * l->readout_s, 1, a));
    omo_lens_level_text(l, level, sizeof level);
    printf(omo_word("  level                %s\n"),
           level[0] ? level : omo_word("not known"));
}

static cJSON *object_of(const struct omo_lens_profile *p)
{
    static const char *const names[OMO_LENS_VALUES] = {"fx_px", "fy_px", "cx_px",
                                                       "cy_px", "k1",    "k2",
                                                       "p1",    "p2",    "k3"};
    const struct omo_lens *l = &p->lens;
    const struct {
        const char *key;
        double value;
    } more[] = {{"reprojection_px", l->reprojection_px}, {"roll_deg", l->roll_deg},
                {"roll_u_deg", l->roll_u_deg},           {"pitch_deg", l->pitch_deg},
                {"pitch_u_deg", l->pitch_u_deg},         {"readout_s", l->readout_s}};
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "name", p->name);
    cJSON_AddStringToObject(object, "camera", p->camera);
    cJSON_AddStringToObject(object, "source",
                            l->source == OMO_LENS_CALIBRATED ? "calibrated" : "assumed");
    cJSON_AddNumberToObject(object, "picture_width_px", l->width);
    cJSON_AddNumberToObject(object, "picture_height_px", l->height);
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        g_autofree char *u = g_strdup_printf("%s_u", names[i]);
        cJSON_AddNumberToObject(object, names[i], l->value[i]);
        cJSON_AddNumberToObject(object, u, u_of(l, (enum omo_lens_value)i));
    }
    for (size_t i = 0; i < G_N_ELEMENTS(more); i++) {
        if (isnan(more[i].value))
            cJSON_AddNullToObject(object, more[i].key);
        else
            cJSON_AddNumberToObject(object, more[i].key, more[i].value);
    }
    return object;
}

void omo_lens_print_json(const struct omo_lens_profile *profile, int count)
{
    cJSON *array = cJSON_CreateArray();
    for (int i = 0; i < count; i++)
        cJSON_AddItemToArray(array, object_of(&profile[i]));
    char *text = cJSON_Print(array);
    puts(text ? text : "[]");
    cJSON_free(text);
    cJSON_Delete(array);
}
