/* Stub until the learner is written. */
#include "omogon/vision.h"
struct omo_learner {
    int unused;
};
enum omo_status omo_learner_create(const struct omo_learn_point *p, int n,
                                   struct omo_learner **o)
{
    (void)p;
    (void)n;
    (void)o;
    return OMO_ERR_EMPTY;
}
enum omo_status omo_learner_add(struct omo_learner *l, const struct omo_frame *f)
{
    (void)l;
    (void)f;
    return OMO_OK;
}
enum omo_status omo_learner_finish(struct omo_learner *l, struct omo_marker_set *s,
                                   struct omo_learn_report *r)
{
    (void)l;
    (void)s;
    (void)r;
    return OMO_ERR_EMPTY;
}
void omo_learner_destroy(struct omo_learner *l)
{
    (void)l;
}
