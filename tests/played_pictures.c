#include "played_parts.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

static void give_up(const char *what, const char *on)
{
    fprintf(stderr, "played camera: %s: %s\n", what, on);
    _exit(97);
}

static const uint8_t *map_file(const char *path, size_t *size)
{
    struct stat about;
    int file = open(path, O_RDONLY | O_CLOEXEC);
    void *bytes;

    if (file < 0 || fstat(file, &about) != 0 || about.st_size == 0)
        give_up("no pictures", path);
    *size = (size_t)about.st_size;
    bytes = mmap(NULL, *size, PROT_READ, MAP_PRIVATE, file, 0);
    close(file);
    if (bytes == MAP_FAILED)
        give_up("cannot be mapped", path);
    return bytes;
}

static void add(struct played_mode *mode, const uint8_t *bytes, size_t size)
{
    struct played_picture *more =
        realloc(mode->pictures, (size_t)(mode->picture_count + 1) * sizeof *more);

    if (more == NULL)
        give_up("no memory", "pictures");
    mode->pictures = more;
    more[mode->picture_count++] = (struct played_picture){bytes, size};
    if (size > mode->largest)
        mode->largest = size;
}

/* Where the JPEG that begins here ends: segments by their length, then picture data up to
   the end marker. */
static size_t jpeg_end(const uint8_t *bytes, size_t size)
{
    size_t at = 2;

    while (at + 4 <= size && bytes[at] == 0xff && bytes[at + 1] != 0xda)
        at += 2 + (((size_t)bytes[at + 2] << 8) | bytes[at + 3]);
    for (; at + 1 < size; at++)
        if (bytes[at] == 0xff && bytes[at + 1] == 0xd9)
            return at + 2;
    return size;
}

void played_pictures_read_jpeg(const char *path, struct played_mode *mode)
{
    size_t size, at = 0;
    const uint8_t *bytes = map_file(path, &size);

    while (at + 4 < size) {
        size_t length;

        if (bytes[at] != 0xff || bytes[at + 1] != 0xd8)
            give_up("not JPEGs one after the other", path);
        length = jpeg_end(bytes + at, size - at);
        add(mode, bytes + at, length);
        at += length;
    }
}

static void read_raw(const char *path, struct played_mode *mode, size_t picture_size)
{
    size_t size;
    const uint8_t *bytes = map_file(path, &size);

    if (size % picture_size != 0)
        give_up("not whole raw pictures", path);
    for (size_t at = 0; at < size; at += picture_size)
        add(mode, bytes + at, picture_size);
}

static void read_rates(struct played_mode *mode, const char *text, const char *whole)
{
    char *end;

    do {
        if (mode->rate_count == 8)
            give_up("too many rates", whole);
        mode->rates[mode->rate_count++] = strtod(text, &end);
        if (end == text || mode->rates[mode->rate_count - 1] <= 0)
            give_up("a rate is no number", whole);
        text = end + 1;
    } while (*end == ',');
}

static void read_mode(struct played_mode *mode, const char *text)
{
    char format[5], rates[64], path[512];
    size_t area;

    memset(mode, 0, sizeof *mode);
    if (sscanf(text, "%4[A-Z0-9]:%dx%d:%63[0-9.,]:%511[^;]", format, &mode->width,
               &mode->height, rates, path) != 5)
        give_up("not FORMAT:WIDTHxHEIGHT:RATES:FILE", text);
    read_rates(mode, rates, text);
    mode->fourcc = (uint32_t)format[0] | (uint32_t)format[1] << 8 |
                   (uint32_t)format[2] << 16 | (uint32_t)format[3] << 24;
    area = (size_t)mode->width * (size_t)mode->height;
    if (strcmp(format, "YUYV") == 0)
        read_raw(path, mode, area * 2);
    else if (strcmp(format, "NV12") == 0)
        read_raw(path, mode, area / 2 * 3);
    else if (strcmp(format, "GREY") == 0)
        read_raw(path, mode, area);
    else
        played_pictures_read_jpeg(path, mode);
}

int played_modes_read(const char *text, struct played_mode modes[PLAYED_MODES])
{
    int count = 0;

    while (text != NULL && *text != '\0') {
        if (count == PLAYED_MODES)
            give_up("too many modes", text);
        read_mode(&modes[count++], text);
        text = strchr(text, ';');
        text = text != NULL ? text + 1 : NULL;
    }
    return count;
}
