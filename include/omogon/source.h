/** Where frames come from: one interface for clip, simulated camera and live camera. */
#ifndef OMOGON_SOURCE_H
#define OMOGON_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/picture.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What is known of a source before its frames. */
struct omo_source_info {
    int width, height;        /**< upright, px */
    double frames_per_second; /**< nominal or median; NAN unknown */
    int64_t frame_count;      /**< expected, -1 unknown */
    char codec[32];           /**< "mjpeg", "h264", "hevc", "vp9", "simulated" ... */
    char started[32];         /**< ISO 8601 UTC "2026-11-24T09:00:00Z", "" unknown */
};

struct omo_source;

/** What a kind of source provides; `self` is its own state. */
struct omo_source_ops {
    enum omo_status (*next)(void *self, bool need_luma, struct omo_frame *frame);
    void (*destroy)(void *self);
};

/** For implementers. Takes over `self`; NULL (with self destroyed) when out of memory. */
OMO_API struct omo_source *omo_source_wrap(const struct omo_source_ops *ops, void *self,
                                           const struct omo_source_info *info);

/** Next frame or OMO_END. OMO_ERR_DAMAGED: the stream breaks off here; what came before
 *  is good and a sentence was logged. After any other than OMO_OK: destroy it. */
OMO_API OMO_MUST_CHECK enum omo_status omo_source_next(struct omo_source *source,
                                                       bool need_luma,
                                                       struct omo_frame *frame);
/** Lent by the source. */
OMO_API const struct omo_source_info *omo_source_info(const struct omo_source *source);
/** Frees it; NULL is fine. */
OMO_API void omo_source_destroy(struct omo_source *source);

/**
 * A file: video container, JPEG or PNG still, or numbered pictures ("dir/%04d.jpg").
 * - time_s is the container's time stamp; one that is missing or does not increase is
 *   replaced by the frame before plus the nominal period. Files without any (numbered
 *   pictures, bare streams) get libavformat's made-up rate and a warning.
 * - A display matrix or EXIF orientation becomes omo_frame.turned; if it also mirrors,
 * the planes are mirrored before they are given, so coordinates are those of the shown
 *   picture. Matrix, range and siting are the stream's; where it does not say: BT.601 up
 *   to 576 lines and for JPEG, else BT.709; limited range; chroma on the left column, for
 *   JPEG, MPEG-1 and raw samples in the middle.
 * - A frame of a JPEG clip that cannot be decoded is given neutral grey and `damaged`.
 * With some codecs (VP8, VP9, now and then HEVC) damage inside the data goes unnoticed.
 * - The end is OMO_ERR_DAMAGED when the header promised more, when reading failed and
 * when the picture's size changes. One sentence is logged on failure, at opening too:
 * OMO_ERR_OPEN (missing, a folder, no permission), OMO_ERR_FORMAT (no clip, sound only,
 * larger than 64 megapixels or 16384 pixels a side, pixels not square), OMO_ERR_DAMAGED
 * (nothing can be decoded). The first call replaces libav's log callback in the whole
 * process. Only local files are opened.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_clip_open(const char *path,
                                                     struct omo_source **source);

#ifdef __cplusplus
}
#endif

#endif
