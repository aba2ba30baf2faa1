/** Files that a person named: what is written there, and what stays. */
#ifndef OMO_APP_OUTPUT_FILE_H
#define OMO_APP_OUTPUT_FILE_H

#include <stdbool.h>

/** Whether a file may be written at `path`: nothing is there, or `force`. One sentence when
 *  it may not. `option` is the name of the option that gave it, without dashes. */
bool omo_output_free(const char *path, const char *option, bool force);

/** "sheet.png" for the first (0), "sheet-2.png" for the second; g_free() it. The name has
 *  an ending. */
char *omo_output_numbered(const char *path, int number);

#endif
