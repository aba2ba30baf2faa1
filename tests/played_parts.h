/* A camera that is not there, for tests: what its parts share. played_camera.c says how
   it is used. */
#ifndef PLAYED_PARTS_H
#define PLAYED_PARTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* ---- pictures, played_pictures.c ---- */

struct played_picture {
    const uint8_t *bytes;
    size_t size;
};

/* One format and size on offer, with the pictures it shows. */
struct played_mode {
    uint32_t fourcc;
    int width, height;
    double rates[8];
    int rate_count;
    struct played_picture *pictures;
    long picture_count;
    size_t largest;
};

#define PLAYED_MODES 12
/* From text like "MJPG:1280x720:30,60:FILE;YUYV:640x480:15:FILE": the number of modes. A
   mistake ends the process with a message. */
int played_modes_read(const char *text, struct played_mode modes[PLAYED_MODES]);
/* A file of JPEGs one after the other. */
void played_pictures_read_jpeg(const char *path, struct played_mode *mode);

/* ---- faults, played_faults.c ---- */

enum played_kind {
    PLAYED_NOTHING,
    PLAYED_UNPLUG, /* the argument: seconds until it is back */
    PLAYED_REPLUG,
    PLAYED_STALL, /* the argument: seconds */
    PLAYED_GO,
    PLAYED_DROP,   /* the argument: pictures */
    PLAYED_JITTER, /* the argument: microseconds either way */
    PLAYED_RESIZE,
    PLAYED_SHORT, /* the argument: bytes that are left, else half */
    PLAYED_EMPTY,
    PLAYED_CORRUPT,
    PLAYED_JUNK,
    PLAYED_BUSY, /* another program streams */
    PLAYED_HELD, /* another program keeps it from being opened */
    PLAYED_DENIED,
    PLAYED_MISSING,
    PLAYED_NO_CAMERA, /* a device, but not one for pictures */
    PLAYED_FREE,      /* the end of the five above */
};

struct played_fault {
    enum played_kind kind;
    long at; /* picture from which it counts; -1: now */
    double argument;
    bool has_argument;
};

/* Notes what OMO_PLAY_FAULTS and OMO_PLAY_STATE say. */
void played_faults_begin(void);
/* The next that is due at this picture, or new in the file of commands; NOTHING: none. */
struct played_fault played_fault_due(long picture);
/* Damages a picture in place; its new size. */
size_t played_damage(const struct played_fault *fault, uint8_t *bytes, size_t size);

/* ---- what is asked of the device, played_device.c ---- */

enum played_state {
    PLAYED_STATE_FREE,
    PLAYED_STATE_BUSY,
    PLAYED_STATE_HELD,
    PLAYED_STATE_DENIED,
    PLAYED_STATE_GONE,
    PLAYED_STATE_NO_CAMERA,
};

/* Reads the environment. Once. */
void played_device_begin(void);
/* 0, or the errno with which open() fails now. */
int played_device_open_error(void);
enum played_state played_device_state(void);
void played_device_set_state(enum played_state state);
/* The path the camera answers at now; another one after a replug, if that is wanted. */
const char *played_device_path(void);
void played_device_replugged(void);
/* Descriptors of an earlier life of the device are dead. */
int played_device_life(void);
/* As ioctl(2), with -errno for a failure. */
int played_device_ask(int file, bool waits, unsigned long request, void *argument);

/* ---- exposure and white balance, played_settings.c ---- */

struct v4l2_queryctrl;
struct v4l2_control;
/* As the requests of those names, with -errno for a failure. */
int played_settings_query(struct v4l2_queryctrl *query);
int played_settings_get(struct v4l2_control *control);
int played_settings_set(const struct v4l2_control *control);
/* Writes down how they are. */
void played_settings_note(void);
/* As after the power was away. */
void played_settings_forget(void);

/* ---- pictures in time, played_stream.c and played_time.c ---- */

/* All return 0 or -errno. One descriptor streams. */
int played_stream_request(int file, const struct played_mode *mode, unsigned *count);
struct v4l2_buffer;
int played_stream_query(int file, struct v4l2_buffer *buffer);
int played_stream_queue(int file, struct v4l2_buffer *buffer);
int played_stream_dequeue(int file, bool waits, struct v4l2_buffer *buffer);
int played_stream_start(int file, double frames_per_second);
int played_stream_stop(int file);
bool played_stream_owned_by_other(int file);
bool played_stream_running(void);
/* Pictures shown since the stream began, for what settles with time. */
long played_stream_shown(void);
/* The memory behind the buffers, for mmap(2); -1: none. */
int played_stream_memory(void);
void played_stream_closed(int file);
/* Lets faults that are due come true; also when nothing streams. */
void played_stream_look(void);

#endif
