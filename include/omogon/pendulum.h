/**
 * Circles of a hanging arm, counted from the wrist's marker. Frames in, one after the
 * other; live and from a file alike. Clockwise is as seen from above.
 *
 * A lap is one whole turn of the wrist about the circle's middle, one way, without a stop
 * of over a second; one that is broken off at four fifths or more of its turn counts.
 * Swinging out of a rest and back into one goes by near the middle, where no angle shows:
 * each is taken for a quarter of a lap of the one that is broken off (our choice). A
 * marker that is hidden for less than half a lap interrupts nothing; hidden for longer,
 * the lap that was begun is dropped, since nobody saw it.
 *
 * Direction: the picture shows which way round the ellipse goes; whether the camera sees
 * its upper or its under side follows from where the wrist stands to the camera's horizon
 * and from the marker's size round the lap, which is largest on the near side. A lap
 * whose direction is not beyond doubt is "unknown", and so are all while the camera
 * stands less than about 3 degrees off the circle's plane. What decides it grows with the
 * laps: a lap that was unknown when it closed may get its direction later.
 *
 * Diameter: of the circle as wide as the camera sees it, the longer axis of the ellipse;
 * the scale is the marker's, averaged round the lap. A lap that swings out of a rest or
 * into one is a spiral: growth leaves it out.
 *
 * Loose (our choice): loose_ratio is the product of two shares. Elbow: 1 when bent by 20
 * degrees or less over a lap, 0 from 60 on. Lag: the arm gets its swing from the body, so
 * the upper arm's swing lags behind the shoulder's; the part of the shoulder's swing that
 * is a quarter of a lap ahead of the upper arm's, over the upper arm's, is what feeds it.
 * 0.10 and more is 1, 0 and less (the arm moves by itself, or drags the body along) is 0.
 * A mean of the last three laps; loose from one half on.
 */
#ifndef OMOGON_PENDULUM_H
#define OMOGON_PENDULUM_H

#include <stdbool.h>

#include "omogon/lens.h"
#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Which way a circle goes, seen from above. */
enum omo_swing_way {
    OMO_SWING_UNKNOWN,
    OMO_SWING_CLOCKWISE,
    OMO_SWING_COUNTER_CLOCKWISE
};
/** "unknown", "clockwise", "counter-clockwise". */
OMO_API const char *omo_swing_way_name(enum omo_swing_way way);

/** What the pictures of a pendulum are like. */
struct omo_pendulum_settings {
    double wrist_mm; /**< the wrist marker's diameter, or a band's width; NAN: not
                          known, then no diameter in cm */
    bool band;       /**< it is a band round the wrist */
    bool mirrored;   /**< the picture is a mirror image */
    int picture_width, picture_height;
    const struct omo_lens *lens; /**< of pictures of this size, with the level it knows;
                                      read at creation; NULL: none, then the next ones */
    double focal_px;             /**< NAN: a usual lens is taken */
    double roll_deg, pitch_deg;  /**< of the camera; NAN: by eye, with its uncertainty */
};
/** Nothing known but that the picture has 1280 x 720 pixels. */
OMO_API void omo_pendulum_settings_default(struct omo_pendulum_settings *settings);

/** What is known after a frame. */
struct omo_pendulum_view {
    double time_s;
    int clockwise, counter_clockwise, unknown; /**< whole laps */
    enum omo_swing_way way;                    /**< of the lap being swung */
    double lap_ratio;                          /**< of the lap being swung, 0..1 */
    double diameter_cm;          /**< of the last whole lap, NAN not known */
    double mean_diameter_cm;     /**< of all laps so far */
    double growth_cm;            /**< last third of the laps over the first third; NAN */
    double camera_off_plane_deg; /**< how far the camera stands off the circle's plane */
    double loose_ratio;          /**< 0 held stiff .. 1 hangs loose; NAN not known */
    bool loose;                  /**< by the stated formula */
    bool swinging;               /**< false: at rest, or markers hidden */
    bool lap_closed;             /**< in this frame */
};

struct omo_pendulum;
/** OMO_ERR_ARG for a size or focal length that is not positive, a picture without a size,
 *  or a lens that is not valid or of another size; OMO_ERR_MEMORY. Silent. */
OMO_API OMO_MUST_CHECK enum omo_status omo_pendulum_create(
    const struct omo_pendulum_settings *settings, struct omo_pendulum **out);
/** Frees it; NULL is fine. */
OMO_API void omo_pendulum_destroy(struct omo_pendulum *pendulum);
/** One frame, markers as the camera sent them. Frames that are damaged, repeated or not
 *  later than the one before change nothing but what is hidden. */
OMO_API void omo_pendulum_step(struct omo_pendulum *pendulum,
                               const struct omo_track_frame *frame,
                               struct omo_pendulum_view *view);
/** No frame follows: a last lap that is all but closed counts. */
OMO_API void omo_pendulum_finish(struct omo_pendulum *pendulum,
                                 struct omo_pendulum_view *view);

#ifdef __cplusplus
}
#endif

#endif
