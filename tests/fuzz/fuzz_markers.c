// Any bytes as a set of marker colours.
// sources: src/base/*.c src/picture/planes.c src/vision/set.c src/layout/body.c
// pkgs: glib-2.0
// options: -max_len=512
#include "claims.h"
#include "omogon/vision.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct omo_marker_set set = {.count = -1};
    sentences = 0;
    if (omo_set_parse((const char *)bytes, size, "set.ini", &set) != OMO_OK) {
        demand(set.count == -1 && sentences == 1, "a mistake is said once");
        return 0;
    }
    demand(sentences == 0, "a good set is silent");
    demand(set.count > 0 && set.count <= OMO_SET_MAX, "a set has markers");
    for (int i = 0; i < set.count; i++) {
        const struct omo_set_entry *e = &set.entry[i];
        demand(memchr(e->name, '\0', sizeof e->name) != NULL, "a name ends");
        demand(e->cb >= 0 && e->cb <= 255 && e->cr >= 0 && e->cr <= 255,
               "a colour is in its range");
        demand(isnan(e->size_mm) || (e->size_mm >= 2 && e->size_mm <= 300),
               "a size is in its range");
#ifdef OMO_PLANTED_FAULT
        /* Only a whole good entry that names a shape no seed has gets here. */
        demand(e->shape != OMO_BAND, "the planted fault");
#endif
    }
    return 0;
}
