#include "allocation_count.h"

#include <dlfcn.h>
#include <errno.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static struct allocation_count counts;
static bool counting;

#if defined(__SANITIZE_ADDRESS__) || !defined(__GLIBC__)

bool allocation_count_works(void)
{
    return false;
}

#else

/* The linker's names for where this executable's code begins and ends. */
extern char __executable_start, etext;

/* glibc's allocator under its own names, which stays beneath a replaced malloc. */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);
void *__libc_memalign(size_t alignment, size_t size);

/* Seen by the other libraries too, which would otherwise go on calling glibc's. */
#define EXPORTED __attribute__((visibility("default")))
EXPORTED void *malloc(size_t size);
EXPORTED void *calloc(size_t count, size_t size);
EXPORTED void *realloc(void *old, size_t size);
EXPORTED void *aligned_alloc(size_t alignment, size_t size);
EXPORTED int posix_memalign(void **out, size_t alignment, size_t size);

static void count_call(const void *caller)
{
    if (!counting)
        return;
    Dl_info info;
    if ((const char *)caller >= &__executable_start && (const char *)caller < &etext)
        counts.own++;
    else if (dladdr(caller, &info) && info.dli_fname && strstr(info.dli_fname, "libjpeg"))
        counts.jpeg++;
    else
        counts.others++;
}

void *malloc(size_t size)
{
    count_call(__builtin_return_address(0));
    return __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    count_call(__builtin_return_address(0));
    return __libc_calloc(count, size);
}

void *realloc(void *old, size_t size)
{
    count_call(__builtin_return_address(0));
    return __libc_realloc(old, size);
}

void *aligned_alloc(size_t alignment, size_t size)
{
    count_call(__builtin_return_address(0));
    return __libc_memalign(alignment, size);
}

int posix_memalign(void **out, size_t alignment, size_t size)
{
    count_call(__builtin_return_address(0));
    void *memory = __libc_memalign(alignment, size);
    if (!memory)
        return ENOMEM;
    *out = memory;
    return 0;
}

bool allocation_count_works(void)
{
    return true;
}

#endif

void allocation_count_start(void)
{
    counts = (struct allocation_count){0};
    counting = true;
}

struct allocation_count allocation_count_stop(void)
{
    counting = false;
    return counts;
}
