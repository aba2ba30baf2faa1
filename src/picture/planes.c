#include "omogon/picture.h"

#include "picture/colour.h"

void omo_turn_point(const struct omo_turned *turned, double *x, double *y)
{
    double coded_x = *x, coded_y = *y;

    /* The last pixel centre is width - 1: a point there lands on the other border's. */
    switch (turned->quarter_turns & 3) {
    case 1:
        *x = turned->coded_height - 1 - coded_y;
        *y = coded_x;
        break;
    case 2:
        *x = turned->coded_width - 1 - coded_x;
        *y = turned->coded_height - 1 - coded_y;
        break;
    case 3:
        *x = coded_y;
        *y = turned->coded_width - 1 - coded_x;
        break;
    default:
        break;
    }
}

/* ITU-R BT.601-7, BT.709-6 and BT.2020-2, the luma equations. */
struct omo_luma_weights omo_luma_weights_of(enum omo_colour_space colour)
{
    switch (colour) {
    case OMO_COLOUR_BT601:
        break;
    case OMO_COLOUR_BT709:
        return (struct omo_luma_weights){0.2126, 0.0722};
    case OMO_COLOUR_BT2020:
    case OMO_COLOUR_BT2020_HLG:
    case OMO_COLOUR_BT2020_PQ:
        return (struct omo_luma_weights){0.2627, 0.0593};
    }
    return (struct omo_luma_weights){0.299, 0.114};
}

struct omo_ycbcr_to_rgb omo_ycbcr_to_rgb_of(enum omo_colour_space colour, bool full_range)
{
    struct omo_luma_weights w = omo_luma_weights_of(colour);
    double green = 1.0 - w.red - w.blue;
    double chroma_gain = full_range ? 1.0 : 255.0 / 224.0;
    struct omo_ycbcr_to_rgb to = {
        .luma_gain = full_range ? 1.0 : 255.0 / 219.0,
        .luma_zero = full_range ? 0.0 : 16.0,
        .red_from_cr = chroma_gain * 2.0 * (1.0 - w.red),
        .blue_from_cb = chroma_gain * 2.0 * (1.0 - w.blue),
        .green_from_cb = chroma_gain * -2.0 * w.blue * (1.0 - w.blue) / green,
        .green_from_cr = chroma_gain * -2.0 * w.red * (1.0 - w.red) / green,
    };

    return to;
}

/* Linear-light BT.2020 to BT.709 primaries (ITU-R BT.2087-0). Each row sums to one, so
 * grey stays grey. Applied to coded values it is exact only for small chroma, where the
 * transfer curve is the same straight line in all three channels. */
static const double narrow_gamut[3][3] = {
    {1.6605, -0.5876, -0.0728},
    {-0.1246, 1.1329, -0.0083},
    {-0.0182, -0.1006, 1.1187},
};

static void narrow(double rgb[3])
{
    double in[3] = {rgb[0], rgb[1], rgb[2]};

    for (int i = 0; i < 3; i++)
        rgb[i] = narrow_gamut[i][0] * in[0] + narrow_gamut[i][1] * in[1] +
                 narrow_gamut[i][2] * in[2];
}

/* Chroma of coded R'G'B' in BT.601; adding grey changes nothing, so luma is not needed.
 */
static void chroma_of(const double rgb[3], double *cb, double *cr)
{
    struct omo_luma_weights w = omo_luma_weights_of(OMO_COLOUR_BT601);
    double luma = w.red * rgb[0] + (1.0 - w.red - w.blue) * rgb[1] + w.blue * rgb[2];

    *cb = (rgb[2] - luma) / (2.0 * (1.0 - w.blue));
    *cr = (rgb[0] - luma) / (2.0 * (1.0 - w.red));
}

void omo_chroma_to_bt601(enum omo_colour_space colour, bool full_range, double out[4])
{
    struct omo_ycbcr_to_rgb to = omo_ycbcr_to_rgb_of(colour, full_range);
    bool wide = colour != OMO_COLOUR_BT601 && colour != OMO_COLOUR_BT709;
    double from_cb[3] = {0.0, to.green_from_cb, to.blue_from_cb};
    double from_cr[3] = {to.red_from_cr, to.green_from_cr, 0.0};

    if (wide) {
        narrow(from_cb);
        narrow(from_cr);
    }
    chroma_of(from_cb, &out[0], &out[2]);
    chroma_of(from_cr, &out[1], &out[3]);
}

void omo_srgb_to_ycbcr(const double rgb[3], double ycbcr[3])
{
    struct omo_luma_weights w = omo_luma_weights_of(OMO_COLOUR_BT601);
    double cb, cr;

    chroma_of(rgb, &cb, &cr);
    ycbcr[0] = w.red * rgb[0] + (1.0 - w.red - w.blue) * rgb[1] + w.blue * rgb[2];
    ycbcr[1] = cb + 128.0;
    ycbcr[2] = cr + 128.0;
}

static double clamp_255(double value)
{
    if (value < 0.0)
        return 0.0;
    return value > 255.0 ? 255.0 : value;
}

void omo_ycbcr_to_srgb(const double ycbcr[3], double rgb[3])
{
    struct omo_ycbcr_to_rgb to = omo_ycbcr_to_rgb_of(OMO_COLOUR_BT601, true);
    double luma = ycbcr[0], cb = ycbcr[1] - 128.0, cr = ycbcr[2] - 128.0;

    rgb[0] = clamp_255(luma + to.red_from_cr * cr);
    rgb[1] = clamp_255(luma + to.green_from_cb * cb + to.green_from_cr * cr);
    rgb[2] = clamp_255(luma + to.blue_from_cb * cb);
}
