/* Prints what a camera gives, for the tests.
     camera_program list
     camera_program run [PATH] [--frames N] [--seconds S] [--size W H] [--rate R] [--lock]
                        [--planes] [--chroma] [--slow MS] [--patience S]
                        [--settle-at FRAME]
   One line a picture: "frame INDEX TIME_US FORMAT WIDTH HEIGHT BYTES HASH [HASHES...]",
   the hashes of Y, Cb and Cr with --planes. "fault NAME SENTENCE" when pictures stop,
   "back" when they come again. Ends well on SIGTERM. */
#include <inttypes.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "omogon/clock.h"
#include "source/camera.h"

static volatile sig_atomic_t ended;

static void end(int number)
{
    (void)number;
    ended = 1;
}

static const char *const fault_names[] = {
    [OMO_CAMERA_FINE] = "fine",         [OMO_CAMERA_NONE] = "none",
    [OMO_CAMERA_DENIED] = "denied",     [OMO_CAMERA_BUSY] = "busy",
    [OMO_CAMERA_UNUSABLE] = "unusable", [OMO_CAMERA_UNPLUGGED] = "unplugged",
    [OMO_CAMERA_STALLED] = "stalled",   [OMO_CAMERA_RESIZED] = "resized",
};

struct run {
    struct omo_camera_wish wish;
    long frames, settle_at;
    double seconds, patience, slow_ms;
    bool planes, chroma;
    struct omo_camera *camera;
    struct omo_unpacker *unpacker;
    struct omo_packet packet;
    enum omo_camera_fault fault;
    bool exposure_locked, white_locked;
};

/* CRC-32 of zlib, gzip and PNG. */
static uint32_t hash(uint32_t state, const uint8_t *bytes, size_t size)
{
    static uint32_t table[256];

    for (uint32_t i = 0; table[255] == 0 && i < 256; i++) {
        uint32_t value = i;

        for (int bit = 0; bit < 8; bit++)
            value = value >> 1 ^ (value & 1 ? 0xedb88320u : 0u);
        table[i] = value;
    }
    state = ~state;
    for (size_t i = 0; i < size; i++)
        state = state >> 8 ^ table[(state ^ bytes[i]) & 0xff];
    return ~state;
}

static void print_plane(const uint8_t *plane, int stride, int width, int height)
{
    uint32_t state = 0;

    for (int row = 0; plane != NULL && row < height; row++)
        state = hash(state, plane + (size_t)row * (size_t)stride, (size_t)width);
    printf(" %08" PRIx32, plane != NULL ? state : 0);
}

static void print_planes(struct run *run)
{
    struct omo_planes planes;
    bool damaged = false;

    if (omo_unpack(run->unpacker, &run->packet, !run->chroma, &planes, &damaged) !=
        OMO_OK) {
        printf(" broken");
        return;
    }
    print_plane(planes.y, planes.y_stride, planes.width, planes.height);
    print_plane(planes.cb, planes.chroma_stride, planes.chroma_width,
                planes.chroma_height);
    print_plane(planes.cr, planes.chroma_stride, planes.chroma_width,
                planes.chroma_height);
    printf(" %s %s", planes.full_range ? "full" : "limited",
           damaged ? "damaged" : "whole");
}

static void print_frame(struct run *run)
{
    const struct omo_packet *p = &run->packet;

    printf("frame %" PRId64 " %.0f %s %d %d %zu %08" PRIx32, p->index, p->time_s * 1e6,
           p->format, p->width, p->height, p->size, hash(0, p->bytes, p->size));
    if (run->planes)
        print_planes(run);
    printf("\n");
}

static void print_got(struct run *run)
{
    const struct omo_camera_got *got = omo_camera_got(run->camera);

    printf("got %s %d %d %g %s %s\n", got->format, got->width, got->height,
           got->frames_per_second, got->path, got->name);
}

static void print_locks(struct run *run)
{
    const struct omo_camera_got *got = omo_camera_got(run->camera);

    if (got->exposure_locked != run->exposure_locked ||
        got->white_balance_locked != run->white_locked)
        printf("locked %d %d\n", got->exposure_locked, got->white_balance_locked);
    run->exposure_locked = got->exposure_locked;
    run->white_locked = got->white_balance_locked;
}

static void print_fault(struct run *run, enum omo_camera_fault fault)
{
    if (fault != run->fault && fault != OMO_CAMERA_FINE)
        printf("fault %s %s\n", fault_names[fault], omo_camera_fault_text(fault));
    if (fault != run->fault && fault == OMO_CAMERA_FINE)
        printf("back\n");
    run->fault = fault;
}

static void pause_ms(double ms)
{
    const struct timespec wait = {.tv_sec = (time_t)(ms / 1000),
                                  .tv_nsec = (long)(fmod(ms, 1000) * 1e6)};

    (void)nanosleep(&wait, NULL);
}

