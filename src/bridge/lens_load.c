#include "bridge/lens.h"

#include <dlfcn.h>
#include <glib.h>

#include "omogon/log.h"

#define MODULE "omogon-lens.so"

/** Beside the program in the tree it was built in, else where it is installed to. */
static void *open_module(void)
{
    g_autofree char *program = g_file_read_link("/proc/self/exe", NULL);
    g_autofree char *folder = program ? g_path_get_dirname(program) : g_strdup(".");
    g_autofree char *beside = g_build_filename(folder, MODULE, NULL);
    g_autofree char *installed =
        g_build_filename(folder, "..", "lib", "omogon", MODULE, NULL);
    const char *paths[] = {beside, installed, OMO_LENS_INSTALLED};
    for (size_t i = 0; i < G_N_ELEMENTS(paths); i++) {
        void *module = g_file_test(paths[i], G_FILE_TEST_EXISTS)
                           ? dlopen(paths[i], RTLD_NOW | RTLD_LOCAL)
                           : NULL;
        if (module)
            return module;
    }
    return NULL;
}

enum omo_status omo_bridge_lens_load(const struct omo_bridge_lens_ops **ops)
{
    static const struct omo_bridge_lens_ops *loaded;
    if (!loaded) {
        void *module = open_module();
        loaded = module ? dlsym(module, OMO_BRIDGE_LENS_ENTRY) : NULL;
    }
    if (!loaded) {
        omo_error("the part that calibrates (" MODULE
                  ") cannot be loaded; install omogon "
                  "again, with the package libopencv-calib3d406");
        return OMO_ERR_OPEN;
    }
    *ops = loaded;
    return OMO_OK;
}
