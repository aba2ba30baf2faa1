#include "omogon/source.h"

#include <stdlib.h>

#include "self.h"

struct omo_source {
    const struct omo_source_ops *ops;
    void *self;
    struct omo_source_info info;
};

struct omo_source *omo_source_wrap(const struct omo_source_ops *ops, void *self,
                                   const struct omo_source_info *info)
{
    struct omo_source *source = malloc(sizeof *source);

    if (source == NULL) {
        ops->destroy(self);
        return NULL;
    }
    source->ops = ops;
    source->self = self;
    source->info = *info;
    return source;
}

enum omo_status omo_source_next(struct omo_source *source, bool need_luma,
                                struct omo_frame *frame)
{
    return source->ops->next(source->self, need_luma, frame);
}

const struct omo_source_info *omo_source_info(const struct omo_source *source)
{
    return &source->info;
}

void omo_source_destroy(struct omo_source *source)
{
    if (source == NULL)
        return;
    source->ops->destroy(source->self);
    free(source);
}

void *omo_source_self(const struct omo_source *source, const struct omo_source_ops *ops)
{
    return source->ops == ops ? source->self : NULL;
}