/* What an application does: again after a while. */
static void recover(struct run *run)
{
    enum omo_camera_fault fault;

    if (run->fault != OMO_CAMERA_UNPLUGGED && run->fault != OMO_CAMERA_RESIZED)
        return;
    if (run->fault == OMO_CAMERA_UNPLUGGED)
        pause_ms(200);
    if (omo_camera_reopen(run->camera, &fault) == OMO_OK)
        print_got(run);
    else
        print_fault(run, fault);
}

static bool step(struct run *run, long *frames)
{
    enum omo_camera_fault fault;
    enum omo_status status = omo_camera_next(run->camera, &run->packet, &fault);

    if (status == OMO_OK) {
        print_fault(run, OMO_CAMERA_FINE);
        print_frame(run);
        print_locks(run);
        ++*frames;
        if (*frames == run->settle_at) {
            omo_camera_settle_again(run->camera);
            print_locks(run);
        }
        if (run->slow_ms > 0)
            pause_ms(run->slow_ms);
    } else if (status == OMO_ERR_DAMAGED) {
        printf("damaged\n");
    } else if (status == OMO_ERR_OPEN) {
        print_fault(run, fault);
        recover(run);
    } else {
        return false;
    }
    return true;
}

static double seconds_since(int64_t begun_ns)
{
    return (double)(omo_clock_ns() - begun_ns) / 1e9;
}

static int run_camera(struct run *run)
{
    int64_t begun_ns = omo_clock_ns(), good_ns = begun_ns;
    enum omo_camera_fault fault;
    long frames = 0;

    if (omo_camera_open(&run->wish, &run->camera, &fault) != OMO_OK) {
        print_fault(run, fault);
        return 1;
    }
    print_got(run);
    print_locks(run);
    while (!ended && frames < run->frames && seconds_since(begun_ns) < run->seconds &&
           seconds_since(good_ns) < run->patience) {
        long before = frames;

        if (!step(run, &frames))
            break;
        if (before == 0 && frames == 1)
            printf("first %.3f\n", seconds_since(begun_ns));
        if (frames > before)
            good_ns = omo_clock_ns();
        fflush(stdout);
    }
    omo_camera_destroy(run->camera);
    printf("ended %ld\n", frames);
    return 0;
}

static int list(void)
{
    struct omo_camera_entry entries[16];
    int count = omo_camera_list(NULL, entries, 16);

    for (int i = 0; i < count; i++)
        printf("%s %s\n", entries[i].path, entries[i].name);
    printf("list %s\n", fault_names[omo_camera_list_fault(NULL)]);
    return 0;
}

static bool read_options(struct run *run, int argc, char **argv)
{
    for (int i = 2; i < argc; i++) {
        const char *name = argv[i];

        if (strcmp(name, "--lock") == 0)
            run->wish.lock_light = true;
        else if (strcmp(name, "--planes") == 0)
            run->planes = true;
        else if (strcmp(name, "--chroma") == 0)
            run->planes = run->chroma = true;
        else if (name[0] != '-')
            snprintf(run->wish.path, sizeof run->wish.path, "%s", name);
        else if (i + 1 >= argc)
            return false;
        else if (strcmp(name, "--frames") == 0)
            run->frames = strtol(argv[++i], NULL, 10);
        else if (strcmp(name, "--settle-at") == 0)
            run->settle_at = strtol(argv[++i], NULL, 10);
        else if (strcmp(name, "--seconds") == 0)
            run->seconds = strtod(argv[++i], NULL);
        else if (strcmp(name, "--patience") == 0)
            run->patience = strtod(argv[++i], NULL);
        else if (strcmp(name, "--slow") == 0)
            run->slow_ms = strtod(argv[++i], NULL);
        else if (strcmp(name, "--rate") == 0)
            run->wish.frames_per_second = strtod(argv[++i], NULL);
        else if (strcmp(name, "--size") == 0 && i + 2 < argc) {
            run->wish.width = (int)strtol(argv[++i], NULL, 10);
            run->wish.height = (int)strtol(argv[++i], NULL, 10);
        } else
            return false;
    }
    return true;
}

int main(int argc, char **argv)
{
    struct run run = {.frames = 1000000, .seconds = 60, .patience = 30};
    const struct sigaction action = {.sa_handler = end};
    int result;

    (void)sigaction(SIGTERM, &action, NULL);
    (void)sigaction(SIGINT, &action, NULL);
    if (argc >= 2 && strcmp(argv[1], "list") == 0)
        return list();
    if (argc < 2 || strcmp(argv[1], "run") != 0 || !read_options(&run, argc, argv)) {
        fprintf(stderr, "camera_program list|run [PATH] [OPTION...]\n");
        return 2;
    }
    if (omo_unpacker_create(&run.unpacker) != OMO_OK)
        return 1;
    result = run_camera(&run);
    omo_unpacker_destroy(run.unpacker);
    omo_packet_finish(&run.packet);
    return result;
}
