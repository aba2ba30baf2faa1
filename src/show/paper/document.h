/** A sheet as the bytes of a file. */
#ifndef OMO_SHOW_PAPER_DOCUMENT_H
#define OMO_SHOW_PAPER_DOCUMENT_H

#include <glib.h>

#include "show/paper/sheet.h"

enum omo_paper_kind {
    OMO_PAPER_PDF, /**< all pages, text stays text */
    OMO_PAPER_SVG, /**< one page, letters as outlines */
    OMO_PAPER_PNG, /**< one page at 300 dots an inch, and says so */
};

/** `page` counts for SVG and PNG only. The same settings give the same bytes with the
 * same libraries. One sentence on failure; *bytes is the caller's. */
OMO_MUST_CHECK enum omo_status omo_sheet_bytes(const struct omo_sheet_settings *settings,
                                               enum omo_paper_kind kind, int page,
                                               GByteArray **bytes);

#endif
