#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/picture.h"

#include "picture/jpeg_error.h"

#define OMO_SIDE_MAX_PX    16384
#define OMO_PICTURE_MAX_PX 64000000
/* A photograph has about ten scans; a damaged or hostile file can have thousands, each
 * of which costs a pass over the whole picture. */
#define OMO_SCANS_MAX 200
/* Rows of one component in one row of MCUs: at most 4 blocks of 8. */
#define OMO_ROWS_MAX 32

struct omo_jpeg {
    struct omo_jpeg_error error;
    struct jpeg_decompress_struct cinfo;
    struct jpeg_source_mgr source;
    struct jpeg_progress_mgr progress;
    bool multiple_scans;
    bool ran_out;      /* libjpeg asked for more bytes than there are */
    const char *fault; /* why the last call failed */
    uint8_t *plane[3];
    size_t capacity[3];
    int stride[3], rows[3]; /* padded to whole MCUs */
    int rows_done[3];
    JSAMPROW row_start[3][OMO_ROWS_MAX];
};

/* ---- bytes in memory ---- */

static void source_nothing(j_decompress_ptr cinfo)
{
    (void)cinfo;
}

static boolean source_end(j_decompress_ptr cinfo)
{
    static const JOCTET end_of_image[2] = {0xff, JPEG_EOI};
    struct omo_jpeg *jpeg = cinfo->client_data;

    /* Many cameras leave the end marker out, so its absence alone is no damage: if
     * picture data are missing the entropy decoder warns by itself. */
    jpeg->ran_out = true;
    cinfo->src->next_input_byte = end_of_image;
    cinfo->src->bytes_in_buffer = sizeof end_of_image;
    return TRUE;
}

static void source_skip(j_decompress_ptr cinfo, long count)
{
    struct jpeg_source_mgr *source = cinfo->src;

    if (count <= 0)
        return;
    if ((size_t)count > source->bytes_in_buffer) {
        (void)source_end(cinfo);
        return;
    }
    source->next_input_byte += count;
    source->bytes_in_buffer -= (size_t)count;
}

static void limit_scans(j_common_ptr common)
{
    j_decompress_ptr cinfo = (j_decompress_ptr)common;
    struct omo_jpeg *jpeg = common->client_data;

    if (cinfo->input_scan_number > OMO_SCANS_MAX) {
        jpeg->fault = "it has an absurd number of scans";
        common->err->error_exit(common);
    }
}

/* ---- life ---- */

struct omo_jpeg *omo_jpeg_create(void)
{
    struct omo_jpeg *jpeg = calloc(1, sizeof *jpeg);

    if (jpeg == NULL)
        return NULL;
    jpeg->fault = "";
    jpeg->source.init_source = source_nothing;
    jpeg->source.fill_input_buffer = source_end;
    jpeg->source.skip_input_data = source_skip;
    jpeg->source.resync_to_restart = jpeg_resync_to_restart;
    jpeg->source.term_source = source_nothing;
    jpeg->progress.progress_monitor = limit_scans;
    return jpeg;
}

void omo_jpeg_destroy(struct omo_jpeg *jpeg)
{
    if (jpeg == NULL)
        return;
    for (int i = 0; i < 3; i++)
        free(jpeg->plane[i]);
    free(jpeg);
}

const char *omo_jpeg_fault(const struct omo_jpeg *jpeg)
{
    return jpeg->fault;
}

/* ---- room for the planes ---- */

/* Makes plane i at least rows x stride; a plane only ever grows. */
static bool make_room(struct omo_jpeg *jpeg, int i, size_t stride, size_t rows)
{
    size_t size = stride * rows;

    if (size > jpeg->capacity[i]) {
        uint8_t *bigger = malloc(size);

        if (bigger == NULL)
            return false;
        free(jpeg->plane[i]);
        jpeg->plane[i] = bigger;
        jpeg->capacity[i] = size;
    }
    jpeg->stride[i] = (int)stride;
    jpeg->rows[i] = (int)rows;
    jpeg->rows_done[i] = 0;
    return true;
}

static size_t round_up(size_t value, size_t step)
{
    return (value + step - 1) / step * step;
}

static int divided_up(int value, int step)
{
    return (value + step - 1) / step;
}

/* ---- what kind of picture ---- */

/* Subsampled as cameras do it: luma in full, both chroma planes alike. */
static bool is_planar(const struct jpeg_decompress_struct *cinfo)
{
    const jpeg_component_info *c = cinfo->comp_info;

    return cinfo->jpeg_color_space == JCS_YCbCr && cinfo->num_components == 3 &&
           c[0].h_samp_factor == cinfo->max_h_samp_factor &&
           c[0].v_samp_factor == cinfo->max_v_samp_factor &&
           c[1].h_samp_factor == c[2].h_samp_factor &&
           c[1].v_samp_factor == c[2].v_samp_factor;
}

