#include "app/output_file.h"

#include <string.h>
#include <sys/stat.h>

#include <glib.h>

#include "omogon/log.h"

bool omo_output_free(const char *path, const char *option, bool force)
{
    struct stat there;
    if (lstat(path, &there) != 0)
        return true;
    if (S_ISDIR(there.st_mode)) {
        omo_error("%s is a folder; give another name with --%s", path, option);
        return false;
    }
    if (!force)
        omo_error("%s exists; give another name with --%s, or --force to write over it",
                  path, option);
    return force;
}

char *omo_output_numbered(const char *path, int number)
{
    const char *ending = strrchr(path, '.');
    if (number == 0 || !ending)
        return g_strdup(path);
    return g_strdup_printf("%.*s-%d%s", (int)(ending - path), path, number + 1, ending);
}
