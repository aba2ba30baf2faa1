#include "app/rise_from.h"

#include <glib.h>

#include "omogon/log.h"
#include "omogon/text.h"

enum omo_status omo_rise_from(const char *path, struct omo_rise *rise)
{
    struct omo_trace trace;
    enum omo_status status = omo_trace_read(path, &trace);
    if (status != OMO_OK)
        return status;
    status = omo_rise_of(trace.rows, trace.count, rise);
    if (status == OMO_ERR_EMPTY)
        omo_error("--rise-from %s shows no raise with a rise of the shoulder; give a "
                  "trace with a rest, a trunk marker and a raise",
                  path);
    omo_trace_free(&trace);
    return status;
}

void omo_rise_identify(const struct omo_rise *rise, struct omo_id *id)
{
    char number[32];
    for (int i = 0; rise != NULL && i < rise->count; i++) {
        const struct omo_rise_point *p = &rise->point[i];
        const double values[] = {p->angle_deg, p->ratio, p->ratio_sd};
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++) {
            omo_number_text(values[k], 6, number, sizeof number);
            omo_id_add_text(id, "expected_rise", number);
        }
    }
}
