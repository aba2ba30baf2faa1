#include "omogon/models.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "omogon/text.h"

static bool readable_in(const char *folder, const char *relative, char *path, size_t size)
{
    int length;

    if (folder == NULL || folder[0] == '\0')
        return false;
    length = snprintf(path, size, "%s/%s", folder, relative);
    return length > 0 && (size_t)length < size && access(path, R_OK) == 0;
}

enum omo_status omo_models_path(const char *relative, char *out, size_t size)
{
    const char *const folders[] = {getenv("OMOGON_MODELS"), OMO_MODELS_INSTALLED,
                                   OMO_MODELS_SOURCE};
    char path[4096];

    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        if (!readable_in(folders[i], relative, path, sizeof path))
            continue;
        if (strlen(path) >= size)
            return OMO_ERR_ARG;
        omo_text_copy(out, size, path);
        return OMO_OK;
    }
    return OMO_ERR_OPEN;
}