static bool is_grey(const struct jpeg_decompress_struct *cinfo)
{
    return cinfo->jpeg_color_space == JCS_GRAYSCALE && cinfo->num_components == 1;
}

/* FFmpeg writes this comment into JPEG frames of 16..235 (its "mjpeg" encoder). */
static bool is_limited_range(const struct jpeg_decompress_struct *cinfo)
{
    static const char mark[] = "CS=ITU601";

    for (jpeg_saved_marker_ptr m = cinfo->marker_list; m != NULL; m = m->next)
        if (m->marker == JPEG_COM && m->data_length >= sizeof mark - 1 &&
            memcmp(m->data, mark, sizeof mark - 1) == 0)
            return true;
    return false;
}

/* ---- planes as they are coded ---- */

static bool read_raw(struct omo_jpeg *jpeg, bool need_luma)
{
    struct jpeg_decompress_struct *cinfo = &jpeg->cinfo;
    int count = cinfo->num_components;
    size_t mcu_columns =
        (size_t)divided_up((int)cinfo->image_width, cinfo->max_h_samp_factor * DCTSIZE);
    size_t mcu_rows =
        (size_t)divided_up((int)cinfo->image_height, cinfo->max_v_samp_factor * DCTSIZE);
    JSAMPARRAY rows[3] = {jpeg->row_start[0], jpeg->row_start[1], jpeg->row_start[2]};

    cinfo->raw_data_out = TRUE;
    cinfo->out_color_space = cinfo->jpeg_color_space;
    cinfo->comp_info[0].component_needed = need_luma || count == 1;
    for (int i = 0; i < count; i++) {
        const jpeg_component_info *c = &cinfo->comp_info[i];

        if (c->component_needed &&
            !make_room(jpeg, i,
                       round_up(mcu_columns * (size_t)c->h_samp_factor * DCTSIZE, 32),
                       mcu_rows * (size_t)c->v_samp_factor * DCTSIZE))
            return false;
    }
    (void)jpeg_start_decompress(cinfo);
    while (cinfo->output_scanline < cinfo->output_height) {
        for (int i = 0; i < count; i++)
            for (int r = 0; r < cinfo->comp_info[i].v_samp_factor * DCTSIZE; r++)
                rows[i][r] = cinfo->comp_info[i].component_needed
                                 ? jpeg->plane[i] + (size_t)(jpeg->rows_done[i] + r) *
                                                        (size_t)jpeg->stride[i]
                                 : NULL;
        (void)jpeg_read_raw_data(cinfo, rows,
                                 (JDIMENSION)(cinfo->max_v_samp_factor * DCTSIZE));
        for (int i = 0; i < count; i++)
            jpeg->rows_done[i] += cinfo->comp_info[i].v_samp_factor * DCTSIZE;
    }
    return true;
}

static void describe_raw(const struct omo_jpeg *jpeg, bool need_luma,
                         struct omo_planes *planes)
{
    const struct jpeg_decompress_struct *cinfo = &jpeg->cinfo;
    const jpeg_component_info *chroma = &cinfo->comp_info[1];

    planes->chroma_width =
        divided_up(planes->width * chroma->h_samp_factor, cinfo->max_h_samp_factor);
    planes->chroma_height =
        divided_up(planes->height * chroma->v_samp_factor, cinfo->max_v_samp_factor);
    planes->scale_x = (double)cinfo->max_h_samp_factor / chroma->h_samp_factor;
    planes->scale_y = (double)cinfo->max_v_samp_factor / chroma->v_samp_factor;
    planes->y = need_luma ? jpeg->plane[0] : NULL;
    planes->y_stride = need_luma ? jpeg->stride[0] : 0;
}

/* Grey has no chroma of its own: a quarter-size pair of neutral planes. */
static bool describe_grey(struct omo_jpeg *jpeg, struct omo_planes *planes)
{
    planes->chroma_width = divided_up(planes->width, 2);
    planes->chroma_height = divided_up(planes->height, 2);
    planes->scale_x = planes->scale_y = 2.0;
    for (int i = 1; i < 3; i++) {
        size_t stride = round_up((size_t)planes->chroma_width, 32);
        size_t rows = (size_t)planes->chroma_height;

        if (!make_room(jpeg, i, stride, rows))
            return false;
        memset(jpeg->plane[i], 128, stride * rows);
        jpeg->rows_done[i] = (int)rows;
    }
    planes->y = jpeg->plane[0];
    planes->y_stride = jpeg->stride[0];
    return true;
}

