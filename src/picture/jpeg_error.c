#include "picture/jpeg_error.h"

static void leave(j_common_ptr cinfo)
{
    struct omo_jpeg_error *error = (struct omo_jpeg_error *)cinfo->err;

    longjmp(error->escape, 1);
}

static void count_warning(j_common_ptr cinfo, int level)
{
    if (level < 0)
        cinfo->err->num_warnings++;
}

static void say_nothing(j_common_ptr cinfo)
{
    (void)cinfo;
}

struct jpeg_error_mgr *omo_jpeg_error_init(struct omo_jpeg_error *error)
{
    jpeg_std_error(&error->manager);
    error->manager.error_exit = leave;
    error->manager.emit_message = count_warning;
    error->manager.output_message = say_nothing;
    return &error->manager;
}
