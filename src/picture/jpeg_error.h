/** libjpeg's errors as a jump instead of exit(), its warnings counted and silent. */
#ifndef OMO_PICTURE_JPEG_ERROR_H
#define OMO_PICTURE_JPEG_ERROR_H

#include <setjmp.h>
#include <stddef.h>
#include <stdio.h>

#include <jpeglib.h>

struct omo_jpeg_error {
    struct jpeg_error_mgr manager; /**< first: libjpeg hands this pointer back */
    jmp_buf escape;
};

/** For cinfo->err. setjmp(error->escape) has to be set before any other call. */
struct jpeg_error_mgr *omo_jpeg_error_init(struct omo_jpeg_error *error);

#endif