/* ---- any other coding: pixel rows through libjpeg, then planes of full size ---- */

static void split_ycbcr(const JSAMPLE *in, int width, uint8_t *out[3])
{
    for (int x = 0; x < width; x++, in += 3)
        for (int i = 0; i < 3; i++)
            out[i][x] = in[i];
}

static uint8_t rounded(double value)
{
    return value <= 0.0 ? 0 : value >= 255.0 ? 255 : (uint8_t)(value + 0.5);
}

static void convert_rgb(const double rgb[3], int x, uint8_t *out[3])
{
    double ycbcr[3];

    omo_srgb_to_ycbcr(rgb, ycbcr);
    for (int i = 0; i < 3; i++)
        out[i][x] = rounded(ycbcr[i]);
}

static void split_rgb(const JSAMPLE *in, int width, uint8_t *out[3])
{
    for (int x = 0; x < width; x++, in += 3)
        convert_rgb((double[3]){in[0], in[1], in[2]}, x, out);
}

/* Four inks, written inverted by the programs that make such files (Adobe Technical
 * Note 5116); without a printer's profile the product is the usual approximation. */
static void split_cmyk(const JSAMPLE *in, int width, bool inverted, uint8_t *out[3])
{
    for (int x = 0; x < width; x++, in += 4) {
        double rgb[3];

        for (int i = 0; i < 3; i++)
            rgb[i] =
                inverted ? in[i] * in[3] / 255.0 : (255 - in[i]) * (255 - in[3]) / 255.0;
        convert_rgb(rgb, x, out);
    }
}

static bool read_converted(struct omo_jpeg *jpeg)
{
    struct jpeg_decompress_struct *cinfo = &jpeg->cinfo;
    int width = (int)cinfo->image_width;
    JSAMPARRAY row;

    if (cinfo->jpeg_color_space == JCS_YCbCr || cinfo->jpeg_color_space == JCS_RGB)
        cinfo->out_color_space = cinfo->jpeg_color_space;
    else
        cinfo->out_color_space = JCS_CMYK;
    for (int i = 0; i < 3; i++)
        if (!make_room(jpeg, i, round_up((size_t)width, 32), cinfo->image_height))
            return false;
    (void)jpeg_start_decompress(cinfo);
    row = cinfo->mem->alloc_sarray((j_common_ptr)cinfo, JPOOL_IMAGE,
                                   cinfo->output_width *
                                       (JDIMENSION)cinfo->output_components,
                                   1);
    while (cinfo->output_scanline < cinfo->output_height) {
        uint8_t *out[3];

        for (int i = 0; i < 3; i++)
            out[i] =
                jpeg->plane[i] + (size_t)cinfo->output_scanline * (size_t)jpeg->stride[i];
        (void)jpeg_read_scanlines(cinfo, row, 1);
        if (cinfo->out_color_space == JCS_YCbCr)
            split_ycbcr(row[0], width, out);
        else if (cinfo->out_color_space == JCS_RGB)
            split_rgb(row[0], width, out);
        else
            split_cmyk(row[0], width, cinfo->saw_Adobe_marker, out);
        for (int i = 0; i < 3; i++)
            jpeg->rows_done[i]++;
    }
    return true;
}

static void describe_converted(const struct omo_jpeg *jpeg, bool need_luma,
                               struct omo_planes *planes)
{
    planes->chroma_width = planes->width;
    planes->chroma_height = planes->height;
    planes->scale_x = planes->scale_y = 1.0;
    planes->y = need_luma ? jpeg->plane[0] : NULL;
    planes->y_stride = need_luma ? jpeg->stride[0] : 0;
}

/* ---- the whole ---- */

static enum omo_status read_header(struct omo_jpeg *jpeg)
{
    struct jpeg_decompress_struct *cinfo = &jpeg->cinfo;
    size_t width, height;

    jpeg_save_markers(cinfo, JPEG_COM, 32);
    (void)jpeg_read_header(cinfo, TRUE);
    jpeg->multiple_scans = jpeg_has_multiple_scans(cinfo);
    width = cinfo->image_width;
    height = cinfo->image_height;
    if (width > OMO_SIDE_MAX_PX || height > OMO_SIDE_MAX_PX ||
        width * height > OMO_PICTURE_MAX_PX) {
        jpeg->fault = "it is larger than 64 megapixels or 16384 pixels a side";
        return OMO_ERR_FORMAT;
    }
    if (cinfo->jpeg_color_space == JCS_UNKNOWN) {
        jpeg->fault = "its colours are of an unknown kind";
        return OMO_ERR_FORMAT;
    }
    return OMO_OK;
}

