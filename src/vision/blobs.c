#include "blobs.h"

#include <stdlib.h>
#include <string.h>

#if defined(__x86_64__)
#include <immintrin.h>
#endif

/* A run of one sample is noise or the very tip of a disc. */
#define SHORTEST_RUN 2

enum omo_status omo_blobs_reserve(struct omo_blobs *blobs, int width, int height)
{
    long long samples = (long long)width * height;
    int runs = (int)(samples / 12) + 256;
    int room = runs / 4 + 64;
    if (blobs->run_room >= runs)
        return OMO_OK;
    struct omo_run *new_runs = malloc((size_t)runs * sizeof *new_runs);
    int32_t *new_index = malloc((size_t)runs * sizeof *new_index);
    struct omo_blob *new_blobs = malloc((size_t)room * sizeof *new_blobs);
    if (!new_runs || !new_index || !new_blobs) {
        free(new_runs);
        free(new_index);
        free(new_blobs);
        return OMO_ERR_MEMORY;
    }
    omo_blobs_finish(blobs);
    blobs->runs = new_runs;
    blobs->run_room = runs;
    blobs->root_of_run = new_index;
    blobs->blobs = new_blobs;
    blobs->room = room;
    return OMO_OK;
}

void omo_blobs_finish(struct omo_blobs *blobs)
{
    free(blobs->runs);
    free(blobs->root_of_run);
    free(blobs->blobs);
    memset(blobs, 0, sizeof *blobs);
}

static inline unsigned class_of(const struct omo_lut *lut, uint8_t cb, uint8_t cr)
{
    return lut->cell[(unsigned)(cb >> OMO_LUT_SHIFT) * OMO_LUT_SIDE +
                     (unsigned)(cr >> OMO_LUT_SHIFT)];
}

/* One row's scanner: grows the current run sample by sample, skipping is the caller's. */
struct row_scan {
    struct omo_blobs *blobs;
    int row;
    unsigned open_class; /* 0: no run is open */
    int begin, last;
};

static inline void close_run(struct row_scan *scan)
{
    struct omo_blobs *blobs = scan->blobs;
    if (scan->open_class == 0 || scan->last - scan->begin + 1 < SHORTEST_RUN)
        return;
    if (blobs->run_count >= blobs->run_room) {
        blobs->overflow = true;
        return;
    }
    int index = blobs->run_count++;
    blobs->runs[index] = (struct omo_run){.row = (int16_t)scan->row,
                                          .begin = (int16_t)scan->begin,
                                          .end = (int16_t)scan->last,
                                          .class_index = (uint8_t)(scan->open_class - 1),
                                          .parent = index};
}

static inline void add_sample(struct row_scan *scan, int x, unsigned class_now)
{
    if (class_now == scan->open_class && x == scan->last + 1) {
        scan->last = x;
        return;
    }
    close_run(scan);
    scan->open_class = class_now;
    scan->begin = scan->last = x;
}

static void scan_plain(struct row_scan *scan, const struct omo_lut *lut,
                       const uint8_t *cb, const uint8_t *cr, int from, int to)
{
    for (int x = from; x < to; x++) {
        unsigned class_now = class_of(lut, cb[x], cr[x]);
        if (class_now)
            add_sample(scan, x, class_now);
    }
}

#if defined(__x86_64__)
/* Samples whose bits are set passed the coarse table; the fine one decides. */
static inline void add_some(struct row_scan *scan, const struct omo_lut *lut,
                            const uint8_t *cb, const uint8_t *cr, int x, unsigned some)
{
    while (some) {
        int i = x + __builtin_ctz(some);
        some &= some - 1;
        unsigned class_now = class_of(lut, cb[i], cr[i]);
        if (class_now)
            add_sample(scan, i, class_now);
    }
}

/* The coarse table by nibbles sorts out most of a picture 16 or 32 samples at a time. */
__attribute__((target("ssse3"))) static void scan_16(struct row_scan *scan,
                                                     const struct omo_lut *lut,
                                                     const uint8_t *cb, const uint8_t *cr,
                                                     int width)
{
    const __m128i table_cb =
        _mm_loadu_si128((const __m128i *)(const void *)lut->nibble_cb);
    const __m128i table_cr =
        _mm_loadu_si128((const __m128i *)(const void *)lut->nibble_cr);
    const __m128i low = _mm_set1_epi8(15), zero = _mm_setzero_si128();
    int x = 0;
    for (; x + 16 <= width; x += 16) {
        __m128i b = _mm_loadu_si128((const __m128i *)(const void *)(cb + x));
        __m128i r = _mm_loadu_si128((const __m128i *)(const void *)(cr + x));
        b = _mm_shuffle_epi8(table_cb, _mm_and_si128(_mm_srli_epi16(b, 4), low));
        r = _mm_shuffle_epi8(table_cr, _mm_and_si128(_mm_srli_epi16(r, 4), low));
        __m128i none = _mm_cmpeq_epi8(_mm_and_si128(b, r), zero);
        add_some(scan, lut, cb, cr, x, 0xffffu & ~(unsigned)_mm_movemask_epi8(none));
    }
    scan_plain(scan, lut, cb, cr, x, width);
}

