#include "omogon/status.h"

const char *omo_status_text(enum omo_status status)
{
    /* No default: the compiler names a forgotten entry. */
    switch (status) {
    case OMO_OK:
        return "done";
    case OMO_END:
        return "no further frame";
    case OMO_ERR_ARG:
        return "a value is out of its range";
    case OMO_ERR_MEMORY:
        return "out of memory";
    case OMO_ERR_OPEN:
        return "cannot be opened";
    case OMO_ERR_FORMAT:
        return "not the right kind of file";
    case OMO_ERR_DAMAGED:
        return "damaged or cut short";
    case OMO_ERR_IO:
        return "reading or writing failed";
    case OMO_ERR_SETTINGS:
        return "mistake in a settings file";
    case OMO_ERR_EMPTY:
        return "nothing to measure";
    case OMO_ERR_BUSY:
        return "in use by another program";
    case OMO_ERR_CANCELLED:
        return "ended by the user";
    }
    return "unknown status";
}