/* Everything that may jump out of libjpeg; jpeg->rows_done says how far it came. */
static enum omo_status read_picture(struct omo_jpeg *jpeg, bool need_luma)
{
    enum omo_status status = read_header(jpeg);
    bool done;

    if (status != OMO_OK)
        return status;
    if (is_planar(&jpeg->cinfo) || is_grey(&jpeg->cinfo))
        done = read_raw(jpeg, need_luma);
    else
        done = read_converted(jpeg);
    if (!done)
        jpeg->fault = "there is no memory left for it";
    return done ? OMO_OK : OMO_ERR_MEMORY;
}

/* What a jump out of libjpeg means, from the bytes and from how far it came. */
static enum omo_status judge_jump(struct omo_jpeg *jpeg, const uint8_t *bytes)
{
    bool some = false;

    for (int i = 0; i < 3; i++)
        some = some || jpeg->rows_done[i] > 0;
    if (some) /* an upper part is there: the rest is neutral, as if nothing were seen */
        return OMO_OK;
    if (*jpeg->fault == '\0')
        jpeg->fault = "it is cut short or damaged before its picture begins";
    return bytes[0] == 0xff && bytes[1] == 0xd8 ? OMO_ERR_DAMAGED : OMO_ERR_FORMAT;
}

static void fill_missing_rows(struct omo_jpeg *jpeg)
{
    for (int i = 0; i < 3; i++) {
        size_t done = (size_t)jpeg->rows_done[i], all = (size_t)jpeg->rows[i];

        if (jpeg->plane[i] != NULL && done < all)
            memset(jpeg->plane[i] + done * (size_t)jpeg->stride[i], 128,
                   (all - done) * (size_t)jpeg->stride[i]);
    }
}

static bool describe(struct omo_jpeg *jpeg, bool need_luma, struct omo_planes *planes)
{
    struct jpeg_decompress_struct *cinfo = &jpeg->cinfo;

    planes->width = (int)cinfo->image_width;
    planes->height = (int)cinfo->image_height;
    planes->colour = OMO_COLOUR_BT601;
    planes->full_range = !is_limited_range(cinfo);
    if (is_planar(cinfo))
        describe_raw(jpeg, need_luma, planes);
    else if (!is_grey(cinfo))
        describe_converted(jpeg, need_luma, planes);
    else if (!describe_grey(jpeg, planes))
        return false;
    planes->cb = jpeg->plane[1];
    planes->cr = jpeg->plane[2];
    planes->chroma_stride = jpeg->stride[1];
    /* JFIF: chroma samples are centred among the luma samples they stand for. */
    planes->offset_x = (planes->scale_x - 1.0) / 2.0;
    planes->offset_y = (planes->scale_y - 1.0) / 2.0;
    return true;
}

enum omo_status omo_jpeg_decode(struct omo_jpeg *jpeg, const uint8_t *bytes, size_t size,
                                bool need_luma, struct omo_planes *planes, bool *damaged)
{
    struct jpeg_decompress_struct *cinfo = &jpeg->cinfo;
    struct omo_planes got = {0};
    enum omo_status status;

    jpeg->fault = "";
    jpeg->ran_out = false;
    jpeg->multiple_scans = false;
    memset(jpeg->rows, 0, sizeof jpeg->rows);
    memset(jpeg->rows_done, 0, sizeof jpeg->rows_done);
    if (size < 2 || size > LONG_MAX) {
        jpeg->fault = "it is empty";
        return OMO_ERR_FORMAT;
    }
    cinfo->err = omo_jpeg_error_init(&jpeg->error);
    cinfo->client_data = jpeg;
    if (setjmp(jpeg->error.escape) == 0) {
        /* Made new each time: tables of a frame before would decide how a damaged one
         * looks, and equal bytes have to give equal planes. It costs well under a
         * microsecond. */
        jpeg_create_decompress(cinfo);
        cinfo->client_data = jpeg;
        cinfo->progress = &jpeg->progress;
        jpeg->source.next_input_byte = bytes;
        jpeg->source.bytes_in_buffer = size;
        cinfo->src = &jpeg->source;
        status = read_picture(jpeg, need_luma);
    } else {
        status = judge_jump(jpeg, bytes);
        cinfo->err->num_warnings++;
    }
    if (status == OMO_OK) {
        fill_missing_rows(jpeg);
        if (!describe(jpeg, need_luma, &got))
            status = OMO_ERR_MEMORY;
    }
    if (status == OMO_OK) {
        *planes = got;
        if (damaged != NULL)
            *damaged =
                cinfo->err->num_warnings > 0 || (jpeg->ran_out && jpeg->multiple_scans);
    }
    jpeg_destroy_decompress(cinfo);
    return status;
}
