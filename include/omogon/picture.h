/** Planar YCbCr pictures as a camera or a decoder gives them; never RGB. */
#ifndef OMOGON_PICTURE_H
#define OMOGON_PICTURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** How Y, Cb, Cr relate to light. The detector's look-up table honours it. */
enum omo_colour_space {
    OMO_COLOUR_BT601, /**< JPEG/JFIF and standard definition, sRGB-like transfer */
    OMO_COLOUR_BT709,
    OMO_COLOUR_BT2020,     /**< wide gamut, ordinary transfer */
    OMO_COLOUR_BT2020_HLG, /**< wide gamut, hybrid log-gamma */
    OMO_COLOUR_BT2020_PQ,
};

/**
 * 8-bit planes, lent. y may be NULL when only chroma was decoded. A chroma sample
 * (i, j) lies at picture x = i * scale_x + offset_x, y = j * scale_y + offset_y.
 * JPEG 4:2:0: scale 2, offset 0.5 both; MPEG "left" siting: offset_x 0.
 */
struct omo_planes {
    int width, height; /**< of luma, px, 1..16384 */
    int chroma_width, chroma_height;
    const uint8_t *y, *cb, *cr;
    int y_stride, chroma_stride; /**< bytes */
    double scale_x, scale_y, offset_x, offset_y;
    enum omo_colour_space colour;
    bool full_range; /**< false: 16..235 / 16..240 */
};

/** Quarter turns clockwise that make a coded picture upright: 0, 1, 2 or 3. */
struct omo_turned {
    int quarter_turns;
    int coded_width, coded_height;
};

/** One frame, lent until the next call on its source. */
struct omo_frame {
    struct omo_planes planes;
    struct omo_turned turned; /**< how to make coordinates upright */
    int64_t index;            /**< 0-based, in decode order */
    double time_s; /**< source's own time stamp, first frame is not forced to 0 */
    bool damaged;  /**< the decoder met broken data in it */
    bool repeated; /**< identical to the frame before (bytes or planes) */
};

/** Coded pixel to upright pixel (in place). */
OMO_API void omo_turn_point(const struct omo_turned *turned, double *x, double *y);

/** The 2x2 matrix {a b c d} with which (cb-128, cr-128) of this colour space and range
 *  becomes BT.601 full-range chroma (linear part only, transfer ignored). */
OMO_API void omo_chroma_to_bt601(enum omo_colour_space colour, bool full_range,
                                 double out[4]);

/** One colour: sRGB 0..255 to BT.601 full range (JFIF), unrounded and not clamped: the
 *  Cr of pure red is 255.5. The way back is clamped to 0..255. */
OMO_API void omo_srgb_to_ycbcr(const double rgb[3], double ycbcr[3]);
/** The way back; 0..255, not clipped. */
OMO_API void omo_ycbcr_to_srgb(const double ycbcr[3], double rgb[3]);

/** How light a picture is, for what is said about the light. NAN: luma is not there. */
struct omo_luma {
    double mean;         /**< 0..255, of full range */
    double bright_ratio; /**< share of samples at or above 250 */
    double dark_ratio;   /**< share of samples at or below 12 */
};
/** From a sparse grid of samples, at most some thousands whatever the picture's size. */
OMO_API void omo_luma_read(const struct omo_planes *planes, struct omo_luma *luma);

/** How the upright lines of a room lie in a picture. */
struct omo_level {
    double roll_deg;      /**< they lean to picture right by this much; negative: left */
    double support_ratio; /**< share of the nearly upright edges that agree within 1.5
                               degrees, beyond what chance gives */
};
/**
 * From luma edges within 12 degrees of upright. Of lines that converge (a camera that
 * looks up or down) those that agree best decide. False, silently, when no direction
 * stands out or luma is not there. No allocation.
 */
OMO_API bool omo_level_read(const struct omo_planes *planes, struct omo_level *level);

/* ---- JPEG ---- */

/** Decoder with buffers that are reused from call to call; not thread safe. */
struct omo_jpeg;
/** The caller's to destroy; NULL: no memory. */
OMO_API struct omo_jpeg *omo_jpeg_create(void);
/** Frees it; NULL is fine. */
OMO_API void omo_jpeg_destroy(struct omo_jpeg *jpeg);

/**
 * Decodes to planes that stay valid until the next call. need_luma false skips the
 * inverse transform of Y. damaged (may be NULL) is set when libjpeg warned.
 * Pictures above 16384 px a side or 64 megapixels are refused. Grey pictures have
 * chroma planes filled with 128. OMO_ERR_FORMAT: not a JPEG; OMO_ERR_DAMAGED: header
 * fine, no picture. Silent: the caller knows the file's name and speaks.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_jpeg_decode(struct omo_jpeg *jpeg,
                                                       const uint8_t *bytes, size_t size,
                                                       bool need_luma,
                                                       struct omo_planes *planes,
                                                       bool *damaged);
/** Why the last decode failed, for the caller's sentence: "it is ..." Constant text. */
OMO_API const char *omo_jpeg_fault(const struct omo_jpeg *jpeg);

/**
 * Planes to a JPEG of quality 1..100 in *bytes, to be released with free(). The planes
 * are BT.601 full range, whole scales of 1, 2 or 4, centred offsets (JFIF has no other)
 * and chroma planes of width / scale rounded up; cb NULL gives a grey JPEG. Else
 * OMO_ERR_ARG. Silent.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_jpeg_encode(const struct omo_planes *planes,
                                                       int quality, uint8_t **bytes,
                                                       size_t *size);

/** Planes (y needed) to packed 0xffRRGGBB pixels (native-endian uint32, width * height of
 *  the upright picture), nearest chroma sample, for showing. Wide gamut and its transfer
 *  curves are shown as they are coded. */
OMO_API OMO_MUST_CHECK enum omo_status omo_planes_to_rgb32(
    const struct omo_planes *planes, int quarter_turns, uint32_t *pixels);
/** Packed pixels to a JPEG (4:2:0), free() the bytes. */
OMO_API OMO_MUST_CHECK enum omo_status omo_jpeg_encode_rgb32(const uint32_t *pixels,
                                                             int width, int height,
                                                             int stride_pixels,
                                                             int quality, uint8_t **bytes,
                                                             size_t *size);

#ifdef __cplusplus
}
#endif

#endif
