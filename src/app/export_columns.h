/** What the columns of exported tables are: type, unit, limits, words. */
#ifndef OMO_APP_EXPORT_COLUMNS_H
#define OMO_APP_EXPORT_COLUMNS_H

#include <stdbool.h>

struct omo_export_column {
    const char *type; /**< of Table Schema: "string", "number", "integer", "datetime" */
    const char *unit; /**< UCUM where it has one ("deg", "s", "mm"); NULL none */
    const char *description;
    bool required;
    double least, most; /**< NAN: no limit */
};
/** Of a column; every one that is written is known (`assert`). Constant texts. */
struct omo_export_column omo_export_column_of(const char *name);

#endif
