/** What a function that can fail returns. 0 is success; the text is for people. */
#ifndef OMOGON_STATUS_H
#define OMOGON_STATUS_H

#ifdef __cplusplus
extern "C" {
#endif

/** The caller has to look at the result. */
#define OMO_MUST_CHECK __attribute__((warn_unused_result))
/** Format and arguments are checked as printf's are. */
#define OMO_PRINTF(format_index, first_index)                                            \
    __attribute__((format(printf, format_index, first_index)))
/** Visible outside the shared library. */
#define OMO_API __attribute__((visibility("default")))

/** How it went. */
enum omo_status {
    OMO_OK = 0,
    OMO_END,           /**< a source has no further frame; not an error */
    OMO_ERR_ARG,       /**< an argument is out of its range */
    OMO_ERR_MEMORY,    /**< no memory left */
    OMO_ERR_OPEN,      /**< missing, a directory, or not readable */
    OMO_ERR_FORMAT,    /**< readable, but not what it should be */
    OMO_ERR_DAMAGED,   /**< the right kind of thing, but broken or cut short */
    OMO_ERR_IO,        /**< reading or writing failed: disk full, read-only */
    OMO_ERR_SETTINGS,  /**< a settings file has a mistake */
    OMO_ERR_EMPTY,     /**< nothing there to measure: no marker, no frame */
    OMO_ERR_BUSY,      /**< locked or in use by another program */
    OMO_ERR_CANCELLED, /**< the user ended it */
};

/** A short constant English phrase, never NULL. */
OMO_API const char *omo_status_text(enum omo_status status);

#ifdef __cplusplus
}
#endif

#endif
