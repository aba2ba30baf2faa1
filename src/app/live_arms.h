/** What a picture goes through live: one arm's tracker or both arms', the course, and for
 *  each arm what is wrong. Used by the measuring thread alone. */
#ifndef OMO_APP_LIVE_ARMS_H
#define OMO_APP_LIVE_ARMS_H

#include "app/options.h"
#include "omogon/live.h"

#define OMO_LIVE_ARMS 2

struct omo_live_arms {
    const struct omo_plan *plan; /**< lent; `count` of them */
    int count;
    struct omo_live_settings course; /**< of the first arm */
    struct omo_measure_settings other;
    struct omo_lens lens; /**< of the pictures' size, where the plan has one */
    bool shoulder_band;   /**< the shoulder wears a band: it rises with the arm */
    struct omo_tracker *tracker;
    struct omo_pair *pair;
    struct omo_live *live;
    struct omo_cues *cues[OMO_LIVE_ARMS];
};

/** What one picture came to, an arm at each place. */
struct omo_live_look {
    struct omo_track_frame frame[OMO_LIVE_ARMS];
    struct omo_live_view view[OMO_LIVE_ARMS];
};

/** Without pictures yet. */
void omo_live_arms_init(struct omo_live_arms *arms, const struct omo_plan *plan,
                        int count);
/** For pictures of this size; what was there before goes. A fault was said. */
OMO_MUST_CHECK enum omo_status omo_live_arms_make(struct omo_live_arms *arms, int width,
                                                  int height);
void omo_live_arms_finish(struct omo_live_arms *arms);
/** The same movement again, from neutral. */
void omo_live_arms_again(struct omo_live_arms *arms);

/** One picture, whose planes live on until it is judged. */
OMO_MUST_CHECK enum omo_status omo_live_arms_step(struct omo_live_arms *arms,
                                                  const struct omo_frame *picture,
                                                  struct omo_live_look *look);
/** What is wrong in the picture stepped last, and with which arm. */
enum omo_cue omo_live_arms_judge(struct omo_live_arms *arms,
                                 const struct omo_planes *planes,
                                 const struct omo_live_view *view, int *arm);

#endif