__attribute__((target("avx2"))) static void scan_32(struct row_scan *scan,
                                                    const struct omo_lut *lut,
                                                    const uint8_t *cb, const uint8_t *cr,
                                                    int width)
{
    const __m256i table_cb = _mm256_broadcastsi128_si256(
        _mm_loadu_si128((const __m128i *)(const void *)lut->nibble_cb));
    const __m256i table_cr = _mm256_broadcastsi128_si256(
        _mm_loadu_si128((const __m128i *)(const void *)lut->nibble_cr));
    const __m256i low = _mm256_set1_epi8(15), zero = _mm256_setzero_si256();
    int x = 0;
    for (; x + 32 <= width; x += 32) {
        __m256i b = _mm256_loadu_si256((const __m256i *)(const void *)(cb + x));
        __m256i r = _mm256_loadu_si256((const __m256i *)(const void *)(cr + x));
        b = _mm256_shuffle_epi8(table_cb, _mm256_and_si256(_mm256_srli_epi16(b, 4), low));
        r = _mm256_shuffle_epi8(table_cr, _mm256_and_si256(_mm256_srli_epi16(r, 4), low));
        __m256i none = _mm256_cmpeq_epi8(_mm256_and_si256(b, r), zero);
        add_some(scan, lut, cb, cr, x, ~(unsigned)_mm256_movemask_epi8(none));
    }
    scan_plain(scan, lut, cb, cr, x, width);
}
#endif

static void scan_row(struct row_scan *scan, const struct omo_lut *lut, const uint8_t *cb,
                     const uint8_t *cr, int width)
{
    scan->open_class = 0;
    scan->begin = 0;
    scan->last = -2;
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2"))
        scan_32(scan, lut, cb, cr, width);
    else if (__builtin_cpu_supports("ssse3"))
        scan_16(scan, lut, cb, cr, width);
    else
        scan_plain(scan, lut, cb, cr, 0, width);
#else
    scan_plain(scan, lut, cb, cr, 0, width);
#endif
    close_run(scan);
}

static int root_of(struct omo_run *runs, int i)
{
    while (runs[i].parent != i) {
        runs[i].parent = runs[runs[i].parent].parent;
        i = runs[i].parent;
    }
    return i;
}

/* The earlier run stays the root, so that patches come in the order of their tops. */
static void join(struct omo_run *runs, int a, int b)
{
    a = root_of(runs, a);
    b = root_of(runs, b);
    if (a < b)
        runs[b].parent = a;
    else
        runs[a].parent = b;
}

/* Joins the runs [middle, end) of a row with the runs [begin, middle) of the row above
 * where they touch, corners included. */
static void join_rows(struct omo_run *runs, int begin, int middle, int end)
{
    int above = begin;
    for (int now = middle; now < end; now++) {
        while (above < middle && runs[above].end < runs[now].begin - 1)
            above++;
        for (int k = above; k < middle && runs[k].begin <= runs[now].end + 1; k++)
            if (runs[k].class_index == runs[now].class_index)
                join(runs, k, now);
    }
}

static void add_run(struct omo_blob *blob, const struct omo_run *run)
{
    int length = run->end - run->begin + 1;
    blob->area += length;
    blob->x += 0.5 * length * (run->begin + run->end);
    blob->y += (double)length * run->row;
    if (run->begin < blob->left)
        blob->left = run->begin;
    if (run->end > blob->right)
        blob->right = run->end;
    if (run->row > blob->bottom)
        blob->bottom = run->row;
}

static void collect(struct omo_blobs *blobs, int min_area)
{
    struct omo_run *runs = blobs->runs;
    int count = 0;
    for (int i = 0; i < blobs->run_count; i++) {
        int root = root_of(runs, i);
        blobs->root_of_run[i] = root;
        if (root == i) {
            runs[i].blob = -1;
            if (count >= blobs->room) {
                blobs->overflow = true;
                continue;
            }
            blobs->blobs[count] = (struct omo_blob){.class_index = runs[i].class_index,
                                                    .left = runs[i].begin,
                                                    .right = runs[i].end,
                                                    .top = runs[i].row,
                                                    .bottom = runs[i].row,
                                                    .first_run = i};
            runs[i].blob = count++;
        }
        if (runs[root].blob >= 0)
            add_run(&blobs->blobs[runs[root].blob], &runs[i]);
    }
    int kept = 0;
    for (int i = 0; i < count; i++) {
        if (blobs->blobs[i].area < min_area)
            continue;
        struct omo_blob *blob = &blobs->blobs[kept++];
        *blob = blobs->blobs[i];
        blob->x /= blob->area;
        blob->y /= blob->area;
    }
    blobs->count = kept;
}

void omo_blobs_find(struct omo_blobs *blobs, const struct omo_planes *planes,
                    const struct omo_lut *lut, int min_area)
{
    blobs->run_count = 0;
    blobs->overflow = false;
    int above = 0; /* first run of the row above */
    for (int row = 0; row < planes->chroma_height && !blobs->overflow; row++) {
        size_t offset = (size_t)row * (size_t)planes->chroma_stride;
        struct row_scan scan = {.blobs = blobs, .row = row};
        int begin = blobs->run_count;
        scan_row(&scan, lut, planes->cb + offset, planes->cr + offset,
                 planes->chroma_width);
        join_rows(blobs->runs, above, begin, blobs->run_count);
        above = begin;
    }
    collect(blobs, min_area);
}
